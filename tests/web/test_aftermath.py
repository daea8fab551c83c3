"""The pages after a storm, and its record on paper and as a ZIP file."""

from __future__ import annotations

import csv
import io
import json
import zipfile
import zlib
from datetime import date, timedelta
from decimal import Decimal
from hashlib import sha256
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from farm.models import Farm, Opening, Tunnel
from maintenance.aftermath import findings
from maintenance.models import FilmDecision, Forecast, Photo, Repair, Storm, StormFinding, TunnelFactor
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.forms import errors_of, post, said
from tests.storm_rows import AFTER, BEGAN, PEAK, make_look, make_storm, make_task

pytestmark = pytest.mark.django_db


@pytest.fixture
def door(farm: Farm) -> Opening:
    return make_opening(make_wall(make_tunnel(farm, code="T04")), code="T04-W")


@pytest.fixture
def storm(farm: Farm, door: Opening) -> Storm:
    """A storm that is over, with its list: the tunnel and its door."""
    storm = make_storm(farm)
    findings.open_findings(storm=storm, now=AFTER)
    return storm


def page(client: Any, storm: Storm, name: str = "aftermath", **query: str) -> str:
    answer = client.get(reverse(name, args=[storm.farm.slug, storm.pk]), query)
    assert answer.status_code == 200
    return str(answer.content.decode())


def finding(storm: Storm, door: Opening | None) -> StormFinding:
    return StormFinding.objects.get(storm=storm, opening=door)


# What to look at ------------------------------------------------------------------


def test_the_cautions_stand_before_the_list_and_people_come_first(client, storm):
    text = page(client, storm)

    places = [text.index(words) for words in (
        "People first", "Power and gas off", "Look from outside", "Take pictures before", "Look at these, in this order"
    )]  # fmt: skip
    assert places == sorted(places)


def test_a_list_that_is_missing_is_written_by_a_button(client, farm, door):
    storm = make_storm(farm)

    post(client, farm, "aftermath-begin", storm.pk)

    assert storm.findings.count() == 2


def test_one_tap_says_that_a_place_is_sound(client, farm, storm, door):
    answer = post(client, farm, "aftermath-finding", storm.pk, finding(storm, door).pk, outcome="sound")

    assert answer.status_code == 302
    assert said(answer) == "T04-W is sound."
    assert finding(storm, door).outcome == "sound"


def test_a_tap_by_mistake_is_taken_back(client, farm, storm, door):
    pk = finding(storm, door).pk
    post(client, farm, "aftermath-finding", storm.pk, pk, outcome="sound")

    post(client, farm, "aftermath-finding", storm.pk, pk, outcome="again")

    assert (finding(storm, door).outcome, finding(storm, door).at) == ("", None)


def test_damage_is_asked_for_in_few_fields_and_becomes_a_repair(client, farm, storm, door):
    pk = finding(storm, door).pk

    refused = post(client, farm, "aftermath-finding", storm.pk, pk, part="door_film", mode="")
    post(client, farm, "aftermath-finding", storm.pk, pk, part="door_film", mode="torn", cost="85.50", minutes="60",
         gust_seen_m_s="65 mph", is_critical="on")  # fmt: skip

    assert errors_of(refused, "mode")
    repair = Repair.objects.get(farm=farm)
    assert (repair.cause, repair.cost, repair.minutes, repair.opening) == ("wind", Decimal("85.50"), 60, door)
    assert finding(storm, door).gust_seen_m_s == Decimal("29.06")  # 65 x 0.44704
    assert TunnelFactor.objects.get(tunnel=door.end_wall.tunnel).observations[0]["seen"] == 29.06


def test_a_sound_place_may_say_what_gust_was_seen(client, farm, storm, door):
    url = f"{reverse('aftermath-finding', args=[farm.slug, storm.pk, finding(storm, door).pk])}?sound=1"
    shown = client.get(url).content.decode()

    client.post(url, {"sound": "1", "gust_seen_m_s": "20 m/s", "note": "lay in the lee"})

    assert 'name="sound"' in shown
    assert 'name="part"' not in shown
    assert (finding(storm, door).outcome, finding(storm, door).gust_seen_m_s) == ("sound", 20)


def jpeg() -> SimpleUploadedFile:
    buffer = io.BytesIO()
    Image.new("RGB", (60, 40), (90, 120, 90)).save(buffer, "JPEG")
    return SimpleUploadedFile("torn.jpg", buffer.getvalue(), content_type="image/jpeg")


