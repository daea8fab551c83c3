"""Faults and gusts on the pages: reported, listed, mended, kept as files; what comes back."""

from __future__ import annotations

import csv
import io
import uuid
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook

from doors.models import Component, StockMove
from farm.models import Farm, Opening
from maintenance.hands.photos import PhotoError, keep_photo
from maintenance.models import Job, Photo, Repair, VoiceNote, WindDay
from maintenance.work import faults
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.forms import errors_of, filled_in, post, said
from tests.hands_rows import make_storm, picture_file
from tests.upkeep_rows import make_plan, make_routine

pytestmark = pytest.mark.django_db


@pytest.fixture
def opening(farm: Farm) -> Opening:
    return make_opening(make_wall(make_tunnel(farm, code="T09")), code="T09-W")


def fault(opening: Any, day: date, **given: Any) -> Repair:
    post_ = {"part": "guide_post", "mode": "leaning", "found_on": day, "by": None, "now": timezone.now()}
    return faults.log_fault(farm=opening.farm, place=opening, **{**post_, **given})


def listed(client: Any, farm: Farm, **query: Any) -> list[str]:
    """Return the faults a list shows, in order, by their spot."""
    table = client.get(reverse("repairs", args=[farm.slug]), query).context["table"]
    return [row.record.spot for row in table.paginated_rows]


# Reporting ------------------------------------------------------------------------


def test_the_crew_reports_a_fault_with_four_answers(client, farm, opening, today):
    crew = make_member(farm, "crew").user
    client.force_login(crew)
    form = filled_in(client, reverse("repair-new", args=[farm.slug]) + f"?opening={opening.pk}")

    answer = post(client, farm, "repair-new", **{**form, "part": "guide_post", "mode": "leaning", "spot": "left"})

    repair = Repair.objects.get()
    assert answer["Location"] == reverse("repair", args=[farm.slug, repair.pk])
    assert (repair.opening, repair.tunnel, repair.part, repair.spot, repair.mode, repair.is_critical) == (
        opening, opening.end_wall.tunnel, "guide_post", "left", "leaning", False
    )  # fmt: skip
    assert (repair.found_on, repair.found_by, repair.logged_by) == (today, crew.username, crew)
    assert (repair.job.state, repair.job.due_on) == ("open", today)


@pytest.mark.parametrize("place", ["tunnel", "wall", "opening", "component"])
def test_a_link_says_where_the_fault_is(client, farm, opening, place):
    part = make_component(opening, kind="latch", spot="inside")
    rows = {"tunnel": opening.end_wall.tunnel, "wall": opening.end_wall, "opening": opening, "component": part}
    url = reverse("repair-new", args=[farm.slug])

    form = client.get(url, {place: rows[place].pk}).context["form"]

    expected = f"opening-{opening.pk}" if place == "component" else f"{place}-{rows[place].pk}"
    assert form["place"].value() == expected
    assert form["part"].value() == ("latch" if place == "component" else None)


def test_a_fault_of_a_part_in_service_belongs_to_that_part(client, farm, opening):
    part = make_component(opening, kind="latch", spot="inside")
    url = reverse("repair-new", args=[farm.slug]) + f"?component={part.pk}"

    client.post(url, {**filled_in(client, url), "mode": "bent"})

    assert (Repair.objects.get().component, Repair.objects.get().spot) == (part, "inside")


@pytest.mark.parametrize("place", ["tunnel", "wall", "opening", "component"])
def test_a_link_to_another_farms_place_finds_nothing(client, farm, place):
    other = make_opening()
    rows = {"tunnel": other.end_wall.tunnel, "wall": other.end_wall, "opening": other,
            "component": make_component(other)}  # fmt: skip

    assert client.get(reverse("repair-new", args=[farm.slug]), {place: rows[place].pk}).status_code == 404


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"place": ""}, "place", "required"),
        ({"place": "opening-999999"}, "place", "valid choice"),
        ({"part": "wheel"}, "part", "valid choice"),
        ({"mode": ""}, "mode", "required"),
        ({"found_on": "2999-01-01"}, "found_on", "has not come yet"),
        ({"minutes": "0"}, "minutes", "greater than or equal to 1"),
    ],
)
def test_a_fault_that_cannot_be_is_refused(client, farm, opening, today, data, field, words):
    whole = {"place": f"opening-{opening.pk}", "part": "cord", "mode": "missing", "found_on": today.isoformat()}

    answer = post(client, farm, "repair-new", **{**whole, **data})

    assert words in errors_of(answer, field)
    assert not Repair.objects.exists()


