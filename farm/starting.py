"""The steps of a start, in order: check, prepare, run. Nothing runs before every check has passed."""

import contextlib
import http.client
import os
import socket
import sys
from collections.abc import Callable

from celery import current_app
from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, connection, connections
from django.db.migrations.loader import MigrationLoader
from kombu.exceptions import OperationalError

from farm import embedded
from farm.data_folder import StartError, keep_secret_key, open_folder
from farm.models import Farm
from farm.signin import first_person, one_time_path
from farm.supervisor import Supervisor

ANY_ADDRESS = {"0.0.0.0": "127.0.0.1", "::": "::1"}  # noqa: S104 - compared with, not listened at
Tell = Callable[[str], None]


def run(*, host: str, port: int, demo: bool, tell: Tell) -> None:
    """Start everything, print how to come in, and return when it has stopped."""
    os.umask(0o077)  # what we and our children write is the farm's own business
    lock = open_folder(settings.DATA_DIR)
    if settings.KEEPS_SECRET_KEY:
        keep_secret_key(settings.SECRET_KEY_FILE, settings.SECRET_KEY)
    call_command("make_push_key")
    check_port(host, port)
    if settings.EMBEDDED_QUEUE:
        embedded.server_program()
    else:
        check_broker()
    tell("Preparing the database and the pages ...")
    prepare_database(demo=demo)
    call_command("collectstatic", interactive=False, verbosity=0)
    person = first_person()
    path = one_time_path(person)
    connections.close_all()

    logs = settings.DATA_DIR / "logs"
    with Supervisor(work_folder=settings.BASE_DIR, log_folder=logs, lock=lock, tell=tell) as family:
        start_children(family, host=host, port=port)
        if not family.stopping:
            address = page_address(host, port)
            tell(f"Gablekeep runs at {address}/")
            tell(f"To log in as {person.get_username()}, open this link. It works once, within an hour:")
            tell(f"  {address}{path}")
            tell(f"The data is in {settings.DATA_DIR}. Stop with Ctrl-C.")
        family.watch()
        tell("Stopping ...")
    tell("Stopped.")


def start_children(family: Supervisor, *, host: str, port: int) -> None:
    """Start the queue first, because the others need it, and leave what needs no waiting to the last."""
    if settings.EMBEDDED_QUEUE:
        start_queue(family)
    celery = [sys.executable, "-m", "celery", "--quiet", "--app", "farm.celery", "--skip-checks"]
    hosts = ",".join([*settings.ALLOWED_HOSTS, *more_hosts(host)])
    web = [sys.executable, "-m", "farm.serve", host, str(port)]
    links = {} if settings.KNOWS_PUBLIC_ADDRESS else {"GABLEKEEP_ADDRESS": page_address(host, port)}
    family.start("web", web, ready=lambda: pages_answer(host, port), env={"GABLEKEEP_HOSTS": hosts, **links})
    worker = [*celery, "worker", "--without-gossip", "--without-mingle", "--loglevel=WARNING"]
    family.start("worker", worker, env=links)
    family.start("clock", [*celery, "beat", "--pidfile=", "--loglevel=WARNING"])
    if not family.stopping:
        current_app.send_task("maintenance.tasks.record_heartbeat")  # the first, without a minute's wait


def start_queue(family: Supervisor) -> None:
    """Start the embedded queue server on its private socket."""
    folder = settings.DATA_DIR / "queue"
    folder.mkdir(mode=0o700, exist_ok=True)
    embedded.prepare_socket(settings.QUEUE_SOCKET)
    program = embedded.server_program()
    command = embedded.server_command(program, path=settings.QUEUE_SOCKET, data_folder=folder)
    family.start("queue", command, ready=lambda: embedded.answers(settings.QUEUE_SOCKET), feeds="worker")


def check_port(host: str, port: int) -> None:
    """Refuse a port that somebody else listens at."""
    try:
        addresses = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
        for family, kind, protocol, _name, address in addresses:
            with socket.socket(family, kind, protocol) as probe:
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                probe.bind(address)
    except OSError as error:
        raise StartError(
            f"Gablekeep cannot listen at {host} port {port} ({error.strerror}). "
            "Stop the program that uses it, or choose another with --port or GABLEKEEP_PORT."
        ) from error


def check_broker() -> None:
    """Refuse a REDIS_URL at which no server answers."""
    with current_app.connection_for_write() as broker:
        try:
            broker.ensure_connection(max_retries=1, interval_start=0, timeout=5)
        except OperationalError as error:
            raise StartError(
                f"No server answers at REDIS_URL, {broker.as_uri()} ({error}). "
                "Start it, or unset REDIS_URL to use the embedded server."
            ) from error


def prepare_database(*, demo: bool) -> None:
    """Bring the database up to date, and give an empty one the demo farm."""
    try:
        loader = MigrationLoader(connection)
        known = set(loader.disk_migrations)
        unknown = [f"{app}.{name}" for app, name in loader.applied_migrations or {} if (app, name) not in known]
        if unknown:
            raise StartError(
                f"A newer Gablekeep has written this database ({unknown[-1]} is unknown here). "
                "Install that version again, or name another folder in GABLEKEEP_DATA."
            )
        call_command("migrate", interactive=False, verbosity=0)
        if demo and not Farm.objects.exists():
            call_command("load_demo")
    except DatabaseError as error:
        raise StartError(
            f"The database cannot be used ({str(error).strip()}). "
            "Check DATABASE_URL and that the server runs; for a file, that this user may write it."
        ) from error


def pages_answer(host: str, port: int) -> bool:
    """Tell whether the web server answers; a page that fails stops the start."""
    visitor = http.client.HTTPConnection(ANY_ADDRESS.get(host, host), port, timeout=10)
    with contextlib.closing(visitor):
        try:
            visitor.request("GET", "/login/", headers={"Host": "localhost"})
            status = visitor.getresponse().status
        except OSError:
            return False
    if status >= http.client.INTERNAL_SERVER_ERROR:
        raise StartError(f"The log-in page fails with status {status}. Look into {settings.DATA_DIR / 'logs'}.")
    return True


def more_hosts(host: str) -> list[str]:
    """Return the names under which a visitor may reach a server that listens at ``host``."""
    if host not in ANY_ADDRESS:
        return [host]
    name = socket.gethostname()
    found = {name, f"{name}.local"}
    with contextlib.suppress(OSError):
        found |= {str(entry[4][0]) for entry in socket.getaddrinfo(name, None, family=socket.AF_INET)}
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # RFC 5737; sends nothing, only asks which address we would use
        found.add(probe.getsockname()[0])
    return sorted(found)


def page_address(host: str, port: int) -> str:
    """Return the address to print: the public one, or one that works on this machine."""
    if settings.BEHIND_HTTPS:
        return f"https://{settings.ALLOWED_HOSTS[0]}"
    name = ANY_ADDRESS.get(host, host)
    return f"http://[{name}]:{port}" if ":" in name else f"http://{name}:{port}"
