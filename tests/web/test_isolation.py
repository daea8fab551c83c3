"""Another farm's rows do not exist: every route of the URLconf is walked, with every method.

A new route fails ``test_every_route_is_listed_here`` until somebody says what ids it takes and who may use it.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.core import serializers
from django.core.files.base import ContentFile
from django.db.models import Model
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from doors.book import start_book
from doors.models import Component, Door, ImportDraft, Material, Sizing, SizingRules
from doors.services import resize_openings
from farm.models import CrewKey, EndWall, Farm, KnownPhone, Membership, Opening, Tunnel
from maintenance.hands.photos import keep_photo
from maintenance.models import (
    Job,
    Label,
    NearMiss,
    Plan,
    Repair,
    Routine,
    Storm,
    StormFinding,
    StormPerson,
    StormRules,
    StormTask,
    VoiceNote,
    WindDay,
)
from maintenance.work.faults import log_fault
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.hands_rows import make_task, picture_file
from tests.upkeep_rows import DAY, NOW

pytestmark = pytest.mark.django_db

METHODS = ("get", "head", "post", "put", "patch", "delete", "options")
ROLES = ("viewer", "crew", "manager")


@dataclass(frozen=True)
class Route:
    """Who may use a farm's route, and which of the farm's rows it takes, in order."""

    role: str
    rows: tuple[str, ...] = ()
    fixed: tuple[str, ...] = ()  # arguments that are not rows
    query: dict[str, str] = field(default_factory=dict)  # rows in the query, by parameter
    opens: bool = True  # it has a page to look at
    own: bool = False  # whoever may use it changes one's own wishes only
    script: bool = False  # a script asks: it answers in JSON and never redirects


FARM_ROUTES = {
    "plan": Route("viewer"),
    "tunnels": Route("viewer"),
    "tunnel-new": Route("manager"),
    "tunnel": Route("viewer", ("tunnel",)),
    "tunnel-change": Route("manager", ("tunnel",)),
    "tunnel-clone": Route("manager", ("tunnel",)),
    "tunnel-retire": Route("manager", ("tunnel",)),
    "end-wall-change": Route("manager", ("end_wall",)),
    "opening-new": Route("manager", ("end_wall",)),
    "opening": Route("viewer", ("opening",)),
    "opening-wind": Route("viewer", ("opening",)),
    "opening-calculation": Route("viewer", ("opening",)),
    "opening-change": Route("manager", ("opening",)),
    "opening-kinds": Route("viewer", ("opening",)),
    "opening-retire": Route("manager", ("opening",)),
    "door-change": Route("manager", ("opening",)),
    "door-hang": Route("crew", ("opening",)),
    "sheet": Route("viewer", ("opening", "sheet_number")),
    "doors": Route("viewer"),
    "parts": Route("viewer"),
    "component-new": Route("crew"),
    "component": Route("viewer", ("component",)),
    "component-change": Route("crew", ("component",)),
    "component-remove": Route("crew", ("component",)),
    "component-replace": Route("crew", ("component",)),
    "component-lay-up": Route("crew", ("component",)),
    "store": Route("viewer"),
    "store-move": Route("crew"),
    "store-material": Route("viewer", ("material",)),
    "due": Route("viewer"),
    "job": Route("viewer", ("job",)),
    "job-done": Route("crew", ("job",)),
    "job-change": Route("crew", ("job",), opens=False),
    "repairs": Route("viewer"),
    "repair-new": Route("crew"),
    "repair": Route("viewer", ("repair",)),
    "repair-mend": Route("crew", ("repair",)),
    "repair-reopen": Route("crew", ("repair",), opens=False),
    "repair-photo": Route("crew", ("repair",), opens=False),
    "job-photo": Route("crew", ("job",), opens=False),
    "photo-remove": Route("crew", ("photo",), opens=False),
    "voice": Route("viewer", ("voice",)),
    "repeats": Route("viewer"),
    "near-misses": Route("manager"),
    "job-cards": Route("crew"),
    "paper": Route("manager"),
    "near-miss-new": Route("crew"),
    "near-miss": Route("manager", ("near_miss",)),
    "storms": Route("viewer"),
    "storm": Route("viewer", ("storm",)),
    "storm-sheet": Route("viewer", ("storm",)),
    "storm-task": Route("crew", ("storm", "storm_task"), opens=False),
    "storm-plan": Route("manager", ("storm",)),
    "storm-film": Route("manager", ("storm",)),
    "storm-reopen": Route("crew", ("storm",)),
    "photo": Route("viewer", ("photo",)),
    "storm-rules": Route("manager"),
    "aftermath": Route("viewer", ("storm",)),
    "aftermath-begin": Route("crew", ("storm",), opens=False),
    "aftermath-gust": Route("crew", ("storm",)),
    "aftermath-finding": Route("crew", ("storm", "finding")),
    "storm-close": Route("manager", ("storm",)),
    "event-file": Route("viewer", ("storm",)),
    "event-zip": Route("viewer", ("storm",)),
    "factor-reset": Route("manager", ("tunnel",), opens=False),
    "minutes-accept": Route("manager", opens=False),
    "gusts": Route("viewer"),
    "gust-new": Route("crew"),
    "routines": Route("manager"),
    "routine-new": Route("manager"),
    "routine": Route("manager", ("routine",)),
    "sun": Route("viewer"),
    "sun-measured": Route("manager"),
    "year": Route("viewer"),
    "film-plan": Route("viewer"),
    "weather": Route("viewer"),
    "weather-typed": Route("manager"),
    "materials": Route("viewer"),
    "material-new": Route("manager"),
    "material-change": Route("manager", ("material",)),
    "sizing-rules": Route("viewer"),
    "farm-change": Route("manager"),
    "import": Route("manager"),
    "farm-file": Route("manager"),
    "farm-file-fetch": Route("manager"),
    "plan-geojson": Route("viewer"),
    "field": Route("viewer"),
    "field-bundle": Route("viewer", script=True),
    "field-token": Route("viewer", own=True, script=True),
    "field-entries": Route("crew", opens=False, script=True),
    "field-photos": Route("crew", opens=False, script=True),
    "field-voices": Route("crew", opens=False, script=True),
    "field-beside": Route("manager"),
    "crew": Route("manager"),
    "crew-new": Route("manager"),
    "crew-person": Route("manager", ("membership",)),
    "crew-code": Route("manager", ("membership",), opens=False),
    "crew-card": Route("manager", ("membership",)),
    "crew-phone": Route("manager", ("membership", "known_phone"), opens=False),
    "crew-leave": Route("manager", ("membership",)),
    "labels": Route("manager"),
    "labels-print": Route("manager"),
    "label-replace": Route("manager", ("label",), opens=False),
    "reminders": Route("viewer", own=True),
    "reminders-change": Route("viewer", opens=False, own=True),
    "push-device": Route("viewer", opens=False, own=True),
    "import-preview": Route("manager", (), ("tunnels",), {"draft": "draft"}),
}
# Below a farm, but for its instruments and not for its members: each has a token of the farm's; see test_weather.py.
TOKEN_ROUTES = {"weather-station"}
# Routes outside any farm: coming in, and whether the program lives. The keeper's pages ask for staff.
OTHER_ROUTES = {
    "home", "enter", "login", "logout", "log-ins", "api-keys", "password", "password-forgotten", "password-new",
    "set_language", "health", "service-worker", "manifest",
    "crew-enter", "crew-square", "label",  # see test_crew.py and test_labels.py
    "security-contact",
    "close-loop", "calendar-feed",  # each behind a secret of its own: see test_answer.py and test_calendar_feed.py
}  # fmt: skip
ADMIN = "admin/"
API = "api/v1/"  # walked by test_api_isolation.py


@dataclass(frozen=True)
class Rows:
    """One row of everything a farm can have."""

    farm: Farm
    ids: dict[str, int]

    def url(self, name: str, rows: Rows | None = None) -> str:
        """Return a route of this farm, with the ids of these rows (its own by default)."""
        route, ids = FARM_ROUTES[name], (rows or self).ids
        query = "&".join(f"{parameter}={ids[row]}" for parameter, row in route.query.items())
        path = reverse(name, args=[self.farm.slug, *(ids[row] for row in route.rows), *route.fixed])
        return f"{path}?{query}" if query else path


def make_rows(code: str) -> Rows:
    """Make a farm with one of everything; ``code`` marks each of its rows."""
    farm = make_farm(name=f"Farm {code}", slug=f"farm-{code}".lower())
    start_book(farm=farm)
    tunnel = make_tunnel(farm, code=code, name=f"Tunnel {code}")
    wall = make_wall(tunnel)
    opening = make_opening(wall, code=f"{code}-W")
    resize_openings(farm=farm)
    member = make_member(farm)
    draft = ImportDraft.objects.create(
        farm=farm, user=member.user, kind="tunnels", name=f"{code}.csv", grid=[["name"], [f"Draft {code}"]]
    )
    repair = log_fault(
        farm=farm,
        place=opening,
        part="clamp",
        spot=f"clamp {code}",
        mode="loose",
        found_on=DAY,
        by=member.user,
        now=NOW,
    )
    rows = {
        "repair": repair,
        "routine": Routine.objects.create(
            farm=farm, code=f"round-{code}".lower(), name={"en": f"Round {code}"}, target="farm", trigger="condition"
        ),
        "job": repair.job,
        "storm": Storm.objects.create(
            farm=farm,
            opened_at=NOW,
            begins_at=NOW,
            ends_at=NOW,
            peak_at=NOW,
            peak_gust_m_s=25,
            level=3,
            assessed_at=NOW,
            note=f"Storm {code}",
        ),
        "tunnel": tunnel,
        "end_wall": wall,
        "opening": opening,
        "component": make_component(opening, spot=f"clamp {code}"),
        "material": make_material(farm, code=f"tube-{code}", name=f"Tube {code}"),
        "draft": draft,
    }
    rows["membership"] = member
    rows["known_phone"] = KnownPhone.objects.create(
        farm=farm, user=member.user, token_hash=f"phone-{code}", made_at=NOW, seen_at=NOW
    )
    rows["label"] = Label.objects.create(farm=farm, token=code, opening=opening, made_at=NOW)
    rows["storm_task"] = make_task(rows["storm"], tunnel=tunnel, opening=opening)
    rows["photo"] = keep_photo(farm=farm, upload=picture_file(), by=member.user, now=NOW, storm=rows["storm"])
    rows["near_miss"] = NearMiss.objects.create(farm=farm, tunnel=tunnel, on=DAY, what=f"the bar of {code} came down")
    rows["voice"] = VoiceNote.objects.create(
        farm=farm, key=uuid.uuid4(), repair=repair, media_type="audio/webm", sha256="0" * 64, made_at=NOW,
        file=ContentFile(b"words", name=f"{code}.webm"),
    )  # fmt: skip
    rows["finding"] = StormFinding.objects.create(storm=rows["storm"], tunnel=tunnel, opening=opening)
    return Rows(farm, {name: row.pk for name, row in rows.items()} | {"sheet_number": 1})


@pytest.fixture
def ours() -> Rows:
    return make_rows("OURS")


@pytest.fixture
def theirs() -> Rows:
    for _ in range(3):  # so that no id of theirs is by chance one of ours
        make_component(make_opening(make_wall(make_tunnel())))
    return make_rows("THEIRS")


def log_in(client: Any, farm: Farm, role: str) -> Membership:
    """Log a fresh member of a farm in."""
    member = make_member(farm, role)
    client.force_login(member.user)
    return member


def kept(farm: Farm) -> str:
    """Return everything the database holds of a farm, as text."""
    models = (
        Tunnel, EndWall, Opening, Door, Sizing, SizingRules, Material, Component, ImportDraft, Membership, Routine,
        Plan, Job, Repair, NearMiss, WindDay, Storm, StormRules, CrewKey, KnownPhone, Label,
    )  # fmt: skip
    rows: list[Model] = [row for model in models for row in model.objects.filter(farm=farm).order_by("pk")]
    rows += [*StormTask.objects.filter(storm__farm=farm), *StormPerson.objects.filter(storm__farm=farm)]
    rows += StormFinding.objects.filter(storm__farm=farm).order_by("pk")
    return serializers.serialize("json", [farm, *rows])


def routes(resolver: URLResolver | None = None, prefix: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Yield every path of the URLconf with its pattern."""
    for pattern in (resolver or get_resolver()).url_patterns:
        path = f"{prefix}{pattern.pattern}"
        if isinstance(pattern, URLResolver):
            yield from routes(pattern, path)
        else:
            yield path, pattern