def test_a_fault_of_the_farm_as_a_whole_needs_no_place(client, farm, today):
    post(client, farm, "repair-new", place="farm", part="other", mode="dead", found_on=today.isoformat())

    assert Repair.objects.get().tunnel is None


# The list -------------------------------------------------------------------------


def test_the_list_shows_what_is_not_repaired_the_worst_first(client, farm, opening, today):
    fault(opening, today, spot="open")
    fault(opening, today, spot="critical", is_critical=True)
    for spot, for_now in (("done", False), ("held", True)):
        faults.mend(repair=fault(opening, today, spot=spot), by=None, now=timezone.now(), on=today, for_now=for_now)

    assert listed(client, farm) == ["critical", "held", "open"]
    assert listed(client, farm, state="critical") == ["critical"]
    assert listed(client, farm, state="done") == ["done"]
    assert listed(client, farm, state="temporary") == ["held"]
    assert sorted(listed(client, farm, state="all")) == ["critical", "done", "held", "open"]
    assert listed(client, farm, part="cord") == []
    assert listed(client, farm, q="t09 crit") == ["critical"]


@pytest.mark.parametrize("query", [{}, {"export": "csv"}, {"q": "T09"}])
@pytest.mark.parametrize("page", ["repairs", "repeats"])
def test_three_rows_cost_the_queries_of_one(client, farm, opening, today, page, query):
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse(page, args=[farm.slug]), query)
        return len(queries)

    counts = []
    for number in (1, 2):
        for spot in range(number):
            for days in (1, 2, 3):
                fault(opening, today - timedelta(days=days), spot=f"spot {number} {spot}")
        counts.append(count())

    most = {"repairs": 15, "repeats": 9}[page]  # two of them ask whether all works, one for danger
    assert counts[0] == counts[1] <= most


def test_faults_are_kept_as_a_file(client, farm, opening, today):
    fault(opening, today, spot="left", is_critical=True, minutes=50, note="leans 3 in")

    text = client.get(reverse("repairs", args=[farm.slug]), {"export": "csv"}).content.decode("utf-8-sig")

    row = next(csv.DictReader(io.StringIO(text)))
    assert row == {
        "tunnel": "T09", "place": "T09-W", "part": "guide post", "where_exactly": "left", "how_it_shows": "leaning",
        "cause": "", "cannot_wait": "yes", "danger": "no", "state": "open", "failures_in_24_months": "",
        "found_on": today.isoformat(), "found_by": "", "repaired_on": "", "repaired_by": "", "minutes": "50",
        "cost_of_parts": "", "part_in_service": "", "job": str(Job.objects.get().pk), "pictures": "0",
        "note": "leans 3 in",
    }  # fmt: skip


def test_the_list_narrows_by_place_day_person_sharpness_and_repeat(client, farm, opening, today):
    other = make_opening(make_wall(make_tunnel(farm, code="T02")), code="T02-W")
    for ago in (300, 100, 1):
        fault(opening, today - timedelta(days=ago), spot="left", found_by="Teo", note=str(ago))
    fault(other, today, spot="bar", part="turning_bar", mode="bent", is_critical=True, found_by="Marisol")
    Repair.objects.filter(part="turning_bar").update(is_danger=True)
    fault(other.end_wall, today, spot="wall", found_by="Marisol")
    yesterday = (today - timedelta(days=1)).isoformat()

    assert listed(client, farm, sharp="danger") == ["bar"] == listed(client, farm, sharp="critical")
    assert sorted(listed(client, farm, sharp="plain")) == ["left"] * 3 + ["wall"]
    assert sorted(listed(client, farm, place=f"tunnel-{other.end_wall.tunnel.pk}")) == ["bar", "wall"]
    assert listed(client, farm, place=f"opening-{other.pk}") == ["bar"]
    assert listed(client, farm, place=f"wall-{other.end_wall.pk}") == ["wall"]
    assert listed(client, farm, place="farm") == []
    assert listed(client, farm, since=yesterday, until=yesterday) == ["left"]
    assert sorted(listed(client, farm, since=yesterday)) == ["bar", "left", "wall"]
    assert listed(client, farm, who="teo") == ["left"] * 3
    assert listed(client, farm, again="yes") == ["left"] * 3
    assert sorted(listed(client, farm, again="no")) == ["bar", "wall"]
    assert listed(client, farm, mode="bent", who="marisol") == ["bar"]


