"""The web server's process: waitress in front of the WSGI callable. Run as ``python -m farm.serve HOST PORT``."""

import gc
import signal
import sys
from typing import NoReturn

import waitress
from django.conf import settings

from farm.wsgi import application


def stop(*_: object) -> NoReturn:
    """Leave waitress's loop, so that it finishes the requests in hand."""
    raise SystemExit(0)


def spare_the_program() -> None:
    """Tell the garbage collector to leave alone what is loaded by now.

    The program itself lives as long as its process; without this the collector walks all of it again and again
    in the middle of pages.
    """
    gc.collect()
    gc.freeze()


def main(host: str, port: int) -> None:
    """Serve until told to stop."""
    signal.signal(signal.SIGTERM, stop)
    spare_the_program()
    # Only a proxy on this machine is believed when it says that the visitor came by HTTPS.
    proxy = {"trusted_proxy": "127.0.0.1", "trusted_proxy_headers": {"x-forwarded-proto", "x-forwarded-for"}}
    waitress.serve(
        application,
        host=host,
        port=port,
        threads=4,
        ident="gablekeep",
        clear_untrusted_proxy_headers=True,
        **(proxy if settings.BEHIND_HTTPS else {}),
    )


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
