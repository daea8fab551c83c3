"""How the API behaves whoever asks for what: keys, ETags, changes made once, lists by page, bad input, problems."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.test import override_settings
from django.utils import timezone

from farm.api.keys import find_key, revoke
from farm.api.models import ApiAnswer, ApiKey
from farm.api.pace import PACE, Pace
from farm.api.problems import KINDS
from farm.models import Tunnel
from tests.api_client import Program, program_of
from tests.factories import make_farm, make_member, make_opening, make_tunnel, make_wall

pytestmark = pytest.mark.django_db
TUNNELS = "/farms/hollow/tunnels"


@pytest.fixture
def farm():
    return make_farm(name="Hollow Farm", slug="hollow")


@pytest.fixture
def program(farm):
    return program_of(farm)


@pytest.fixture(autouse=True)
def _fresh_pace():
    PACE.forget()


# Keys


def test_a_key_is_kept_as_a_hash_only(program):
    row = ApiKey.objects.get()

    assert program.token.startswith("gk_")
    assert program.token not in json.dumps([str(value) for value in row.__dict__.values()])
    assert row.hint == program.token[-4:]


@pytest.mark.parametrize(
    "header",
    ["", "Bearer", "Bearer ", "Basic aW5lczpwdw==", "Bearer gk_wrong", "Bearer \x00", "Bearer " + "gk_" * 9999],
)
def test_no_key_no_answer(client, farm, header):
    answer = client.get(f"/api/v1{TUNNELS}", headers={"authorization": header})

    assert (answer.status_code, answer["Content-Type"]) == (401, "application/problem+json")
    assert answer["WWW-Authenticate"].startswith('Bearer realm="Gablekeep"')


def test_a_key_in_the_address_or_a_form_opens_nothing(client, farm, program):
    assert client.get(f"/api/v1{TUNNELS}?access_token={program.token}").status_code == 401
    assert client.post(f"/api/v1{TUNNELS}", {"access_token": program.token}).status_code == 401


def test_a_key_ends_on_its_day(farm):
    person = make_member(farm).user
    old = Program(person, days=30, now=timezone.now() - timedelta(days=30, seconds=1))
    live = Program(person, days=30, now=timezone.now() - timedelta(days=30, seconds=-60))

    assert (old.get(TUNNELS).status_code, live.get(TUNNELS).status_code) == (401, 200)


def test_a_key_that_was_taken_back_opens_nothing(program):
    assert program.get(TUNNELS).status_code == 200

    assert revoke(user=program.user, pk=program.key.pk, now=timezone.now())

    assert program.get(TUNNELS).status_code == 401


def test_the_key_of_somebody_who_was_shut_out_opens_nothing(program):
    program.user.is_active = False
    program.user.save()

    assert program.get(TUNNELS).status_code == 401


def test_nobody_takes_back_the_key_of_another(farm, program):
    assert not revoke(user=make_member(farm).user, pk=program.key.pk, now=timezone.now())
    assert find_key(token=program.token, now=timezone.now()) == program.key


def test_the_last_use_is_noted_at_most_once_a_minute(program, django_assert_num_queries):
    program.get("/farms")
    used = ApiKey.objects.get().used_at
    assert used is not None

    program.get("/farms")

    assert ApiKey.objects.get().used_at == used


def test_whoever_asks_too_fast_is_told_when_to_come_again(program):
    with override_settings(API_PER_MINUTE=3):
        answers = [program.get("/farms") for _ in range(4)]

    assert [answer.status_code for answer in answers] == [200, 200, 200, 429]
    assert 1 <= int(answers[-1]["Retry-After"]) <= 20


def test_whoever_guesses_keys_is_slowed_down(client, farm):
    with override_settings(API_PER_MINUTE=3):
        answers = [client.get("/api/v1/farms", headers={"authorization": f"Bearer gk_{n}"}) for n in range(4)]

    assert [answer.status_code for answer in answers] == [401, 401, 401, 429]


def test_a_bucket_fills_evenly():
    pace = Pace()

    assert [pace.wait("a", 60, now=0.0) for _ in range(60)] == [0.0] * 60
    assert pace.wait("a", 60, now=0.0) == 1.0
    assert pace.wait("b", 60, now=0.0) == 0.0
    assert pace.wait("a", 60, now=1.0) == 0.0
    assert pace.wait("a", 60, now=1.25) == 0.75


# ETags


def test_what_stands_as_one_holds_it_is_not_sent_again(program, farm):
    at = f"{TUNNELS}/{make_tunnel(farm).pk}"
    etag = program.get(at)["ETag"]

    again = program.get(at, if_none_match=etag)

    assert (again.status_code, again.content, again["ETag"]) == (304, b"", etag)
    assert program.get(at, if_none_match=f"W/{etag}").status_code == 304
    assert program.get(at, if_none_match='"other"').status_code == 200


@pytest.mark.parametrize("things", ["tunnels", "end-walls", "openings"])
def test_a_change_needs_the_etag_of_what_was_read(program, farm, things):
    opening = make_opening(make_wall(make_tunnel(farm)))
    pk = {"tunnels": opening.end_wall.tunnel_id, "end-walls": opening.end_wall_id, "openings": opening.pk}[things]
    at = f"/farms/hollow/{things}/{pk}"
    seen = program.get(at)["ETag"]

    bare = program.ask("PATCH", at, {"notes": "a"})
    weak = program.patch(at, {"notes": "b"}, if_match=f"W/{seen}")
    first = program.patch(at, {"notes": "c"}, if_match=f'"old", {seen}')
    second = program.patch(at, {"notes": "d"}, if_match=seen)

    assert [answer.status_code for answer in (bare, weak, first, second)] == [428, 412, 200, 412]
    assert program.get(at).json()["notes"] == "c"
    assert first["ETag"] == program.get(at)["ETag"] != seen


def test_a_job_is_begun_only_as_it_was_seen_where_one_says_so(program, farm):
    fault = program.post("/farms/hollow/repairs", {"part": "clamp", "mode": "loose"}).json()
    at = f"/farms/hollow/repairs/{fault['id']}"

    stale = program.post(f"{at}/mend", {}, if_match='"old"')
    fresh = program.post(f"{at}/mend", {}, if_match=program.get(at)["ETag"])

    assert (stale.status_code, fresh.status_code) == (412, 200)


# Once


def test_a_request_sent_twice_is_made_once_and_answered_alike(program):
    first, second = (program.post(TUNNELS, {"name": "North"}, idempotency_key="a-1") for _ in range(2))

    assert (first.status_code, second.status_code) == (201, 201)
    assert first.content == second.content
    assert (first["ETag"], first["Location"]) == (second["ETag"], second["Location"])
    assert ("Idempotency-Replayed" in first, second["Idempotency-Replayed"]) == (False, "true")
    assert Tunnel.objects.count() == 1


def test_a_key_stands_for_one_request_only(program):
    program.post(TUNNELS, {"name": "North"}, idempotency_key="a-1")

    body = program.post(TUNNELS, {"name": "South"}, idempotency_key="a-1")
    place = program.post("/farms/hollow/repairs", {"name": "North"}, idempotency_key="a-1")

    assert (body.status_code, place.status_code) == (422, 422)
    assert body.json()["type"].endswith("#key-reused")
    assert Tunnel.objects.count() == 1


def test_two_programs_may_use_the_same_key(farm, program):
    answers = [one.post(TUNNELS, {"name": "North"}, idempotency_key="1") for one in (program, program_of(farm))]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json()["id"] != answers[1].json()["id"]


def test_what_was_refused_may_be_put_right_under_the_same_key(program):
    refused = program.post(TUNNELS, {"name": "North", "width_mm": -4}, idempotency_key="a-1")
    right = program.post(TUNNELS, {"name": "North", "width_mm": 4000}, idempotency_key="a-1")

    assert (refused.status_code, right.status_code) == (422, 201)
    assert ApiAnswer.objects.count() == 1


def test_an_answer_is_kept_for_a_day(program):
    program.post(TUNNELS, {"name": "North"}, idempotency_key="a-1")
    ApiAnswer.objects.update(made_at=timezone.now() - timedelta(hours=24, seconds=1))

    again = program.post(TUNNELS, {"name": "South"}, idempotency_key="a-1")

    assert again.status_code == 201
    assert Tunnel.objects.count() == 2


@pytest.mark.parametrize("key", ["", "with blank", "ü", "x" * 201])
def test_a_key_that_is_none_is_refused(program, key):
    assert program.post(TUNNELS, {"name": "North"}, idempotency_key=key).status_code == 400
    assert not Tunnel.objects.exists()


# Pages


def test_a_walk_meets_every_row_once_while_rows_come_and_go(program, farm):
    first = {make_tunnel(farm).pk for _ in range(25)}
    met, path = [], f"{TUNNELS}?limit=4"
    gone = max(first)

    while path:
        answer = program.get(path)
        page = answer.json()
        met += [each["id"] for each in page["items"]]
        make_tunnel(farm)
        Tunnel.objects.filter(pk=gone).delete() if len(met) == 8 else None
        path = f"{TUNNELS}?limit=4&cursor={page['next_cursor']}" if page["next_cursor"] and len(met) < 100 else None

    assert len(met) == len(set(met))
    assert set(met) >= first - {gone}


def test_a_page_names_the_next_one_in_its_header(program, farm):
    tunnels = [make_tunnel(farm) for _ in range(3)]

    link = program.get(f"{TUNNELS}?limit=2&status=in_use")["Link"]
    address, _semicolon, rel = link.partition(";")
    second = program.get(address.strip("<>").partition("/api/v1")[2])

    assert rel.strip() == 'rel="next"'
    assert [each["id"] for each in second.json()["items"]] == [tunnels[2].pk]
    assert "Link" not in second


@pytest.mark.parametrize("cursor", ["x", "%00", "AAAA", "MTIz", "é", "OTk5OTk5OTk5OTk5OTk5OTk5OTk5OS4w", "=" * 90])
def test_a_cursor_that_is_none_is_refused(program, farm, cursor):
    assert program.get(f"{TUNNELS}?cursor={cursor}").status_code in (400, 422)


def test_a_cursor_is_of_one_list_and_its_filters(program, farm):
    for _ in range(3):
        make_tunnel(farm)
    cursor = program.get(f"{TUNNELS}?limit=1&status=in_use").json()["next_cursor"]

    assert program.get(f"{TUNNELS}?limit=1&status=in_use&cursor={cursor}").status_code == 200
    assert program.get(f"{TUNNELS}?limit=1&cursor={cursor}").status_code == 400
    assert program.get(f"/farms/hollow/end-walls?limit=1&cursor={cursor}").status_code == 400


@pytest.mark.parametrize("things", ["tunnels", "end-walls", "openings", "components", "jobs", "repairs", "storms"])
def test_a_list_asks_as_often_for_three_rows_as_for_one(farm, things, django_assert_max_num_queries):
    program = program_of(farm, "crew")
    counts = []
    for _ in range(2):
        for _row in range(1 + len(counts) * 2):
            opening = make_opening(make_wall(make_tunnel(farm)))
            program.post("/farms/hollow/repairs", {"part": "clamp", "mode": "loose", "opening_id": opening.pk})
        program.get("/farms")
        with django_assert_max_num_queries(20) as seen:
            assert program.get(f"/farms/hollow/{things}").status_code == 200
        counts.append(len(seen))

    assert counts[0] == counts[1]


# Bad input


BAD_BODIES = {
    b"": 422, b"{": 400, b"nul": 400, b"\xff\xfe{}": 400, b"\xef\xbb\xbf{}": 400, b"[]": 422, b"null": 422, b'"x"': 422,
    b'{"name": "a", "name": "b"}': 400, b'{"name": NaN}': 400, b'{"name": "a", "width_mm": 1e999999999}': 400,
    b'{"name": "a", "width_mm": Infinity}': 400, b'{"name": "a", "width_mm": 1e-999999999}': 400,
    b'{"name": "a", "width_mm": ' + b"9" * 5000 + b"}": 400, b'{"name": "a", "width_mm": 1e30}': 422,
    b'{"name": "a", "width_mm": true}': 422, b'{"name": "a", "width_mm": "4 m"}': 422,
    b'{"name": "a", "width_mm": 0.0000001}': 422, b'{"name": "a\\u0000b"}': 400, b'{"name": "\\ud800"}': 400,
    b'{"na\\u0000me": "a"}': 400, b'{"name": {}}': 422, b'{"name": "a", "sise_mm": 3}': 422,
    b'{"name": "a", "film_layers": 1.5}': 422, b'{"name": "a", "has_left_rollup": 1}': 422,
    b'{"name": "a", "profile_mm": [[1]]}': 422, b'{"name": "a", "profile_mm": [["a", "b"]]}': 422,
    b'{"name": ' + b"[" * 100_000 + b"]" * 100_000 + b"}": 400, b'{"name": "' + b"a" * 200 + b'"}': 422,
    b'{"name": ""}': 422, b'{"name": "  "}': 422, b'{"name": "a", "code": "' + b"c" * 21 + b'"}': 422,
    b'{"name": "a", "notes": "' + b"n" * 300_000 + b'"}': 413,
}  # fmt: skip


@pytest.mark.parametrize("body", BAD_BODIES, ids=lambda body: body[:40].decode("latin-1"))
def test_a_bad_body_is_refused_with_a_sentence_and_changes_nothing(program, body):
    answer = program.ask("POST", TUNNELS, body)

    assert (answer.status_code, answer["Content-Type"]) == (BAD_BODIES[body], "application/problem+json")
    problem = answer.json()
    assert problem["status"] == answer.status_code
    assert len(problem["detail"]) > 15
    assert not Tunnel.objects.exists()


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""]
)
def test_a_body_says_that_it_is_json(program, kind):
    assert program.ask("POST", TUNNELS, b'{"name": "a"}', content_type=kind).status_code == 415


@pytest.mark.parametrize(
    "path",
    ["?limit=0", "?limit=201", "?limit=x", "?status=odd", "?stat=in_use", "?limit=1&limit=2", "?cursor=%00", "?x=%00",
     "/99999999999999999999999", "/" + "9" * 5000, "/0", "/-1", "/x", "/1/2", "/%00", "//"],
)  # fmt: skip
def test_an_odd_address_is_refused(program, path):
    answer = program.get(TUNNELS + path)

    assert answer.status_code in (404, 422), path[:40]
    assert answer["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("slug", ["%00", "..", "hollow%2f..", "Hollow", "x" * 3000, "'--", "hollow%0a"])
def test_an_odd_farm_is_not_found(program, slug):
    assert program.get(f"/farms/{slug}/tunnels").status_code == 404


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "PROPFIND"])
def test_a_method_that_is_not_served_is_named_as_such(program, method):
    answer = program.ask(method, TUNNELS)

    assert (answer.status_code, answer["Content-Type"]) == (405, "application/problem+json")
    assert set(answer["Allow"].split(", ")) >= {"GET", "POST"}


def test_head_answers_as_get_without_a_body(program, farm):
    head, get = program.ask("HEAD", TUNNELS), program.get(TUNNELS)

    assert (head.status_code, head.content, head["ETag"]) == (200, b"", get["ETag"])


def test_our_own_mistake_is_a_problem_and_leaves_nothing_behind(program, monkeypatch, caplog):
    def fail(**_given):
        Tunnel.objects.create(farm_id=program.user.memberships.get().farm_id, code="HALF", name="half")
        raise RuntimeError("a slip")

    monkeypatch.setattr("farm.services.add_tunnels", fail)

    answer = program.post(TUNNELS, {"name": "North"}, idempotency_key="a-1")

    assert (answer.status_code, answer["Content-Type"]) == (500, "application/problem+json")
    assert "a slip" not in answer.content.decode()
    assert "a slip" in caplog.text
    assert not Tunnel.objects.exists()
    assert not ApiAnswer.objects.exists()


def test_answers_are_kept_by_nobody_on_the_way(program):
    for answer in (program.get(TUNNELS), program.get("/nothing")):
        assert answer["Cache-Control"] == "private, no-cache"
        assert "Authorization" in answer["Vary"]
        assert not answer.cookies


def test_sentences_come_in_the_persons_language(farm):
    program = Program(make_member(farm, language="es").user)

    english = program_of(farm).post(TUNNELS, {"name": "a", "width_mm": -1}).json()["title"]
    spanish = program.post(TUNNELS, {"name": "a", "width_mm": -1}).json()["title"]
    after = program_of(farm).post(TUNNELS, {"name": "a", "width_mm": -1}).json()["title"]

    assert english == after == "Some of it cannot be so"
    assert spanish != english


# Pages about it


def test_the_docs_list_every_route_and_every_problem_to_anybody(client):
    page = client.get("/api/v1/docs").content.decode()
    found = client.get("/api/v1/openapi.json").json()

    assert found["openapi"].startswith("3.1")
    assert all(path in page for path in found["paths"])
    assert all(f'id="{name}"' in page for name in KINDS)
    assert "http" not in "".join(part.partition('"')[0] for part in page.split('src="')[1:])


def test_a_person_makes_a_key_sees_it_once_and_takes_it_back(client, farm):
    person = make_member(farm).user
    client.force_login(person)

    made = client.post("/api-keys/", {"name": "weather board", "scope": "read", "days": "90"})
    token = made.content.decode().partition("gk_")[2].partition("<")[0]
    listed = client.get("/api-keys/").content.decode()

    assert find_key(token=f"gk_{token}", now=timezone.now()).scope == "read"
    assert "weather board" in listed
    assert token not in listed
    assert made["Cache-Control"].count("no-store") == 1

    row = ApiKey.objects.get()
    client.post("/api-keys/", {"revoke": str(row.pk)})

    assert find_key(token=f"gk_{token}", now=timezone.now()) is None


@pytest.mark.parametrize("wrong", [{"name": ""}, {"scope": "all"}, {"days": "9999"}])
def test_a_key_without_a_name_a_scope_or_an_end_is_not_made(client, farm, wrong):
    client.force_login(make_member(farm).user)

    sent = {"name": "x", "scope": "read", "days": "90", **wrong}

    assert client.post("/api-keys/", sent).status_code == 422
    assert not ApiKey.objects.exists()


@pytest.mark.parametrize("pk", ["x", "9" * 40, "-1", "\0", ""])
def test_a_key_that_is_none_is_not_taken_back(client, program, pk):
    client.force_login(program.user)

    assert client.post("/api-keys/", {"revoke": pk}).status_code == 302
    assert ApiKey.objects.get().revoked_at is None


def test_a_person_has_so_many_keys_and_no_more(client, farm):
    person = make_member(farm).user
    client.force_login(person)
    for _ in range(20):
        Program(person)

    refused = client.post("/api-keys/", {"name": "one more", "scope": "read", "days": "30"})

    assert refused.status_code == 422
    assert ApiKey.objects.count() == 20