def test_another_farms_place_is_no_choice(client, farm, opening, today):
    fault(opening, today, spot="ours")

    answer = client.get(reverse("repairs", args=[farm.slug]), {"place": f"opening-{make_opening().pk}"})

    assert answer.status_code == 200
    assert "place" in answer.context["filter"].form.errors


def test_the_list_adds_up_states_minutes_and_cost(client, farm, opening, today):
    fault(opening, today, spot="a", minutes=30, is_critical=True)
    fault(opening, today, spot="b", minutes=20)
    held, *done = (fault(opening, today, spot=spot) for spot in "cde")
    faults.mend(repair=held, by=None, now=timezone.now(), on=today, for_now=True)
    bolt = make_material(farm, kind="fastener", price=Decimal("1.25"), price_per="each")
    for repair, parts in zip(done, ([(bolt, Decimal(4))], []), strict=True):
        faults.mend(repair=repair, by=None, now=timezone.now(), on=today, minutes=15, parts=parts)

    def totals(**query: Any) -> Any:
        return client.get(reverse("repairs", args=[farm.slug]), query).context["totals"]

    unmended, whole = totals(), totals(state="all")

    for each in (unmended, whole):
        assert (each.open, each.critical, each.temporary, each.done) == (2, 1, 1, 2)
    assert (unmended.minutes_to_come, unmended.minutes_spent, unmended.parts_cost) == (50, 0, 0)
    assert (whole.minutes_to_come, whole.minutes_spent, whole.parts_cost, whole.without_cost) == (50, 30, 5, 1)


def test_what_a_spreadsheet_would_run_is_kept_as_words(client, farm, opening, today):
    fault(opening, today, spot="=1+1", note="@SUM(A1)")

    text = client.get(reverse("repairs", args=[farm.slug]), {"export": "csv"}).content.decode("utf-8-sig")
    book = client.get(reverse("repairs", args=[farm.slug]), {"export": "xlsx"}).content

    row = next(csv.DictReader(io.StringIO(text)))
    assert (row["where_exactly"], row["note"]) == ("'=1+1", "'@SUM(A1)")
    cells = [cell for line in load_workbook(io.BytesIO(book)).active.iter_rows() for cell in line]
    assert not [cell for cell in cells if cell.data_type == "f"]


# Mending --------------------------------------------------------------------------


def test_a_fault_is_mended_with_parts_and_its_job_ends(client, farm, opening, today):
    client.force_login(make_member(farm, "crew").user)
    repair = fault(opening, today)
    bolt = make_material(farm, kind="fastener", price=Decimal("1.25"), price_per="each")

    post(
        client, farm, "repair-mend", repair.pk, on=today.isoformat(), minutes="40", cause="wind", mended_by="Teo",
        note="new bolts", material_0=bolt.pk, quantity_0="4",
    )  # fmt: skip

    repair.refresh_from_db()
    assert (repair.state, repair.mended_on, repair.mended_by, repair.minutes, repair.cost, repair.cause) == (
        "done", today, "Teo", 40, Decimal("5.00"), "wind"
    )  # fmt: skip
    assert Job.objects.get().state == "done"
    text = client.get(reverse("repair", args=[farm.slug, repair.pk])).content.decode()
    assert "new bolts" in text
    assert "5.00 USD" in text


def test_a_fault_that_holds_for_now_can_stand_open_again(client, farm, opening, today):
    repair = fault(opening, today)

    post(client, farm, "repair-mend", repair.pk, on=today.isoformat(), for_now="1")
    repair.refresh_from_db()
    held = repair.state
    post(client, farm, "repair-reopen", repair.pk)
    repair.refresh_from_db()
    again = post(client, farm, "repair-reopen", repair.pk)

    assert (held, repair.state, Job.objects.get().state) == ("temporary", "open", "open")
    assert "open already" in said(again)


def test_a_repair_before_the_fault_comes_back_with_what_was_written(client, farm, opening, today):
    repair = fault(opening, today)
    early = (today - timedelta(days=3)).isoformat()

    answer = post(client, farm, "repair-mend", repair.pk, on=early, note="strapped")

    text = answer.content.decode()
    assert answer.status_code == 422
    assert "is before it was found" in text
    assert "strapped" in text
    repair.refresh_from_db()
    assert repair.state == "open"


