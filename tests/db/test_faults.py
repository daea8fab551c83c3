"""Faults: logged with a job at once, mended for now or for good, and counted where they come back."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User

from farm.models import Farm
from maintenance.models import Plan, Repair, Routine, ScrewCheck
from maintenance.words.places import place_of
from maintenance.work import faults, working
from maintenance.work.closing import WorkError
from tests.factories import make_component, make_farm, make_material, make_member, make_opening, make_tunnel, make_wall
from tests.upkeep_rows import DAY, NOW, loaded, make_job, make_plan, make_routine

pytestmark = pytest.mark.django_db

MENDED = ("state", "mended_on", "mended_by", "minutes", "cost", "cause")


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def teo(farm: Farm) -> User:
    return make_member(farm, "crew", user=User.objects.create_user("teo", first_name="Teo", last_name="Lucero")).user


@pytest.fixture
def opening(farm: Farm) -> Any:
    return make_opening(make_wall(make_tunnel(farm, code="T08")), code="T08-W")


def log(farm: Farm, place: Any, teo: User, **given: Any) -> Repair:
    """Log a guide post that leans, found on the 24th."""
    post = {"part": "guide_post", "mode": "leaning", "found_on": DAY, "by": teo, "now": NOW}
    return faults.log_fault(farm=farm, place=place, **{**post, **given})


def mended(repair: Repair) -> dict[str, Any]:
    """Return how a fault stands now, as stored."""
    return Repair.objects.values(*MENDED).get(pk=repair.pk)


def test_a_fault_is_known_by_its_place_and_has_a_job_at_once(farm, opening, teo):
    repair = log(farm, opening, teo, spot=" left   post", is_critical=True, minutes=50)

    plan = Plan.objects.get()
    assert (plan.key, plan.what, plan.tunnel, plan.opening) == (
        f"repair-{repair.pk}", "guide post, left post: leaning", opening.end_wall.tunnel, opening
    )  # fmt: skip
    assert (plan.routine.code, plan.routine.trigger) == ("repair", "condition")
    job = repair.job
    assert (job.plan, job.state, job.due_on, job.until_on) == (plan, "open", DAY, date(2026, 11, 25))
    assert (repair.spot, repair.state, repair.found_by, repair.logged_by) == ("left post", "open", "Teo Lucero", teo)


def test_every_fault_of_a_farm_belongs_to_one_routine(farm, opening, teo):
    log(farm, opening, teo)
    log(farm, None, teo, part="other", mode="other")

    assert Routine.objects.filter(farm=farm).count() == 1
    assert Plan.objects.count() == 2


def test_a_fault_can_sit_at_every_kind_of_place(farm, opening, teo):
    wall, tunnel = opening.end_wall, opening.end_wall.tunnel
    clamp = make_component(wall, spot="corner")

    found = [log(farm, place, teo) for place in (tunnel, wall, opening, clamp, None)]

    assert [place_of(repair) for repair in found] == ["T08", "T08-W", "T08-W", "T08-W", "the farm"]
    assert [repair.tunnel for repair in found] == [tunnel, tunnel, tunnel, tunnel, None]
    assert found[3].component == clamp


def test_a_fault_is_not_found_tomorrow(farm, opening, teo):
    with pytest.raises(WorkError, match="2026-11-25 has not come yet"):
        log(farm, opening, teo, found_on=date(2026, 11, 25))

    assert not Repair.objects.exists()


def test_a_repair_for_good_ends_the_job_and_its_plan(farm, opening, teo):
    repair = log(farm, opening, teo)
    bolt = make_material(farm, kind="fastener", price=Decimal("1.25"), price_per="each")

    faults.mend(
        repair=repair, by=teo, now=NOW, on=DAY, minutes=40, cause="wind", note="new bolts", parts=[(bolt, Decimal(4))]
    )

    assert mended(repair) == {
        "state": "done", "mended_on": DAY, "mended_by": "Teo Lucero", "minutes": 40, "cost": Decimal("5.00"),
        "cause": "wind",
    }  # fmt: skip
    repair.job.refresh_from_db()
    assert (repair.job.state, repair.job.ended_on, repair.job.minutes_spent) == ("done", DAY, 40)
    assert Plan.objects.get().ended_on == DAY


def test_a_repair_that_holds_for_now_keeps_its_job_and_gets_time(farm, opening, teo):
    repair = log(farm, opening, teo, is_critical=True)

    faults.mend(repair=repair, by=teo, now=NOW, on=DAY, for_now=True, note="strapped")

    assert mended(repair) == {
        "state": "temporary", "mended_on": DAY, "mended_by": "Teo Lucero", "minutes": None, "cost": None, "cause": ""
    }  # fmt: skip
    repair.job.refresh_from_db()
    assert (repair.job.state, repair.job.until_on) == ("open", date(2026, 12, 8))

    faults.reopen(repair=repair, by=teo, now=NOW)

    assert mended(repair)["state"] == "open"
    assert mended(repair)["mended_on"] is None


def test_a_repair_whose_job_is_finished_is_repaired_and_an_undo_lets_it_stand_again(farm, opening, teo):
    repair = log(farm, opening, teo)
    before = mended(repair)

    working.finish(job=loaded(repair.job), by=teo, now=NOW, on=DAY, minutes=30)
    assert mended(repair)["state"] == "done"
    working.take_back(job=loaded(repair.job), by=teo, now=NOW)

    assert mended(repair) == before
    repair.job.refresh_from_db()
    assert (repair.job.state, Plan.objects.get().ended_on) == ("open", None)


def test_the_second_who_repairs_hears_who_did(farm, opening, teo):
    repair = log(farm, opening, teo)
    late = Repair.objects.get(pk=repair.pk)
    faults.mend(repair=repair, by=teo, now=NOW, on=DAY)

    with pytest.raises(WorkError, match="Teo Lucero finished this job"):
        faults.mend(repair=late, by=None, now=NOW, on=DAY)
    with pytest.raises(WorkError, match="Teo Lucero repaired this on 2026-11-24 already"):
        faults.mend(repair=late, by=None, now=NOW, on=DAY, for_now=True)


def test_nothing_is_repaired_before_it_was_found_or_after_today(farm, opening, teo):
    repair = log(farm, opening, teo)

    for day, words in ((date(2026, 11, 23), "before it was found"), (date(2026, 11, 25), "has not come yet")):
        for for_now in (False, True):
            with pytest.raises(WorkError, match=words):
                faults.mend(repair=repair, by=teo, now=NOW, on=day, for_now=for_now)

    assert mended(repair)["state"] == "open"


def test_a_fault_cannot_be_skipped_away(farm, opening, teo):
    repair = log(farm, opening, teo)

    with pytest.raises(WorkError, match="does not go away"):
        working.skip(job=loaded(repair.job), by=teo, now=NOW, on=DAY, reason="no time")


def test_a_fault_that_is_repaired_is_not_opened_again(farm, opening, teo):
    repair = log(farm, opening, teo)
    with pytest.raises(WorkError, match="open already"):
        faults.reopen(repair=repair, by=teo, now=NOW)
    faults.mend(repair=repair, by=teo, now=NOW, on=DAY)

    with pytest.raises(WorkError, match="log it as a new one"):
        faults.reopen(repair=repair, by=teo, now=NOW)


# What comes back: three failures of a part at a spot within 24 months ---------------


def clamp_failures(farm: Farm, opening: Any, teo: User, *days: date, spot: str = "right jamb, clamp 4") -> None:
    for day in days:
        log(farm, opening, teo, part="clamp", spot=spot, mode="spun", found_on=day)


def found(farm: Farm, on: date = DAY) -> list[tuple[str, str, list[tuple[date, str]]]]:
    """Return each repeat: where, the part, and every failure with its day and words."""
    return [
        (place_of(repeat.row) if isinstance(repeat.row, Repair) else repeat.row.opening.code, repeat.part,
         [(failure.on, failure.words) for failure in repeat.failures])
        for repeat in faults.repeats(farm=farm, on=on)
    ]  # fmt: skip


def test_three_failures_at_one_spot_are_a_repeat_with_its_days_and_words(farm, opening, teo):
    log(farm, opening, teo, part="clamp", spot="right jamb, clamp 4", mode="loose", found_on=date(2025, 9, 20))
    clamp_failures(farm, opening, teo, date(2026, 1, 28), spot="Right jamb,  clamp 4 ")
    clamp_failures(farm, opening, teo, date(2026, 8, 21), spot="RIGHT JAMB,CLAMP 4")
    clamp_failures(farm, opening, teo, date(2026, 8, 22), spot="right jamb, clamp 5")

    assert found(farm) == [
        ("T08-W, RIGHT JAMB,CLAMP 4", "clamp", [
            (date(2026, 8, 21), "spins, does not hold"),
            (date(2026, 1, 28), "spins, does not hold"),
            (date(2025, 9, 20), "loose"),
        ])
    ]  # fmt: skip
    assert faults.repeats(farm=farm, on=DAY)[0].months == 12  # 20 September to 21 August: eleven months and a day


@pytest.mark.parametrize(("first", "counts"), [(date(2024, 11, 24), False), (date(2024, 11, 25), True)])
def test_only_the_last_24_months_count(farm, opening, teo, first, counts):
    clamp_failures(farm, opening, teo, first, date(2025, 5, 1), DAY)

    assert bool(found(farm)) == counts


def test_two_failures_of_a_day_are_one_and_a_screw_counts_for_its_clamp(farm, opening, teo):
    clamp_failures(farm, opening, teo, date(2026, 2, 1), date(2026, 2, 1), date(2026, 3, 1))
    check = {"farm": farm, "opening": opening, "spot": "right jamb, clamp 4"}
    ScrewCheck.objects.create(**check, outcome="spun", on=date(2026, 3, 1))
    ScrewCheck.objects.create(**check, outcome="turned", on=date(2026, 4, 1))
    assert found(farm) == []

    ScrewCheck.objects.create(**check, outcome="missing", on=date(2026, 5, 1))

    assert [days for _place, _part, failures in found(farm) for days, _words in failures] == [
        date(2026, 5, 1), date(2026, 3, 1), date(2026, 2, 1)
    ]  # fmt: skip


def test_other_parts_places_and_farms_are_counted_apart(farm, opening, teo):
    clamp_failures(farm, opening, teo, date(2026, 2, 1), date(2026, 3, 1))
    clamp_failures(farm, make_opening(opening.end_wall), teo, date(2026, 4, 1))
    log(farm, opening, teo, part="channel", spot="right jamb, clamp 4", found_on=date(2026, 4, 2))
    other = make_opening()
    clamp_failures(other.farm, other, teo, date(2026, 2, 1), date(2026, 3, 1), date(2026, 4, 1))

    assert found(farm) == []
    assert len(found(other.farm)) == 1


def test_the_third_time_a_screw_spins_it_cannot_wait(farm, opening, teo):
    clamp_failures(farm, opening, teo, date(2025, 10, 1), date(2026, 3, 1))
    for repair in Repair.objects.select_related("job__plan__routine", "farm"):
        faults.mend(repair=repair, by=teo, now=NOW, on=DAY)
    job = loaded(make_job(make_plan(make_routine(farm, answer="screws"), opening)))

    working.finish(job=job, by=teo, now=NOW, on=DAY, outcomes=[("right jamb, clamp 4", "spun"), ("clamp 5", "spun")])

    third, first = Repair.objects.filter(state="open").order_by("pk")
    assert (third.is_critical, third.job.until_on, third.job.cause) == (
        True, date(2026, 11, 25), {"found_on": "2026-11-24", "times": 3, "months": 14}
    )  # fmt: skip
    assert (first.is_critical, first.job.cause["times"]) == (False, 1)


def test_the_number_of_queries_does_not_grow_with_the_faults(farm, opening, teo, django_assert_num_queries):
    clamp_failures(farm, opening, teo, *(date(2026, month, 1) for month in range(1, 10)))

    with django_assert_num_queries(2):
        rows = faults.repeats(farm=farm, on=DAY)
        assert [place_of(repeat.row) for repeat in rows] == ["T08-W, right jamb, clamp 4"]