def test_damage_may_come_with_a_picture(client, farm, storm, door):
    pk = finding(storm, door).pk

    post(client, farm, "aftermath-finding", storm.pk, pk, part="door_film", mode="torn", photo=jpeg())

    photo = Photo.objects.get(farm=farm)
    assert (photo.finding_id, photo.repair, photo.storm) == (pk, Repair.objects.get(), storm)
    assert (photo.width, photo.height) == (60, 40)


def test_a_picture_that_is_none_keeps_nothing(client, farm, storm, door):
    broken = SimpleUploadedFile("torn.jpg", b"no picture", content_type="image/jpeg")

    answer = post(client, farm, "aftermath-finding", storm.pk, finding(storm, door).pk, part="door_film", mode="torn",
                  photo=broken)  # fmt: skip

    assert "no picture that can be read" in errors_of(answer, "photo")
    assert not Repair.objects.exists()
    assert finding(storm, door).outcome == ""


def test_the_list_of_storms_says_whether_each_warning_was_right(client, farm, storm):
    make_storm(farm, actual_gust_m_s=Decimal(27))
    url = reverse("storms", args=[farm.slug])
    with CaptureQueriesContext(connection) as few:
        text = client.get(url).content.decode()
    for _number in range(3):
        make_storm(farm, actual_gust_m_s=Decimal(10))
    with CaptureQueriesContext(connection) as many:
        more = client.get(url).content.decode()

    assert "verdict-pass" in text
    assert more.count("false alarm") == 3
    assert len(few) == len(many)


def test_who_comes_second_is_told(client, farm, storm, door):
    pk = finding(storm, door).pk
    post(client, farm, "aftermath-finding", storm.pk, pk, outcome="sound")

    answer = post(client, farm, "aftermath-finding", storm.pk, pk, part="door_film", mode="torn")

    assert answer.status_code == 422
    assert "Somebody looked at this place already" in answer.content.decode()
    assert not Repair.objects.exists()


def test_the_gust_that_came_is_kept_as_people_write_it(client, farm, storm):
    post(client, farm, "aftermath-gust", storm.pk, gust_m_s="61 mph", source="measured")

    storm.refresh_from_db()
    assert storm.actual_gust_m_s == Decimal("27.27")  # 61 x 0.44704
    assert farm.wind_days.get().on == PEAK.astimezone(farm.zone).date()


def test_a_storm_that_blows_has_no_gust_that_came(client, farm, door):
    storm = make_storm(farm, state="blowing")

    answer = post(client, farm, "aftermath-gust", storm.pk, gust_m_s="61", source="seen")

    assert "not over yet" in said(answer)
    assert not farm.wind_days.exists()


def test_closing_waits_until_all_was_looked_at(client, farm, storm, door):
    early = post(client, farm, "storm-close", storm.pk, note="Begin at noon.", cost="12")
    StormFinding.objects.update(outcome="sound", at=AFTER)
    post(client, farm, "storm-close", storm.pk, note="Begin at noon.", cost="12")

    assert "2 places were not looked at yet" in early.content.decode()
    storm.refresh_from_db()
    assert (storm.state, storm.note) == ("closed", "Begin at noon.")


def test_the_crew_cannot_close_and_a_viewer_cannot_judge(client, farm, storm, door):
    client.force_login(make_member(farm, "crew").user)
    closing = post(client, farm, "storm-close", storm.pk, note="x")
    client.force_login(make_member(farm, "viewer").user)
    judging = post(client, farm, "aftermath-finding", storm.pk, finding(storm, door).pk, outcome="sound")

    assert (closing.status_code, judging.status_code) == (403, 403)
    assert 'name="outcome"' not in page(client, storm)


def test_a_factor_begins_anew_by_a_button(client, farm, storm, door):
    tunnel = door.end_wall.tunnel
    TunnelFactor.objects.create(
        tunnel=tunnel, factor="1.1", observations=[{"at": PEAK.isoformat(), "seen": 30.0, "forecast": 26.0}]
    )
    assert "Seen over forecast" in page(client, storm)

    answer = post(client, farm, "factor-reset", tunnel.pk, storm=storm.pk)

    assert answer["Location"] == f"{reverse('aftermath', args=[farm.slug, storm.pk])}#learnt"
    assert TunnelFactor.objects.get(tunnel=tunnel).factor == 1