def test_what_comes_back_is_told_with_its_days(client, farm, opening, today):
    days = [today - timedelta(days=ago) for ago in (400, 200, 10)]
    found = [fault(opening, day, spot="left", mode="spun") for day in days]

    text = client.get(reverse("repeats", args=[farm.slug])).content.decode()
    of_one = client.get(reverse("repair", args=[farm.slug, found[0].pk])).content.decode()

    for page in (text, of_one):
        assert all(day.isoformat() in page for day in days)
    assert "T09-W, left" in text
    assert "Failed 3 times in" in of_one


def test_a_critical_fault_that_holds_no_more_is_as_urgent_as_one_found_today(client, farm, opening, today):
    repair = fault(opening, today, is_critical=True)
    post(client, farm, "repair-mend", repair.pk, on=today.isoformat(), for_now="1")
    held_until = Job.objects.get().until_on

    post(client, farm, "repair-reopen", repair.pk)

    assert held_until > today + timedelta(days=1)
    assert Job.objects.get().until_on == today + timedelta(days=1)


def test_that_it_holds_is_taken_back_with_its_parts(client, farm, opening, today):
    repair = fault(opening, today, is_critical=True)
    before = Job.objects.get().until_on
    bolt = make_material(farm, kind="fastener", price=Decimal("1.25"), price_per="each")
    sent = {"on": today.isoformat(), "for_now": "1", "material_0": bolt.pk, "quantity_0": "4", "cause": "wind"}
    post(client, farm, "repair-mend", repair.pk, **sent)
    taken = StockMove.objects.of(farm).balances()[bolt.pk]

    post(client, farm, "repair-reopen", repair.pk, mistake="1")
    again = post(client, farm, "repair-reopen", repair.pk, mistake="1")

    repair.refresh_from_db()
    assert (taken, StockMove.objects.of(farm).balances()[bolt.pk]) == (-4, 0)
    assert (repair.state, repair.mended_on, repair.mended_by, repair.cost, repair.cause) == ("open", None, "", None, "")
    assert Job.objects.get().until_on == before
    assert "nothing to take back" in said(again)


# A new part -----------------------------------------------------------------------


def replaced(client: Any, farm: Farm, part: Any, today: date, **changes: Any) -> Any:
    """Replace a part as a browser would that leaves the form as it was proposed."""
    url = reverse("component-replace", args=[farm.slug, part.pk])
    form = client.get(url).context["form"]
    return client.post(url, {
        "replaced_on": today.isoformat(), "reason": "storm", "quantity": "1", "failure_mode": "torn",
        "failure_cause": "wind", "closes": form.initial["closes"], **changes,
    })  # fmt: skip


def test_a_new_sheet_closes_the_tear_in_the_old_one(client, farm, opening, today):
    sheet = make_component(opening, kind="roof_film", spot="leaf")
    torn = fault(sheet, today, part="roof_film", mode="torn", spot="leaf")
    unlinked = fault(opening, today, part="roof_film", mode="torn", spot="")
    elsewhere = fault(opening, today, part="roof_film", mode="torn", spot="upper panel")
    other_part = fault(opening, today, part="latch", mode="bent")
    asked = client.get(reverse("component-replace", args=[farm.slug, sheet.pk])).content.decode()

    answer = replaced(client, farm, sheet, today)

    assert answer.status_code == 302
    assert asked.count('name="closes"') == 3
    states = {each: Repair.objects.get(pk=each.pk).state for each in (torn, unlinked, elsewhere, other_part)}
    assert states == {torn: "done", unlinked: "done", elsewhere: "open", other_part: "open"}
    assert Job.objects.get(repair=torn).state == "done"
    assert Repair.objects.get(pk=torn.pk).cause == "wind"


def test_what_is_not_ticked_stays_open(client, farm, opening, today):
    sheet = make_component(opening, kind="roof_film", spot="leaf")
    torn = fault(sheet, today, part="roof_film", mode="torn", spot="leaf")

    replaced(client, farm, sheet, today, closes=[])

    sheet.refresh_from_db()
    torn.refresh_from_db()
    assert (sheet.removed_on, torn.state) == (today, "open")


