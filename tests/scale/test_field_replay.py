"""A thousand entries that waited on twenty phones, sent at once in any order, three in ten of them twice.

Real HTTP against the program as it runs, with its worker and its clock; each entry has to count once.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import random
import subprocess
import sys
import time
import uuid
from collections import Counter, defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests.system.program import ROOT, Program, bare_environment

ENTRIES, TWICE = 1000, 300
PARCEL = 13  # entries in one request
LONGEST = 60.0  # seconds for all of it
PATIENCE = 240.0  # seconds for one answer: a slow machine fails on the time alone, with all else checked
TRIES = 20
MIX = {"needs_part": 200, "details": 200, "danger": 40, "near_miss": 100, "secured": 200, "fixed": 130, "job_done": 130}


@pytest.fixture(params=["sqlite", "postgresql"])
def environment(request) -> dict[str, str]:
    return {} if request.param == "sqlite" else {"DATABASE_URL": request.getfixturevalue("database_url")}


@pytest.fixture
def program(tmp_path, environment) -> Iterator[Program]:
    with Program(tmp_path, **environment) as program:
        yield program.wait_until_up()


def ask_the_database(program: Program, environment: dict[str, str], what: str) -> Any:
    """Prepare or read the program's database in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.scale.field_farm", what], cwd=ROOT, check=True, capture_output=True, text=True,
        env=bare_environment(program.data, **environment),
    )  # fmt: skip
    return json.loads(done.stdout.splitlines()[-1])


class Phone:
    """A phone with its session: fetches a token, sends parcels, and sends again what was not answered."""

    def __init__(self, port: int, slug: str, session: str) -> None:
        self.base = f"/farm/{slug}/field/"
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
        self.cookies = {"gablekeep_session": session}
        self.answers: list[dict[str, Any]] = []
        self.refused: Counter[int] = Counter()

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> tuple[int, Any]:
        sent = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()), **headers}
        self.connection.request(method, self.base + path, json.dumps(body) if body else None, sent)
        answer = self.connection.getresponse()
        for line in answer.headers.get_all("Set-Cookie") or ():
            name, _equals, rest = line.partition("=")
            self.cookies[name] = rest.partition(";")[0]
        return answer.status, json.loads(answer.read())

    def drain(self, waiting: list[dict[str, Any]]) -> None:
        """Send all that waits, a parcel at a time; a parcel goes again until it is answered."""
        _status, told = self.ask("GET", "token/")
        for start in range(0, len(waiting), PARCEL):
            parcel = waiting[start : start + PARCEL]
            for _try in range(TRIES):
                body = {"sent_at": datetime.now(UTC).isoformat(), "entries": parcel}
                status, answer = self.ask(
                    "POST", "entries/", body, **{"X-CSRFToken": told["csrf"], "Content-Type": "application/json"}
                )
                if status == 200:
                    assert [one["id"] for one in answer["entries"]] == [one["id"] for one in parcel]
                    self.answers += answer["entries"]
                    break
                self.refused[status] += 1
                assert status == 503, answer
            else:
                pytest.fail("a parcel was never taken")


def queued(farm: dict[str, Any], chance: random.Random) -> dict[int, list[dict[str, Any]]]:
    """Return a thousand entries by the person who made them; details after one of the person's own."""
    users = sorted({phone["user"] for phone in farm["phones"]})
    made: dict[int, list[dict[str, Any]]] = {user: [] for user in users}
    mothers: dict[int, list[str]] = defaultdict(list)
    for kind, count in MIX.items():
        for number in range(count):
            user = chance.choice(users) if kind != "details" else next(one for one in users if mothers[one])
            when = datetime.now(UTC) - timedelta(minutes=chance.randrange(1, 600))
            one: dict[str, Any] = {"id": str(uuid.UUID(int=chance.getrandbits(128), version=4)), "kind": kind,
                                   "made_at": when.isoformat()}  # fmt: skip
            one |= fields_of(kind, number, farm, chance)
            if kind == "needs_part":
                mothers[user].append(one["id"])
            if kind == "details":
                one["parent"] = mothers[user].pop()
            made[user].append(one)
    return made


