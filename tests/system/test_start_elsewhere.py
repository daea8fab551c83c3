"""The program for visitors from other computers."""

import socket

from tests.system.program import Program, ask, token_of

PUBLIC = "tunnels.example"


def test_a_web_server_with_https_may_stand_in_front(tmp_path):
    passed_on = {"Host": PUBLIC, "X-Forwarded-Proto": "https", "Origin": f"https://{PUBLIC}"}
    settings = {"GABLEKEEP_HTTPS": "1", "GABLEKEEP_HOSTS": PUBLIC}
    with Program(tmp_path, "--no-demo", **settings) as program:
        program.wait_until_up()
        path = program.link().removeprefix(f"https://{PUBLIC}")

        _, headers, page = ask(program.port, path, passed_on)
        passed_on["Cookie"] = headers["Set-Cookie"].split(";")[0]
        entered, cookies, _ = ask(program.port, path, passed_on, {"csrfmiddlewaretoken": token_of(page)})
        plain, redirect, _ = ask(program.port, path, {"Host": PUBLIC})

    assert path.startswith("/enter/")
    assert entered == 302
    assert all("; Secure" in cookie for cookie in cookies.get_all("Set-Cookie", ["none"]))
    assert (plain, redirect["Location"]) == (301, f"https://{PUBLIC}{path}")


def test_phones_on_the_network_reach_it_by_this_computers_name_only(tmp_path):
    with Program(tmp_path, "--no-demo", "--host", "0.0.0.0") as program:
        program.wait_until_up()

        by_name, _, _ = ask(program.port, "/login/", {"Host": f"{socket.gethostname()}:{program.port}"})
        by_other_name, _, _ = ask(program.port, "/login/", {"Host": "elsewhere.example"})

    assert by_name == 200
    assert by_other_name == 400