def test_logged_minutes_are_taken_by_a_button_and_unknown_work_is_refused(client, farm, storm, door):
    for number in range(5):
        make_task(storm, door, key=f"d{number}", state="done", done_at=BEGAN, minutes_spent=11)

    taken = post(client, farm, "minutes-accept", kind="film_door", storm=storm.pk)
    refused = post(client, farm, "minutes-accept", kind="no such work", storm=storm.pk)

    assert "takes 9 min" in said(taken)  # halfway between the usual 7 and 11
    assert "Nothing is proposed" in said(refused)


@pytest.mark.parametrize("name", ["aftermath", "event-file"])
def test_the_number_of_queries_does_not_grow(client, farm, name):
    counts = []
    storm = make_storm(farm)
    for number in range(3):
        tunnel = make_tunnel(farm, code=f"T{number}")
        opening = make_opening(make_wall(tunnel), code=f"T{number}-W")
        make_component(opening, kind="door_film", material=make_material(farm, kind="film"))
        make_task(storm, opening)
        make_look(storm)
        findings.open_findings(storm=storm, now=AFTER)
        make_photo(storm, taken=number, finding=finding(storm, opening))
        find = StormFinding.objects.select_related("storm__farm", "tunnel", "opening__end_wall__tunnel")
        findings.find_damaged(finding=find.get(pk=finding(storm, opening).pk), by=None, now=AFTER, part="brace",
                              mode="bent")  # fmt: skip
        with CaptureQueriesContext(connection) as asked:
            page(client, storm, name)
        counts.append(len(asked))

    assert counts[0] == counts[2]


# The record -----------------------------------------------------------------------


@pytest.fixture(autouse=True)
def _pictures_of_their_own(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path


def make_photo(storm: Storm, *, taken: int, **values: Any) -> Photo:
    """Make a picture so many hours after the storm began."""
    content = f"picture {taken}".encode()
    photo = Photo(
        farm=storm.farm, width=40, height=30, sha256=sha256(content).hexdigest(), storm=storm,
        taken_at=BEGAN + timedelta(hours=taken), **values,
    )  # fmt: skip
    photo.file.save("picture.jpg", ContentFile(content))
    return photo


@pytest.fixture
def record(farm: Farm, storm: Storm, door: Opening) -> Storm:
    """A storm with everything that a record can hold."""
    tunnel, member = door.end_wall.tunnel, make_member(farm, "crew")
    forecast = Forecast.objects.create(
        farm=farm, source="typed", issued_at=BEGAN, fetched_at=BEGAN, spells=[{"gust": 26.0}],
        original=zlib.compress(b"Wednesday: W 58 mph"),
    )  # fmt: skip
    make_look(storm, forecast=forecast)
    make_task(storm, door, state="cannot", reason='=HYPERLINK("http://x")', done_at=BEGAN, done_by=member.user)
    FilmDecision.objects.create(storm=storm, tunnel=tunnel, choice="keep", at=BEGAN, by=member.user)
    make_component(tunnel, kind="roof_film", fitted_on=date(2023, 11, 20), lot="R-17")
    rows = StormFinding.objects.select_related("storm__farm", "tunnel", "opening__end_wall__tunnel")
    row = rows.get(opening=door)
    findings.find_damaged(
        finding=row, by=member.user, now=AFTER, part="door_film", mode="torn", cost=Decimal("85.50"), note="slit, 4 ft"
    )
    make_photo(storm, taken=-20, finding=row, caption="west end before")
    make_photo(storm, taken=19, finding=row, caption="west end after")
    return storm


def unzipped(client: Any, storm: Storm, **query: str) -> zipfile.ZipFile:
    answer = client.get(reverse("event-zip", args=[storm.farm.slug, storm.pk]), query)
    assert answer["Content-Type"] == "application/zip"
    return zipfile.ZipFile(io.BytesIO(answer.content))


def table(archive: zipfile.ZipFile, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(archive.read(name).decode("utf-8-sig"))))


def test_the_file_opens_and_its_checksums_are_right(client, record):
    archive = unzipped(client, record)

    sums = dict(reversed(line.split("  ")) for line in archive.read("SHA256SUMS.txt").decode().splitlines())

    assert archive.testzip() is None
    assert set(sums) == set(archive.namelist()) - {"SHA256SUMS.txt"}
    assert sums == {name: sha256(archive.read(name)).hexdigest() for name in sums}
    assert {name for name in archive.namelist() if "/" not in name} == {
        "README.txt", "SHA256SUMS.txt", "looks.csv", "tasks.csv", "film_decisions.csv", "findings.csv", "repairs.csv",
        "photos.csv", "tunnels.csv", "openings.csv", "films.csv",
    }  # fmt: skip