def fields_of(kind: str, number: int, farm: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """Return what an entry of a kind says; several persons name the same tasks, faults and jobs."""
    door = chance.choice(farm["doors"])
    return {
        "needs_part": {"door": door, "text": f"part {number}"},
        "danger": {"door": door, "text": f"danger {number}"},
        "near_miss": {"door": door, "text": f"miss {number}"},
        "secured": {"task": farm["tasks"][number % len(farm["tasks"])]},
        "fixed": {"repair": farm["repairs"][number % len(farm["repairs"])]},
        "job_done": {"job": farm["jobs"][number % len(farm["jobs"])]},
        "details": {"mode": "bent", "minutes": number + 1,
                    "parts": [{"material": farm["materials"][number % 5], "quantity": str(number % 3 + 1)}]},
    }[kind]  # fmt: skip


def dealt(farm: dict[str, Any], made: dict[int, list[dict[str, Any]]], chance: random.Random) -> list[list[Any]]:
    """Return what waits on each phone: every entry on one of its person's, three in ten on two, in any order."""
    waiting: list[list[Any]] = [[] for _phone in farm["phones"]]
    theirs = defaultdict(list)
    for place, phone in enumerate(farm["phones"]):
        theirs[phone["user"]].append(place)
    everything = [(user, one) for user, entries in sorted(made.items()) for one in entries]
    twice = {one["id"] for _user, one in chance.sample(everything, TWICE)}
    for user, one in everything:
        places = chance.sample(theirs[user], 2 if one["id"] in twice else 1)
        for place in places:
            waiting[place].append(one)
    for entries in waiting:
        chance.shuffle(entries)
    return waiting


def test_every_entry_counts_once_however_it_comes(program, environment):
    chance = random.Random(20261125)  # noqa: S311 - the same shuffle each time
    farm = ask_the_database(program, environment, "prepare")
    made = queued(farm, chance)
    waiting = dealt(farm, made, chance)
    phones = [Phone(program.port, farm["slug"], phone["session"]) for phone in farm["phones"]]

    begun = time.monotonic()
    with ThreadPoolExecutor(len(phones)) as threads, contextlib.ExitStack() as connections:
        for phone in phones:
            connections.callback(phone.connection.close)
        list(threads.map(lambda pair: pair[0].drain(pair[1]), zip(phones, waiting, strict=True)))
    took = time.monotonic() - begun
    found = ask_the_database(program, environment, "dump")

    sent = {one["id"]: (user, one) for user, entries in made.items() for one in entries}
    answers = defaultdict(set)
    for phone in phones:
        for one in phone.answers:
            answers[one["id"]].add((one["state"], one["reason"]))
    assert sum(map(len, waiting)) == ENTRIES + TWICE
    assert found["entries"].keys() == sent.keys() == answers.keys()
    assert all(len(given) == 1 for given in answers.values())  # the second answer equals the first
    assert {pk: next(iter(answers[pk]))[0] for pk in sent} == {pk: row["state"] for pk, row in found["entries"].items()}
    assert all(found["entries"][pk]["by"] == user for pk, (user, _one) in sent.items())
    check_faults(farm, sent, found)
    check_details(farm, sent, found)
    check_near_misses(sent, found)
    check_one_winner(farm, sent, found)
    refused = sum((phone.refused for phone in phones), Counter())
    assert took < LONGEST, f"{ENTRIES + TWICE} entries in {took:.0f} s; asked again: {refused}"


def of_kind(sent, kind):
    return {pk: one for pk, (_user, one) in sent.items() if one["kind"] == kind}


def check_faults(farm, sent, found):
    """Every needed part and every danger is one repair with one job; every danger was told once."""
    logged = of_kind(sent, "needs_part") | of_kind(sent, "danger")
    repairs = {pk: found["repairs"][str(found["entries"][pk]["repair"])] for pk in logged}
    assert len(found["repairs"]) == farm["before"]["repairs"] + len(logged)
    assert len({found["entries"][pk]["repair"] for pk in logged}) == len(logged)
    for pk, repair in repairs.items():
        assert repair["note"] == logged[pk]["text"]
        assert repair["job"] == "open"
        assert repair["is_danger"] == (logged[pk]["kind"] == "danger")
    told = Counter(key.rpartition("-")[2] for key in found["dangers"])
    by_others = [uuid.UUID(pk).hex for pk in of_kind(sent, "danger") if sent[pk][0] not in farm["managers"]]
    assert set(told.values()) <= {len(farm["managers"])}
    assert set(told) <= {uuid.UUID(pk).hex for pk in of_kind(sent, "danger")}
    assert set(by_others) <= set(told)


def check_details(farm, sent, found):
    """Details are on the fault of the entry they belong to, and what they used left the store once."""
    expected: dict[int, Decimal] = defaultdict(Decimal)
    for pk, one in of_kind(sent, "details").items():
        row = found["entries"][pk]
        repair = found["repairs"][str(found["entries"][one["parent"]]["repair"])]
        assert row["parent"] == one["parent"]
        assert (repair["mode"], repair["minutes"]) == ("bent", one["minutes"])
        expected[one["parts"][0]["material"]] += Decimal(one["parts"][0]["quantity"])
    assert len(found["moves"]) == len(of_kind(sent, "details")) + farm["before"]["moves"]
    taken: dict[int, Decimal] = defaultdict(Decimal)
    for material, quantity in found["moves"][farm["before"]["moves"] :]:
        taken[material] -= Decimal(quantity)
    assert taken == expected


def check_near_misses(sent, found):
    told = Counter(one["text"] for one in of_kind(sent, "near_miss").values())
    assert told <= Counter(row["what"] for row in found["near_misses"])
    assert sum(row["what"].startswith("miss ") for row in found["near_misses"]) == len(of_kind(sent, "near_miss"))


def check_one_winner(farm, sent, found):
    """Of all who say that they did the same, one was first; the others stand beside."""
    for kind, name in (("fixed", "repair"), ("job_done", "job")):
        winners = Counter(
            one[name] for pk, one in of_kind(sent, kind).items() if found["entries"][pk]["state"] == "taken"
        )
        assert winners == Counter({one[name]: 1 for one in of_kind(sent, kind).values()})
    assert all(found["repairs"][str(pk)]["state"] == "done" for pk in farm["repairs"])
    assert all(found["jobs"][str(pk)] == 1 for pk in farm["jobs"])
    for pk, one in of_kind(sent, "secured").items():
        is_first = found["tasks"][str(one["task"])] == sent[pk][0]
        assert found["entries"][pk]["state"] == ("taken" if is_first else "beside")