def test_a_fault_found_after_the_replacement_keeps_both_as_they_were(client, farm, opening, today):
    sheet = make_component(opening, kind="roof_film", spot="leaf")
    torn = fault(sheet, today, part="roof_film", mode="torn", spot="leaf")

    answer = replaced(client, farm, sheet, today - timedelta(days=2), closes=[torn.pk])

    sheet.refresh_from_db()
    assert "is before it was found" in errors_of(answer, "__all__")
    assert (sheet.removed_on, Component.objects.count()) == (None, 1)


def test_another_places_fault_cannot_be_closed(client, farm, opening, today):
    sheet = make_component(opening, kind="roof_film", spot="leaf")
    fault(sheet, today, part="roof_film", mode="torn", spot="leaf")
    theirs = fault(make_opening(), today, part="roof_film", mode="torn")

    answer = replaced(client, farm, sheet, today, closes=[theirs.pk])

    assert "valid choice" in errors_of(answer, "closes")


# Pictures -------------------------------------------------------------------------


def test_pictures_stand_in_pairs_and_can_be_removed(client, farm, opening, today):
    repair = fault(opening, today)
    post(client, farm, "repair-photo", repair.pk, moment="before", photo=picture_file())
    post(client, farm, "job-photo", repair.job_id, moment="after", photo=picture_file())
    post(client, farm, "repair-photo", repair.pk, moment="", photo=[picture_file(), picture_file()])
    url = reverse("repair", args=[farm.slug, repair.pk])

    pictures = client.get(url).context["pictures"]
    same = client.get(reverse("job", args=[farm.slug, repair.job_id])).context["pictures"]
    post(client, farm, "photo-remove", pictures.pairs[0][0].pk)

    assert [(before.moment, after.moment) for before, after in pictures.pairs] == [("before", "after")]
    assert (len(pictures.others), same) == (2, pictures)
    assert pictures.pairs[0][1].job_id == repair.job_id
    assert client.get(url).context["pictures"].pairs[0][0] is None


def test_a_picture_that_is_none_does_not_cost_the_others(client, farm, opening, today):
    repair = fault(opening, today)
    broken = SimpleUploadedFile("notes.jpg", b"no picture at all")

    answer = post(client, farm, "repair-photo", repair.pk, moment="before", photo=[broken, picture_file()])

    assert Photo.objects.get().repair == repair
    assert "notes.jpg: This file is no picture" in said(answer)
    assert "The picture is kept." in said(answer)


def test_the_crew_removes_only_pictures_of_its_own(client, farm, opening, today):
    repair = fault(opening, today)
    post(client, farm, "repair-photo", repair.pk, moment="before", photo=picture_file())
    client.force_login(make_member(farm, "crew").user)

    answer = post(client, farm, "photo-remove", Photo.objects.get().pk)

    assert (answer.status_code, Photo.objects.count()) == (403, 1)


def test_a_picture_of_a_storm_is_not_removed(client, farm):
    storm = make_storm(farm)
    photo = keep_photo(farm=farm, upload=picture_file(), by=None, now=timezone.now(), storm=storm)

    answer = post(client, farm, "photo-remove", photo.pk)

    assert "belongs to a storm" in said(answer)
    assert Photo.objects.exists()


def test_a_fault_has_only_so_many_pictures(farm, opening, today, monkeypatch):
    monkeypatch.setattr("maintenance.hands.photos.MOST_PICTURES", 1)
    repair = fault(opening, today)
    given: dict[str, Any] = {"farm": farm, "by": None, "now": timezone.now(), "repair": repair}
    keep_photo(upload=picture_file(), **given)

    with pytest.raises(PhotoError, match="the most that are kept"):
        keep_photo(upload=picture_file(), **given)


def test_a_picture_that_comes_twice_under_its_key_is_kept_once(farm, opening, today):
    repair, key = fault(opening, today), uuid.uuid4()
    given: dict[str, Any] = {"by": None, "now": timezone.now(), "key": key, "moment": "after"}

    first = keep_photo(farm=farm, upload=picture_file(), repair=repair, **given)
    second = keep_photo(farm=farm, upload=picture_file(), repair=repair, **given)

    assert (first, Photo.objects.count(), first.moment) == (second, 1, "after")
    with pytest.raises(PhotoError, match="sent before"):
        keep_photo(farm=make_farm(), upload=picture_file(), **given)