def test_every_route_is_listed_here():
    farm_routes = {pattern.name for path, pattern in routes() if path.startswith("farm/<slug:farm_slug>/")}
    others = {pattern.name for path, pattern in routes() if not path.startswith(("farm/<slug:farm_slug>/", ADMIN, API))}

    assert farm_routes == set(FARM_ROUTES) | TOKEN_ROUTES
    assert others == OTHER_ROUTES


def test_every_route_of_a_farm_asks_for_the_role_written_here():
    asked = {
        pattern.name: getattr(pattern.callback, "farm_role", None)
        for path, pattern in routes()
        if path.startswith("farm/<slug:farm_slug>/") and pattern.name not in TOKEN_ROUTES
    }

    assert asked == {name: route.role for name, route in FARM_ROUTES.items()}


@pytest.mark.parametrize("name", FARM_ROUTES)
def test_another_farm_does_not_exist(client, ours, theirs, name):
    log_in(client, ours.farm, "manager")
    before = kept(theirs.farm)

    answers = {method: getattr(client, method)(theirs.url(name)).status_code for method in METHODS}

    assert answers == dict.fromkeys(METHODS, 404)
    assert kept(theirs.farm) == before


@pytest.mark.parametrize("name", [name for name, route in FARM_ROUTES.items() if route.rows or route.query])
def test_another_farms_row_does_not_exist_on_our_farm(client, ours, theirs, name):
    log_in(client, ours.farm, "manager")
    before = kept(theirs.farm)
    body = {parameter: theirs.ids[row] for parameter, row in FARM_ROUTES[name].query.items()}

    answers = {
        "get": client.get(ours.url(name, theirs)).status_code,
        "head": client.head(ours.url(name, theirs)).status_code,
        "post": client.post(ours.url(name, theirs), body).status_code,
        "htmx": client.get(ours.url(name, theirs), headers={"hx-request": "true"}).status_code,
    }

    missing = 404 if FARM_ROUTES[name].opens else 405
    assert answers == {"get": missing, "head": missing, "post": answers["post"], "htmx": missing}
    assert answers["post"] in (404, 405)
    assert kept(theirs.farm) == before


