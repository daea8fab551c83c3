"""The demo farm with at least one row of everything that goes along, and of every secret that does not."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.core.files.base import ContentFile

from doors.models import Component, ImportDraft, LayUp, Material, SizingRules, StockMove
from farm.models import CrewKey, Farm, KnownPhone, Membership, Opening, Tunnel
from maintenance.aftermath.findings import find_sound, open_findings
from maintenance.aftermath.learning import observe
from maintenance.demo.load import load_demo_farm
from maintenance.hands.photos import keep_photo
from maintenance.hands.ticking import tick
from maintenance.labels.labelling import make_missing
from maintenance.models import (
    CalendarFeed,
    ClosingLine,
    FieldEntry,
    FilmDecision,
    Forecast,
    Job,
    NearMiss,
    PlanRound,
    PushSubscription,
    Reminder,
    Reopening,
    Repair,
    Routine,
    ScrewCheck,
    Storm,
    StormFinding,
    StormLook,
    StormPerson,
    StormRules,
    SunDay,
    VoiceNote,
    WeatherAlert,
    WeatherCell,
    WeatherSource,
    WindReading,
    WorkHours,
)
from maintenance.work import working
from maintenance.work.working import assign
from tests.hands_rows import picture_file

DAY = date(2026, 11, 17)
NOW = datetime(2026, 11, 17, 14, tzinfo=UTC)
SECRET = "9f2c-never-to-be-written-down"
WEBM = b"\x1a\x45\xdf\xa3\x01\x00\x00\x00\x00\x00\x00\x1f\x42\x82\x84webm" + bytes(range(256)) * 4
# What tables get wrong: formulas, our own guard, quotes, ends of line, scripts from right to left, no-break spaces.
AWKWARD = (
    '=HYPERLINK("http://x")', "'quoted", "-5", "+1", "@x", "\tx", "''", 'say "so", he\r\nsaid\nand\rwent', "مرحبا ‏12",
    "🌬 naïve   ", ",", '"', "null", "  blanks  ", "-0.0", "1e+22",
)  # fmt: skip


def make_whole_farm() -> Farm:
    """Load the demo farm and add what its story does not have."""
    farm = load_demo_farm(on=DAY)
    _work(farm)
    _weather(farm)
    _storm(farm)
    _field(farm)
    _secrets(farm)
    return farm


def _people(farm: Farm) -> list[Membership]:
    return list(Membership.objects.of(farm).select_related("user").order_by("pk"))


def _work(farm: Farm) -> None:
    ines, teo, *_rest = (member.user for member in _people(farm))
    openings = list(Opening.objects.of(farm).order_by("code"))
    for opening, text in zip(openings, AWKWARD, strict=False):
        Opening.objects.filter(pk=opening.pk).update(notes=text)
    tube = Material.objects.of(farm).filter(kind="tube").order_by("pk").first()
    assert tube is not None
    StockMove.objects.create(farm=farm, material=tube, quantity=Decimal("12.50"), on=DAY, reason="bought", by=ines)
    jobs = list(Job.objects.for_list().select_related("farm").filter(farm=farm, state="open").order_by("pk"))
    plain = next(job for job in jobs if job.plan.routine.answer == "done" and not hasattr(job, "repair"))
    assign(job=plain, to=teo, by=ines, now=NOW)
    working.finish(job=plain, by=teo, now=NOW, on=DAY, minutes=7, note="=1+1", parts=[(tube, Decimal("0.5"))])
    screws = next((job for job in jobs if job.plan.routine.answer == "screws" and job.plan.opening), None)
    if screws is not None:
        working.finish(job=screws, by=teo, now=NOW, on=DAY, outcomes=[("clamp 1", "tight"), ("clamp 2", "spun")])
    ScrewCheck.objects.create(farm=farm, opening=openings[0], spot="clamp 9", outcome="turned", on=DAY, by=teo)
    part = Component.objects.filter(farm=farm, removed_on=None).order_by("pk").last()
    assert part is not None
    LayUp.objects.create(component=part, off_on=DAY)
    first, second = Routine.objects.filter(farm=farm).order_by("pk")[:2]
    second.waits_for.add(first)
    jobs[1].waits_for.add(jobs[0])
    SizingRules.objects.update_or_create(farm=farm, defaults={"changes": {"b": 1.5, "a": [1e22, -0.0, 1e-7]}})
    NearMiss.objects.create(farm=farm, tunnel=openings[0].end_wall.tunnel, on=DAY, what="A sheet lifted somebody.")
    make_missing(farm=farm, now=NOW)
    PlanRound.objects.update_or_create(farm=farm, defaults={"laid_at": NOW})


def _weather(farm: Farm) -> None:
    cell = WeatherCell.objects.create(kind="nws", key="BGM/1,2", latitude_deg="42.5", longitude_deg="-76.7")
    WeatherSource.objects.update_or_create(
        farm=farm, defaults={"kind": "nws", "cell": cell, "anemometer_hash": SECRET, "cap_url": "https://example.org/"}
    )
    WeatherAlert.objects.create(farm=farm, ident="nws:1", event="High wind warning", fetched_at=NOW)
    WindReading.objects.create(farm=farm, at=NOW, gust_m_s="12.34")
    WorkHours.objects.create(farm=farm)
    SunDay.objects.create(farm=farm, on=DAY, radiation_mj_m2="7.25")
    StormRules.objects.create(farm=farm, changes={"levels": [1, 2]})
    for source, number in (("of the cell", 1), ("of another farm", 2)):
        Forecast.objects.create(
            cell=cell, source=source, issued_at=NOW + timedelta(hours=number), fetched_at=NOW, spells=[],
            original=bytes(range(256)),
        )  # fmt: skip


def _storm(farm: Farm) -> None:
    storm, people = Storm.objects.get(farm=farm), _people(farm)
    tunnel = Tunnel.objects.of(farm).order_by("code")[0]
    StormLook.objects.create(
        storm=storm, at=NOW, forecast=Forecast.objects.get(source="of the cell"), level=3, peak_at=NOW,
        peak_gust_m_s="27", open_minutes=100, people=4, what="level",
    )  # fmt: skip
    StormPerson.objects.get_or_create(storm=storm, membership=people[1], defaults={"skills": ["film"]})
    task = storm.tasks.filter(state="open").order_by("pk").first()
    assert task is not None
    tick(task=task, by=people[1].user, now=NOW, minutes=9)
    keep_photo(farm=farm, upload=picture_file(), by=people[1].user, now=NOW, storm=storm, task=task, caption="@door")
    FilmDecision.objects.create(storm=storm, tunnel=tunnel, choice="keep", at=NOW, by=people[0].user)
    Reopening.objects.create(storm=storm, tunnel=tunnel, due_at=NOW, owner=people[1].user)
    Storm.objects.filter(pk=storm.pk).update(state="over")
    storm.refresh_from_db()
    open_findings(storm=storm, now=storm.ends_at + timedelta(hours=1))
    finding = storm.findings.order_by("pk").first() or StormFinding.objects.create(storm=storm, tunnel=tunnel)
    find_sound(finding=finding, by=people[1].user, now=storm.ends_at + timedelta(hours=2), gust_seen_m_s=Decimal(20))
    observe(finding=finding, now=NOW)


def _field(farm: Farm) -> None:
    people, repair = _people(farm), Repair.objects.filter(farm=farm, state="open").order_by("pk")[0]
    opening = Opening.objects.of(farm).order_by("code")[3]
    material = Material.objects.of(farm).order_by("pk")[2]
    phone = KnownPhone.objects.create(farm=farm, user=people[1].user, token_hash=SECRET, made_at=NOW, seen_at=NOW)
    told: dict[str, Any] = {
        "farm": farm, "by": people[1].user, "phone": phone, "made_at": NOW, "received_at": NOW, "skew_s": 1.25,
    }  # fmt: skip
    payload = {"door": opening.pk, "repair": str(repair.pk), "parts": [{"material": material.pk, "quantity": "2"}]}
    first = FieldEntry.objects.create(kind="fixed", repair=repair, opening=opening, payload=payload, **told)
    FieldEntry.objects.create(kind="details", parent=first, payload={"parent": str(first.pk), "job": 10**9}, **told)
    keep_photo(
        farm=farm, upload=picture_file(), by=people[1].user, now=NOW, repair=repair, entry=first, key=uuid.uuid4()
    )
    for number, data in ((1, WEBM), (2, WEBM)):  # the same words twice: one file inside, two rows
        VoiceNote.objects.create(
            farm=farm, key=uuid.uuid4(), entry=first, media_type="audio/webm", sha256=_sha256(data), made_at=NOW,
            file=ContentFile(data, name=f"{number}.webm"),
        )  # fmt: skip


def _secrets(farm: Farm) -> None:
    """Make what must never be in a file."""
    member = _people(farm)[1]
    member.user.set_password(SECRET)
    member.user.save()
    CrewKey.objects.create(farm=farm, membership=member, short_name="teo", code_hash=SECRET, made_at=NOW)
    subscription = PushSubscription.objects.create(
        membership=member, endpoint=f"https://example.org/{SECRET}", p256dh=SECRET, auth=SECRET, created_at=NOW
    )
    CalendarFeed.objects.create(membership=member, token_hash=SECRET, created_at=NOW)
    Reminder.objects.create(
        farm=farm, membership=member, kind="now", way="push", key="k", subscription=subscription, subject="s",
        body=SECRET, path="/", made_at=NOW, not_before=NOW,
    )  # fmt: skip
    ImportDraft.objects.create(farm=farm, user=member.user, kind="tunnels", name="a.csv", grid=[[SECRET]])
    ClosingLine.objects.create(farm=farm, tunnel=Tunnel.objects.of(farm).order_by("pk")[0], change_m_s=1, factor=1)


def _sha256(data: bytes) -> str:
    from hashlib import sha256

    return sha256(data).hexdigest()
