"""Why a job is to be done, in words: every trigger, late and in time, in the reader's units and language."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.utils.translation import override

from doors.models import Component, Material
from farm.models import EndWall, Farm, Opening, Tunnel
from maintenance.models import Job, Plan, Repair, Routine
from maintenance.words.conditions import conditions, format_warmth
from maintenance.words.places import place_of
from maintenance.words.reasons import lateness, why
from maintenance.words.said import lines_in_units, said, said_in_units

ON = date(2026, 11, 24)


def job_of(trigger: str, *, due: date = date(2026, 11, 20), until: date = date(2026, 11, 30), **given: Any) -> Job:
    """Make a job by its trigger; what is not its own, its plan's or its part is its routine's."""
    part, cause, since = given.pop("part", None), given.pop("cause", {}), given.pop("since", date(2025, 1, 1))
    plan = Plan(routine=Routine(code="round", trigger=trigger, **given), component=part, counted_from=since)
    return Job(plan=plan, due_on=due, until_on=until, cause=cause)


def part(kind: str, fitted: date, life: str | None = None) -> Component:
    material = Material(rated_life_years=Decimal(life)) if life else None
    return Component(kind=kind, fitted_on=fitted, material=material)


FILM = part("roof_film", date(2020, 9, 12), "4")
SCREWS = part("clamp_screw", date(2026, 10, 20))


@pytest.mark.parametrize(
    ("job", "words"),
    [
        (job_of("age", part=FILM), "Roof film, in service for 6 years 2 months; rated for 4 years."),
        (job_of("age", part=part("roof_film", date(2023, 11, 24), "2.5")),
         "Roof film, in service for 3 years; rated for 2 years 6 months."),
        (job_of("age", part=part("cord", date(2024, 11, 24)), after_days=365),
         "Anti-billow cord, in service for 2 years; looked at after 1 year."),
        (job_of("age", part=part("cord", date(2024, 11, 24))), "Anti-billow cord, in service for 2 years."),
        (job_of("dose", part=FILM, due=date(2027, 3, 1)),
         "Roof film: the sunlight it takes reaches the dose it is rated for about 2027-03-01."),
        (job_of("dose", part=FILM, due=date(2026, 9, 1)),
         "Roof film: the sunlight it has taken reached the dose it is rated for about 2026-09-01."),
        (job_of("fitted", part=SCREWS, after_days=1, window_days=2, answer="screws", due=date(2026, 10, 21),
                until=date(2026, 10, 23)),
         "These screws were fitted 35 days ago; the first re-tightening, due 24 to 72 hours after, was never logged."),
        (job_of("fitted", part=FILM, after_days=1, window_days=2, due=date(2026, 10, 21), until=date(2026, 10, 23)),
         "Fitted 35 days ago; the first look, due 24 to 72 hours after, was never logged."),
        (job_of("fitted", part=SCREWS, after_days=1, window_days=2, due=ON, until=date(2026, 11, 26)),
         "Fitted 1 day ago; what is new settles first: due 24 to 72 hours after."),
        (job_of("fitted", part=SCREWS, after_days=30, window_days=7, due=ON), "Fitted 30 days ago; due after 30 days."),
        (job_of("done", after_days=90), "Never logged yet; it is done every 90 days."),
        (job_of("done", after_days=90, cause={"done_on": "2026-08-16"}),
         "Last done 100 days ago, on 2026-08-16; it is done every 90 days."),
        (job_of("season", season="autumn"), "Part of the autumn round."),
        (job_of("season", season="spring", every_years=2), "Part of the spring round. Comes round every 2 years."),
        (job_of("calendar", rule="FREQ=WEEKLY;BYDAY=MO"), "Comes round every week."),
        (job_of("calendar", rule="FREQ=MONTHLY;INTERVAL=2;BYMONTHDAY=1"), "Comes round every 2 months."),
        (job_of("calendar", rule="FREQ=DAILY"), "Comes round every day."),
        (job_of("gust", cause={"gust_m_s": 23.25, "on": "2026-03-20"}), "A gust of 52 mph on 2026-03-20."),
        (job_of("gust"), "There was a gust on 2026-11-20 that asks for it."),
        (job_of("storms", cause={"count": 5}), "5 storms since 2025-01-01."),
        (job_of("storms", after_count=1), "1 storm since 2025-01-01."),
        (job_of("cycles", cause={"count": 2000}), "Opened and closed more than 2000 times since 2025-01-01."),
        (job_of("condition"), "Something was found on 2026-11-20."),
    ],
)  # fmt: skip
def test_every_job_has_its_reason_in_words(job, words):
    assert why(job, ON, "us") == words


def test_every_trigger_has_words():
    rule = {"rule": "FREQ=WEEKLY", "season": "spring", "after_days": 3}

    assert all(why(job_of(trigger, part=FILM, **rule), ON, "us") for trigger in Routine.Trigger.values)


def test_a_gust_comes_in_the_readers_unit():
    assert why(job_of("gust", cause={"gust_m_s": 23.25, "on": "2026-03-20"}), ON, "metric") == (
        "A gust of 23.3 m/s on 2026-03-20."
    )


@pytest.mark.parametrize(
    ("given", "cause", "words"),
    [
        ({}, {}, "Found on 2026-11-19."),
        ({"found_by": "Teo"}, {"times": 2, "months": 3}, "Found on 2026-11-19 by Teo."),
        ({"is_critical": True}, {}, "Found on 2026-11-19. It cannot wait for the next wind."),
        ({"is_critical": True}, {"times": 3, "months": 14},
         "Found on 2026-11-19. It cannot wait for the next wind. It failed here 3 times in 14 months."),
        ({"is_critical": True, "state": "temporary", "mended_on": date(2026, 11, 21)}, {},
         "Found on 2026-11-19. Holds for now since 2026-11-21."),
    ],
)  # fmt: skip
def test_a_fault_says_when_it_was_found_what_waits_on_it_and_how_often_it_came(given, cause, words):
    job = job_of("condition", cause=cause)
    Repair(job=job, found_on=date(2026, 11, 19), **given)

    assert why(job, ON, "us") == words


@pytest.mark.parametrize(
    ("until", "words"),
    [
        (date(2026, 11, 12), "12 days late"),
        (date(2026, 11, 23), "1 day late"),
        (date(2026, 11, 24), "today at the latest"),
        (date(2026, 11, 25), "by tomorrow"),
        (date(2026, 11, 26), "2 days left"),
    ],
)
def test_lateness_is_told_in_words(until, words):
    assert lateness(job_of("season", season="autumn", until=until), ON) == words


# Where, and in which language -----------------------------------------------------

TUNNEL = Tunnel(code="T08")
WALL = EndWall(tunnel=TUNNEL, end="B", bearing_deg=Decimal(270))
DOOR = Opening(code="T08-W2", end_wall=WALL)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (Plan(tunnel=TUNNEL, opening=DOOR), "T08-W2"),
        (Plan(tunnel=TUNNEL, end_wall=WALL), "T08-W"),
        (Plan(tunnel=TUNNEL), "T08"),
        (Plan(), "the farm"),
        (Plan(tunnel=TUNNEL, opening=DOOR, component=Component(spot="right jamb, clamp 4")),
         "T08-W2, right jamb, clamp 4"),
        (Repair(tunnel=TUNNEL, opening=DOOR, spot="left post"), "T08-W2, left post"),
        (Component(end_wall=WALL, spot="corner"), "T08-W, corner"),
    ],
)  # fmt: skip
def test_a_place_is_its_code_and_the_spot_in_it(row, words):
    assert place_of(row) == words


TEXTS = {"en": "Stop above {gust:13.4112}.", "es": "Pare con más de {gust:13.4112}."}


SPOKEN = {"es": "Pare con más de 30 mph.", "es-mx": "Pare con más de 30 mph.", "en": "Stop above 30 mph.",
          "de": "Stop above 30 mph."}  # fmt: skip


@pytest.mark.parametrize(("language", "words"), SPOKEN.items())
def test_a_routine_speaks_the_readers_language_or_english(language, words):
    with override(language):
        assert said_in_units(TEXTS, "us") == words


def test_a_routine_without_english_says_what_it_has():
    assert (said({"es": "Cerrar"}, "en"), said({}, "en"), lines_in_units({}, "us")) == ("Cerrar", "", [])


def test_the_lines_of_a_checklist_come_in_the_readers_units():
    assert lines_in_units({"en": ["Door down", "Stop above {gust:13.4112}"]}, "metric", "en") == [
        "Door down", "Stop above 13.4 m/s"
    ]  # fmt: skip


@pytest.mark.parametrize(("kelvin", "us", "metric"), [("277.59", "40 °F", "4 °C"), ("273.15", "32 °F", "0 °C")])
def test_a_temperature_is_in_the_readers_scale(kelvin, us, metric):
    # 40 °F is (40 - 32) / 1.8 + 273.15 K = 277.594 K.
    assert (format_warmth(Decimal(kelvin), "us"), format_warmth(Decimal(kelvin), "metric")) == (us, metric)


def test_the_weather_a_routine_asks_for_is_said():
    routine = Routine(
        needs_dry=True, needs_daylight=True, most_gust_m_s=Decimal("2.24"), least_temperature_k=Decimal("277.59")
    )

    assert conditions(routine, "us") == ["dry", "gusts below 5 mph", "in daylight", "warmer than 40 °F"]
    assert conditions(Routine(), Farm.Units.US) == []