@pytest.mark.parametrize("name", FARM_ROUTES)
def test_nobody_logged_out_sees_a_farm(client, theirs, name):
    for method in METHODS:
        answer = getattr(client, method)(theirs.url(name))

        if FARM_ROUTES[name].script:
            assert answer.status_code == 401, method
            assert answer.headers["Content-Type"] == "application/json", method
            continue
        assert answer.status_code == 302, method
        assert answer["Location"].startswith(reverse("login")), method


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("name", FARM_ROUTES)
def test_a_page_opens_to_its_role_and_above_only(client, ours, name, role):
    member = log_in(client, ours.farm, role)
    ImportDraft.objects.filter(pk=ours.ids["draft"]).update(user=member.user)
    allowed = ROLES.index(role) >= ROLES.index(FARM_ROUTES[name].role)

    opens = 200 if FARM_ROUTES[name].opens else 405
    assert client.get(ours.url(name)).status_code == (opens if allowed else 403)


@pytest.mark.parametrize("name", [name for name, route in FARM_ROUTES.items() if not route.own])
def test_a_viewer_changes_nothing(client, ours, name):
    log_in(client, ours.farm, "viewer")
    before = kept(ours.farm)

    answers = {method: getattr(client, method)(ours.url(name)).status_code for method in METHODS[2:]}

    assert set(answers.values()) <= {403, 405}
    assert kept(ours.farm) == before