def test_its_tables_say_who_what_when_and_what_it_cost(client, farm, record):
    farm.time_zone = "America/New_York"
    farm.save()
    archive = unzipped(client, record)

    (look,), (task,), (repair,) = (table(archive, f"{name}.csv") for name in ("looks", "tasks", "repairs"))

    assert (look["at"], look["highest_gust_m_s"]) == ("2026-11-18T13:00-05:00", "26")
    assert (task["where"], task["state"], task["at"]) == ("T04-W", "cannot be done", "2026-11-20T13:00-05:00")
    assert (repair["where"], repair["cost_of_parts"], repair["note"]) == ("T04-W", "85.5", "slit, 4 ft")


def test_no_cell_runs_as_a_formula(client, record):
    (task,) = table(unzipped(client, record), "tasks.csv")

    assert task["why_not"] == '\'=HYPERLINK("http://x")'


def test_film_ages_and_sizes_are_what_an_insurer_asks(client, record):
    archive = unzipped(client, record)

    (film,) = table(archive, "films.csv")
    (tunnel,) = table(archive, "tunnels.csv")

    assert (film["where"], film["fitted_on"], film["age_years"], film["lot"]) == ("T04", "2023-11-20", "3", "R-17")
    assert (tunnel["width_mm"], tunnel["length_mm"]) == ("9144", "29260.8")  # 30 x 96 ft


def test_each_forecast_is_there_as_it_came(client, record):
    archive = unzipped(client, record)

    (original,) = (name for name in archive.namelist() if name.endswith("-original.txt"))
    (said_,) = (name for name in archive.namelist() if name.endswith(".json"))

    assert archive.read(original) == b"Wednesday: W 58 mph"
    assert json.loads(archive.read(said_))["spells"] == [{"gust": 26.0}]


def test_pictures_come_with_caption_and_time_and_a_lost_one_is_named(client, record):
    lost = Photo.objects.get(caption="west end after")
    lost.file.storage.delete(lost.file.name)

    archive = unzipped(client, record)

    rows = table(archive, "photos.csv")
    assert [(row["caption"], row["when"]) for row in rows] == [
        ("west end before", "before"), ("west end after", "after")
    ]  # fmt: skip
    assert [name for name in archive.namelist() if name.startswith("photos/")] == [rows[0]["file"]]
    assert sha256(archive.read(rows[0]["file"])).hexdigest() == rows[0]["sha256"]
    assert f"{rows[1]['file']}: left out" in archive.read("README.txt").decode()


def test_the_same_record_gives_the_same_names_and_bytes(client, record):
    first, second = unzipped(client, record), unzipped(client, record)

    assert first.namelist() == second.namelist()
    assert first.read("tasks.csv") == second.read("tasks.csv")


def test_nothing_of_another_farm_or_storm_is_in_it(client, farm, record):
    other = make_farm()
    opening = make_opening(make_wall(make_tunnel(other, code="THEIRS")), code="THEIRS-W")
    theirs = make_storm(other)
    make_task(theirs, opening, state="cannot", reason="THEIRS", done_at=BEGAN)
    make_look(theirs)
    make_photo(theirs, taken=1, caption="THEIRS")
    make_task(make_storm(farm, note="earlier"), Tunnel.objects.get(farm=farm), key="earlier", side="EARLIER")

    archive = unzipped(client, record)
    text = b"".join(archive.read(name) for name in archive.namelist())

    assert b"THEIRS" not in text
    assert b"EARLIER" not in text
    assert "THEIRS" not in page(client, record, "event-file")


def test_a_loss_packet_holds_one_tunnel_with_its_pictures_film_and_cost(client, farm, record, door):
    other = make_opening(make_wall(make_tunnel(farm, code="T09")), code="T09-W")
    make_task(record, other)

    text = page(client, record, "event-file", tunnel=str(door.end_wall.tunnel.pk))

    assert "Loss packet T04" in text
    assert text.index("west end before") < text.index("west end after")
    assert "T09-W" not in text
    assert "85.50 USD" in text
    assert "2023-11-20" in text


@pytest.mark.parametrize("tunnel", ["99999999", "x", "-1", "9" * 30])
def test_a_tunnel_that_is_not_ours_has_no_packet(client, record, tunnel):
    answer = client.get(reverse("event-file", args=[record.farm.slug, record.pk]), {"tunnel": tunnel})

    assert answer.status_code == 404
