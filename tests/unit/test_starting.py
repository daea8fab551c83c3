"""Small decisions of a start."""

import socket

import pytest

from farm.data_folder import StartError
from farm.starting import check_port, more_hosts, page_address


def test_a_single_address_brings_its_own_name():
    assert more_hosts("192.0.2.7") == ["192.0.2.7"]


def test_listening_everywhere_brings_this_computers_names():
    assert {socket.gethostname(), f"{socket.gethostname()}.local"} <= set(more_hosts("0.0.0.0"))


@pytest.mark.parametrize(
    ("host", "address"),
    [
        ("127.0.0.1", "http://127.0.0.1:8000"),
        ("localhost", "http://localhost:8000"),
        ("0.0.0.0", "http://127.0.0.1:8000"),
        ("::", "http://[::1]:8000"),
        ("192.0.2.7", "http://192.0.2.7:8000"),
    ],
)
def test_the_printed_address_can_be_opened_here(host, address):
    assert page_address(host, 8000) == address


def test_behind_https_the_public_address_is_printed(settings):
    settings.BEHIND_HTTPS, settings.ALLOWED_HOSTS = True, ["tunnels.example", "localhost"]

    assert page_address("127.0.0.1", 8000) == "https://tunnels.example"


def test_a_port_that_is_free_can_be_had_at_once_again():
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        with pytest.raises(StartError, match=f"127.0.0.1 port {port}"):
            check_port("127.0.0.1", port)

    check_port("127.0.0.1", port)


def test_an_address_that_is_not_ours_is_refused():
    with pytest.raises(StartError, match=r"cannot listen at 192\.0\.2\.7"):
        check_port("192.0.2.7", 8000)