@pytest.mark.parametrize("name", [name for name, route in FARM_ROUTES.items() if route.role == "manager"])
def test_the_crew_changes_no_structure(client, ours, name):
    log_in(client, ours.farm, "crew")
    before = kept(ours.farm)

    answers = {method: getattr(client, method)(ours.url(name)).status_code for method in METHODS}

    assert set(answers.values()) == {403}
    assert kept(ours.farm) == before


def test_a_draft_is_shown_to_who_uploaded_it_only(client, ours):
    log_in(client, ours.farm, "manager")

    assert client.get(ours.url("import-preview")).status_code == 404
    assert client.post(ours.url("import-preview").partition("?")[0], {"draft": ours.ids["draft"]}).status_code == 404


@pytest.mark.parametrize("name", ["plan", "tunnels", "doors", "parts", "materials", "import", "component-new"])
@pytest.mark.parametrize("query", ["", "?status=all&state=all", "?export=csv", "?q=THEIRS", "?page=2&per_page=100"])
def test_no_page_names_another_farms_rows(client, ours, theirs, name, query):
    log_in(client, ours.farm, "manager")

    text = client.get(ours.url(name) + query).content.decode().replace("q=THEIRS", "").replace('value="THEIRS"', "")

    assert "OURS" in text or query == "?q=THEIRS"
    assert "THEIRS" not in text


