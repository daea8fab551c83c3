"""Load the upkeep of the demo farm: a year of work done by its crew, and what nobody got round to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Final

from django.contrib.auth.models import User
from django.db import transaction

from doors.demo import load as doors_demo
from doors.models import Material, StockMove
from farm.models import Farm, Membership, Opening, Tunnel
from maintenance.blow.assess import assess
from maintenance.demo import rows
from maintenance.demo.forecast import type_in
from maintenance.demo.past import live_through
from maintenance.labels.labelling import make_missing
from maintenance.models import Climate, Contact, DoorUse, Repair, WindDay
from maintenance.plans.counting import count_up
from maintenance.plans.laying import lay_plans
from maintenance.plans.nightly import open_due_jobs
from maintenance.practice.start import start_routines
from maintenance.work.faults import log_fault

DemoError = doors_demo.DemoError
MORNING: Final = time(7)


def load_demo_farm(*, on: date) -> Farm:
    """Load the demo farm with its upkeep as it stands on the morning of a day.

    Raises
    ------
    DemoError
        If it is loaded already.
    """
    with transaction.atomic():
        return _keep_up(doors_demo.load_demo_farm(on=on), on)


def reload_demo_farm(*, on: date) -> Farm:
    """Load the demo farm afresh; every change made to it is lost, its people stay."""
    with transaction.atomic():
        return _keep_up(doors_demo.reload_demo_farm(on=on), on)


def _keep_up(farm: Farm, on: date) -> Farm:
    people = {user.first_name: user for user in User.objects.filter(memberships__farm=farm)}
    start_routines(farm=farm)
    _remember_weather(farm, on)
    _fill_store(farm, on)
    _note_wishes(farm)
    live_through(farm=farm, on=on, crew=[people[name] for name in ("Teo", "Hanna", "Dwayne", "Marisol")])
    _find_faults(farm, on, people)
    lay_plans(farm=farm, on=on)
    count_up(farm=farm, on=on)
    morning = datetime.combine(on, MORNING, farm.zone)
    open_due_jobs(now=morning, farm=farm)
    type_in(farm=farm, on=on, now=morning)
    assess(farm=farm, now=morning)
    make_missing(farm=farm, now=morning)
    return farm


def _remember_weather(farm: Farm, on: date) -> None:
    Climate.objects.create(
        farm=farm, sunshine=list(rows.SUNSHINE), source="From memory, for central New York; enter your own."
    )
    WindDay.objects.bulk_create(
        WindDay(farm=farm, on=on - timedelta(days=days), gust_m_s=round(mph * rows.MPH, 2), source="seen", note=note)
        for days, mph, note in rows.GUSTS
    )
    openings = {opening.code: opening for opening in Opening.objects.of(farm)}
    DoorUse.objects.bulk_create(
        DoorUse(farm=farm, opening=openings[code], on=on - timedelta(days=28 * back), cycles=4 * cycles)
        for code, cycles in rows.CYCLES_A_WEEK.items()
        for back in range(0 if code.startswith("T12") else 12)
    )


def _fill_store(farm: Farm, on: date) -> None:
    book = {material.code: material for material in Material.objects.of(farm)}
    for code, material in book.items():
        material.least_stock = rows.LEAST_STOCK.get(code)
        material.lead_weeks = rows.LEAD_WEEKS.get(code)
        material.rated_dose_kly = rows.RATED_DOSE_KLY.get(code)
    Material.objects.bulk_update(book.values(), ["least_stock", "lead_weeks", "rated_dose_kly"])
    StockMove.objects.bulk_create(
        StockMove(
            farm=farm, material=book[code], quantity=Decimal(pieces), on=on - timedelta(days=days),
            reason=StockMove.Reason.BOUGHT, note="The new sheet for T04 is among them." if code == "FILM-6MIL" else "",
        )
        for code, pieces, days in rows.STORE
    )  # fmt: skip


def _note_wishes(farm: Farm) -> None:
    for membership in Membership.objects.of(farm).select_related("user"):
        membership.language = rows.LANGUAGES.get(membership.user.username, "")
        membership.save(update_fields=["language"])
        Contact.objects.create(membership=membership, digest_at=rows.DIGEST_AT)


def _find_faults(farm: Farm, on: date, people: Mapping[str, User]) -> None:
    places = {row.code: row for row in (*Tunnel.objects.of(farm), *Opening.objects.of(farm).with_place())}
    Repair.objects.bulk_create(_mended(farm, on, places))
    for told in rows.FAULTS:
        if told.state == Repair.State.OPEN:
            found_on = on - timedelta(days=told.days)
            log_fault(
                farm=farm, place=places[told.place], part=told.part, spot=told.spot, mode=told.mode,
                is_critical=told.is_critical, minutes=told.minutes, found_on=found_on, by=people[told.by],
                now=datetime.combine(on, MORNING, farm.zone), note=told.note,
            )  # fmt: skip


def _mended(farm: Farm, on: date, places: Mapping[str, Tunnel | Opening]) -> Iterator[Repair]:
    """Yield the faults that were repaired long ago, before there were jobs for them."""
    for told in rows.FAULTS:
        if told.state == Repair.State.OPEN:
            continue
        place = places[told.place]
        where = {"tunnel": place} if isinstance(place, Tunnel) else {"tunnel": place.end_wall.tunnel, "opening": place}
        found_on = on - timedelta(days=told.days)
        yield Repair(
            farm=farm, part=told.part, spot=told.spot, mode=told.mode, cause=told.cause, state=told.state,
            found_on=found_on, found_by=told.by, mended_on=found_on, mended_by=told.by, minutes=told.minutes,
            cost=told.cost, note=told.note, **where,
        )  # fmt: skip
