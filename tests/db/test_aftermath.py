"""After a storm: the order to look in, what damage becomes, what is learnt, whether the warning was right."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from farm.models import Farm
from maintenance.aftermath import alarms, findings, learning
from maintenance.aftermath.gusts import gust_of
from maintenance.blow.rules import rules_of
from maintenance.models import Job, Storm, StormFinding, TunnelFactor, WindDay, WindReading
from maintenance.work.closing import WorkError
from maintenance.work.faults import log_fault
from tests.factories import make_farm, make_member, make_opening, make_tunnel, make_wall
from tests.storm_rows import AFTER, BEGAN, ENDED, MPH, PEAK, make_look, make_storm, make_task, picture
from tests.upkeep_rows import make_plan, make_routine

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm() -> Farm:
    return make_farm(time_zone="America/New_York")


def tunnel_with_door(farm: Farm, code: str, **values: Any) -> Any:
    tunnel = make_tunnel(farm, code=code, **values)
    make_opening(make_wall(tunnel), code=f"{code}-W")
    return tunnel


def order(storm: Storm) -> list[str]:
    rows = storm.findings.order_by("rank").select_related("tunnel", "opening")
    return [row.opening.code if row.opening else row.tunnel.code for row in rows]


def the(storm: Storm, code: str) -> StormFinding:
    rows = StormFinding.objects.select_related("storm__farm", "tunnel", "opening__end_wall__tunnel")
    return rows.get(
        storm=storm, **({"opening__code": code} if "-" in code else {"opening": None, "tunnel__code": code})
    )


# The order ------------------------------------------------------------------------


def test_places_come_by_gust_over_what_they_stand_and_the_unknown_as_at_its_limit(farm):
    strong, unknown, weak = (tunnel_with_door(farm, code) for code in ("T01", "T02", "T03"))
    facts = {"tunnels": [picture(strong, limit=60), picture(unknown), picture(weak, limit=20)]}
    storm = make_storm(farm, facts=facts, actual_gust_m_s=Decimal(30))  # 0.5, not known, 1.5

    findings.open_findings(storm=storm, now=AFTER)

    assert order(storm) == ["T03", "T03-W", "T02", "T02-W", "T01", "T01-W"]
    assert the(storm, "T03").facts["ratio"] == pytest.approx(1.5)
    assert the(storm, "T02").facts["reasons"] == ["limit_unknown"]


def test_a_tunnels_factor_counts(farm):
    lee, ridge = tunnel_with_door(farm, "T01"), tunnel_with_door(farm, "T02")
    facts = {"tunnels": [picture(lee, limit=30, factor=0.85), picture(ridge, limit=30, factor=1.2)]}
    storm = make_storm(farm, facts=facts)

    findings.open_findings(storm=storm, now=AFTER)

    assert order(storm)[0] == "T02"
    assert the(storm, "T02").facts["gust"] == pytest.approx(26 * 1.2)


def test_what_nobody_shut_and_what_was_broken_comes_first(farm):
    shut, left, broken = (tunnel_with_door(farm, code) for code in ("T01", "T02", "T03"))
    storm = make_storm(farm, facts={"tunnels": [picture(one, limit=20) for one in (shut, left, broken)]})
    doors = {code: the_door(farm, code) for code in ("T01-W", "T02-W")}
    make_task(storm, doors["T01-W"], state="done", done_at=BEGAN)
    make_task(storm, doors["T02-W"], state="cannot", reason="bar bent", done_at=BEGAN)
    log_fault(farm=farm, place=broken, part="brace", mode="missing", is_critical=True, found_on=BEGAN.date(),
              by=None, now=AFTER)  # fmt: skip

    findings.open_findings(storm=storm, now=AFTER)

    assert set(order(storm)[:2]) == {"T02-W", "T03"}
    assert the(storm, "T02-W").facts["reasons"] == ["was_open", "over_limit"]
    assert the(storm, "T03").facts["reasons"] == ["was_damaged", "over_limit"]


def the_door(farm: Farm, code: str) -> Any:
    from farm.models import Opening

    return Opening.objects.with_place().get(farm=farm, code=code)


def test_person_doors_and_retired_ones_are_not_on_the_list_and_other_farms_neither(farm):
    tunnel = tunnel_with_door(farm, "T01")
    make_opening(make_wall(tunnel), code="T01-P", kind="person")
    make_opening(make_wall(tunnel), code="T01-X", retired_on="2025-01-01")
    make_tunnel(farm, code="T02", status="planned")
    tunnel_with_door(make_farm(), "T09")
    storm = make_storm(farm)

    findings.open_findings(storm=storm, now=AFTER)

    assert sorted(order(storm)) == ["T01", "T01-W"]


def test_the_list_is_written_once_and_what_was_looked_at_stays(farm):
    tunnel_with_door(farm, "T01")
    storm = make_storm(farm)
    findings.open_findings(storm=storm, now=AFTER)
    findings.find_sound(finding=the(storm, "T01"), by=None, now=AFTER)

    findings.open_findings(storm=storm, now=AFTER)
    findings.open_all_findings(now=AFTER)

    assert storm.findings.count() == 2
    assert the(storm, "T01").outcome == "sound"


@pytest.mark.parametrize("state", ["coming", "blowing", "closed", "gone"])
def test_no_list_is_written_but_for_a_storm_that_is_over(farm, state):
    tunnel_with_door(farm, "T01")
    storm = make_storm(farm, state=state)

    findings.open_all_findings(now=AFTER)

    assert findings.open_findings(storm=storm, now=AFTER) == 0
    assert storm.findings.count() == 0


# The gust -------------------------------------------------------------------------


def test_the_gust_that_came_is_the_highest_known_and_the_forecast_only_where_none_is(farm):
    storm = make_storm(farm)
    nothing = gust_of(storm)
    WindDay.objects.create(farm=farm, on=PEAK.date(), gust_m_s=Decimal(40), source="forecast")
    forecast = gust_of(storm)
    WindReading.objects.create(farm=farm, at=ENDED + timedelta(minutes=1), gust_m_s=Decimal(39))
    WindReading.objects.create(farm=farm, at=PEAK, gust_m_s=Decimal(28))
    WindReading.objects.create(farm=make_farm(), at=PEAK, gust_m_s=Decimal(38))
    read = gust_of(storm)
    WindDay.objects.filter(farm=farm).update(gust_m_s=Decimal(31), source="seen")

    assert (nothing.speed, nothing.is_forecast) == (26, True)
    assert (forecast.speed, forecast.is_forecast) == (26, True)
    assert (read.speed, read.is_forecast) == (28, False)
    assert gust_of(storm).speed == 31


def test_the_gust_that_came_opens_the_rounds_after_it_and_orders_the_list_anew(farm):
    tunnel = tunnel_with_door(farm, "T01")
    routine = make_routine(farm, target="tunnel", trigger="gust", gust_m_s=45 * MPH, rhythm="event")
    make_plan(routine, tunnel)
    storm = make_storm(farm, facts={"tunnels": [picture(tunnel, limit=20)]})
    findings.open_findings(storm=storm, now=AFTER)

    findings.record_actual(storm=storm, gust_m_s=Decimal("21.5"), source="seen", now=AFTER)  # 48 mph

    assert Job.objects.get(farm=farm).due_on == PEAK.date()
    assert the(storm, "T01").facts["is_forecast"] is False
    assert the(storm, "T01").facts["ratio"] == pytest.approx(1.075)


# What was found -------------------------------------------------------------------


def test_damage_becomes_a_fault_of_the_wind_with_a_job_and_a_cost(farm):
    tunnel_with_door(farm, "T01")
    storm, user = make_storm(farm), make_member(farm).user
    findings.open_findings(storm=storm, now=AFTER)

    repair = findings.find_damaged(
        finding=the(storm, "T01-W"), by=user, now=AFTER, part="turning_bar", mode="bent", is_critical=True, minutes=90,
        cost=Decimal("48.50"),
    )  # fmt: skip

    assert (repair.cause, repair.cost, repair.is_critical, repair.opening.code) == (
        "wind",
        Decimal("48.50"),
        True,
        "T01-W",
    )
    assert repair.job.state == "open"
    assert (the(storm, "T01-W").outcome, the(storm, "T01-W").repair) == ("damaged", repair)


def test_who_comes_second_changes_nothing(farm):
    tunnel_with_door(farm, "T01")
    storm = make_storm(farm)
    findings.open_findings(storm=storm, now=AFTER)
    mine, theirs = the(storm, "T01"), the(storm, "T01")
    findings.find_sound(finding=mine, by=None, now=AFTER)

    with pytest.raises(WorkError, match="already"):
        findings.find_damaged(finding=theirs, by=None, now=AFTER, part="brace", mode="bent")

    assert the(storm, "T01").outcome == "sound"
    assert farm.repairs.count() == 0


def test_a_storm_closes_when_all_was_looked_at_and_then_stays(farm):
    tunnel_with_door(farm, "T01")
    storm = make_storm(farm)
    findings.open_findings(storm=storm, now=AFTER)
    with pytest.raises(WorkError, match="2 places"):
        findings.close_storm(storm=storm, now=AFTER, note="Begin earlier.", cost=None)
    for code in ("T01", "T01-W"):
        findings.find_sound(finding=the(storm, code), by=None, now=AFTER)

    findings.close_storm(storm=storm, now=AFTER, note="Begin earlier.", cost=Decimal(120))

    storm.refresh_from_db()
    assert (storm.state, storm.note, storm.cost, storm.closed_at) == ("closed", "Begin earlier.", 120, AFTER)
    with pytest.raises(WorkError, match="closed"):
        findings.look_again(finding=the(storm, "T01"))
    with pytest.raises(WorkError, match="already"):
        findings.close_storm(storm=storm, now=AFTER, note="Again.", cost=None)


# What is learnt -------------------------------------------------------------------


def see(farm: Farm, tunnel: Any, *, seen: str, storm: Storm | None = None) -> StormFinding:
    """Let somebody see a gust at a tunnel; 26 m/s were forecast."""
    finding = StormFinding.objects.create(storm=storm or make_storm(farm), tunnel=tunnel, gust_seen_m_s=Decimal(seen))
    learning.observe(finding=finding, now=AFTER)
    return finding


def test_a_tunnel_learns_slowly_from_what_was_seen(farm):
    tunnel = tunnel_with_door(farm, "T01")

    see(farm, tunnel, seen="32.5")  # 1.25 times the forecast

    # the median 1.25 to the power of 1/(1 + 5), by hand: exp(ln(1.25) / 6) = 1.0379
    assert TunnelFactor.objects.get(tunnel=tunnel).factor == Decimal("1.04")
    (found,) = learning.factors_of(farm)
    assert (found.learnt.count, found.learnt.median) == (1, pytest.approx(1.25))


def test_shelter_that_the_rules_know_is_not_learnt_twice(farm):
    tunnel = tunnel_with_door(farm, "T01", shelter="sheltered")  # 0.85 of the gust by the rules

    see(farm, tunnel, seen="22.1")  # 26 x 0.85

    assert TunnelFactor.objects.get(tunnel=tunnel).factor == 1


def test_a_factor_stays_within_its_bounds_and_begins_anew(farm):
    tunnel = tunnel_with_door(farm, "T01")
    for _ in range(40):
        see(farm, tunnel, seen="60")
    held = TunnelFactor.objects.get(tunnel=tunnel).factor

    learning.reset_factor(tunnel=tunnel, now=AFTER)

    assert held == Decimal("1.50")
    assert TunnelFactor.objects.get(tunnel=tunnel).factor == 1
    assert learning.factors_of(farm) == []


def test_what_is_seen_again_at_the_same_place_counts_once(farm):
    tunnel = tunnel_with_door(farm, "T01")
    finding = see(farm, tunnel, seen="40")

    learning.observe(finding=finding, now=AFTER)

    assert len(TunnelFactor.objects.get(tunnel=tunnel).observations) == 1


def logged(farm: Farm, minutes: list[int]) -> None:
    storm, tunnel = make_storm(farm), tunnel_with_door(farm, "T01")
    for number, each in enumerate(minutes):
        make_task(storm, tunnel, key=f"walk-{number}", kind="walk", state="done", done_at=BEGAN, minutes_spent=each)


def test_minutes_are_proposed_from_five_on(farm):
    logged(farm, [10, 10, 10, 12])

    (found,) = learning.minutes_of(farm)

    assert (found.count, found.middle, found.proposed) == (4, 10, None)
    assert learning.accept_minutes(farm=farm, kind="walk") is None


def test_the_middle_of_what_was_logged_is_drawn_to_common_practice_and_taken_by_a_button(farm):
    logged(farm, [16, 9, 16, 60, 16])  # in the middle 16; usual 6; five of five and five weigh half: 11

    taken = learning.accept_minutes(farm=farm, kind="walk")

    assert taken is not None
    assert taken.proposed == 11
    assert rules_of(farm).times.walk_round == 11 * 60
    assert learning.minutes_of(farm)[0].proposed is None


# Were the warnings right ----------------------------------------------------------


@pytest.mark.parametrize(
    ("warned", "came_mph", "verdict"),
    [
        (4, 60, "hit"),  # the level of storm begins at 58 mph, the US high wind warning
        (4, 57, "false"),
        (3, 60, "missed"),
        (2, 36, "hit"),  # close up begins at 35 mph
        (4, None, "unknown"),
    ],
)
def test_a_warning_is_right_when_its_level_came(farm, warned, came_mph, verdict):
    came = None if came_mph is None else (came_mph * MPH).quantize(Decimal("0.01"))
    make_storm(farm, level=warned, actual_gust_m_s=came)

    (record,) = alarms.records_of(farm)

    assert record.verdict == verdict


def test_a_warning_withdrawn_counts_by_the_highest_level_it_had(farm):
    storm = make_storm(farm, level=2, state="gone", actual_gust_m_s=Decimal(10))
    make_look(storm, level=4)

    (record,) = alarms.records_of(farm)

    assert (record.warned, record.verdict) == (4, "false")


def test_warnings_are_counted(farm, django_assert_num_queries):
    for gust in (30, 30, 12, None):
        make_storm(farm, actual_gust_m_s=gust)
    make_storm(make_farm(), actual_gust_m_s=30)

    with django_assert_num_queries(3):
        found = alarms.tally(alarms.records_of(farm))

    assert (found.hits, found.false, found.missed, found.unknown) == (2, 1, 0, 1)