def test_a_part_cannot_be_logged_on_another_farm(client, ours, theirs):
    log_in(client, ours.farm, "crew")
    part = {"kind": "clamp", "spot": "", "quantity": "1", "fitted_on": "2024-05-01", "material": ""}

    for place in ("tunnel", "wall", "opening"):
        row = {"wall": "end_wall"}.get(place, place)
        answer = client.post(ours.url("component-new"), {**part, "place": f"{place}-{theirs.ids[row]}"})
        assert answer.status_code == 422
    place = f"opening-{ours.ids['opening']}"
    answer = client.post(ours.url("component-new"), {**part, "place": place, "material": theirs.ids["material"]})

    assert answer.status_code == 422
    assert Component.objects.filter(farm=ours.farm).count() == 1


def test_a_door_cannot_be_made_of_another_farms_material(client, ours, theirs):
    log_in(client, ours.farm, "manager")

    answer = client.post(ours.url("door-change"), {"turning_tube": theirs.ids["material"]})

    assert answer.status_code == 422
    assert Door.objects.get(opening=ours.ids["opening"]).turning_tube.farm == ours.farm


def test_an_import_finds_only_the_farms_own_rows(client, ours, theirs):
    member = log_in(client, ours.farm, "manager")
    grid = [["tunnel", "wall", "code", "rough_width", "rough_height"], ["THEIRS", "W", "", "8 ft", "8 ft"]]
    draft = ImportDraft.objects.create(farm=ours.farm, user=member.user, kind="openings", name="a.csv", grid=grid)

    url = reverse("import-preview", args=[ours.farm.slug, "openings"])
    answer = client.post(url, {"draft": draft.pk, "take": "good"})

    assert answer.status_code in (302, 422)
    assert Opening.objects.filter(farm=ours.farm).count() == 1
    assert Opening.objects.filter(farm=theirs.farm).count() == 1


def test_the_keepers_pages_ask_for_staff(client, ours):
    log_in(client, ours.farm, "manager")

    answer = client.get(reverse("admin:index"))

    assert answer.status_code == 302
    assert reverse("admin:login") in answer["Location"]