@pytest.mark.parametrize(
    ("asked", "status", "body", "told"),
    [  # RFC 9110, 14.1.2 and 14.2: a range, an open one, the last bytes; one that cannot be read is ignored
        (None, 200, b"0123456789", None), ("bytes=0-3", 206, b"0123", "bytes 0-3/10"),
        ("bytes=7-", 206, b"789", "bytes 7-9/10"), ("bytes=-2", 206, b"89", "bytes 8-9/10"),
        ("bytes=4-99", 206, b"456789", "bytes 4-9/10"), ("bytes=a-b", 200, b"0123456789", None),
        ("lines=0-3", 200, b"0123456789", None),
    ],
)  # fmt: skip
def test_a_recording_is_played_in_parts(client, farm, opening, today, asked, status, body, told):
    repair = fault(opening, today)
    note = VoiceNote.objects.create(
        farm=farm, key=uuid.uuid4(), repair=repair, media_type="audio/webm", sha256="0" * 64, made_at=timezone.now(),
        file=ContentFile(b"0123456789", name="a.webm"),
    )  # fmt: skip
    url = reverse("voice", args=[farm.slug, note.pk])

    answer = client.get(url, headers={"range": asked} if asked else {})

    assert (answer.status_code, answer.content, answer.get("Content-Range")) == (status, body, told)
    assert f'src="{url}"' in client.get(reverse("repair", args=[farm.slug, repair.pk])).content.decode()


# Gusts ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "kept"),
    [  # 1 mph is 0.44704 m/s, 1 knot 1852/3600 m/s: both exact
        ("52", "23.25"), ("52 mph", "23.25"), ("23.5 m/s", "23.50"), ("84 km/h", "23.33"), ("45 knots", "23.15"),
        ("45kn", "23.15"), ("23,5 m/s", "23.50"),
    ],
)  # fmt: skip
def test_a_gust_is_written_as_people_say_it(client, farm, today, written, kept):
    client.force_login(make_member(farm, "crew").user)

    post(client, farm, "gust-new", on=today.isoformat(), gust_m_s=written, source="seen")

    assert WindDay.objects.get().gust_m_s == Decimal(kept)


def test_a_bare_number_is_in_the_readers_unit(client, today):
    metric = make_farm(units="metric", time_zone="UTC")
    client.force_login(make_member(metric).user)

    post(client, metric, "gust-new", on=today.isoformat(), gust_m_s="23", source="seen")

    assert WindDay.objects.get().gust_m_s == Decimal("23.00")


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"gust_m_s": "strong"}, "gust_m_s", "not a speed"),
        ({"gust_m_s": "5" * 5000}, "gust_m_s", "not a speed"),
        ({"gust_m_s": "8 Bft"}, "gust_m_s", "not a speed"),
        ({"gust_m_s": "0"}, "gust_m_s", "above 0"),
        ({"gust_m_s": "300"}, "gust_m_s", "at most 268 mph"),
        ({"on": "2999-01-01"}, "on", "has not come yet"),
        ({"source": "dream"}, "source", "valid choice"),
    ],
)
def test_a_gust_that_cannot_be_is_refused(client, farm, today, data, field, words):
    answer = post(client, farm, "gust-new", **{"on": today.isoformat(), "gust_m_s": "52", "source": "seen", **data})

    assert words in errors_of(answer, field)
    assert not WindDay.objects.exists()


def test_a_gust_opens_the_rounds_that_come_after_it(client, farm, opening, today):
    make_plan(make_routine(farm, trigger="gust", gust_m_s=20, rhythm="event"), opening)

    answer = post(client, farm, "gust-new", on=today.isoformat(), gust_m_s="52", source="seen")

    assert answer["Location"] == reverse("due", args=[farm.slug])
    assert said(answer) == f"The highest gust of {today} is 52 mph. It brought on 1 job."
    assert Job.objects.get().due_on == today
    table = client.get(reverse("gusts", args=[farm.slug])).context["table"]
    assert [row.record.brought for row in table.paginated_rows] == [1]


def test_a_lower_gust_of_the_day_changes_nothing(client, farm, today):
    for gust in ("52", "30"):
        answer = post(client, farm, "gust-new", on=today.isoformat(), gust_m_s=gust, source="seen")

    assert said(answer).endswith("is 52 mph.")
    text = client.get(reverse("gusts", args=[farm.slug]), {"export": "csv"}).content.decode("utf-8-sig")
    assert text.splitlines()[1] == f"{today},23.25,seen or felt,"
