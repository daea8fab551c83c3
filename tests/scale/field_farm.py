"""The other side of the replay: makes the farm ready for it, and reads what it came to, in the program's own database.

Run as ``python -m tests.scale.field_farm prepare|dump`` in the environment of the program; answers in JSON.
"""

import json
import os
import sys
from datetime import timedelta
from typing import Any

PHONES = 20


def prepare() -> dict[str, Any]:
    """Sign the farm's people in on twenty phones; return their sessions and what entries can be about."""
    from django.test import Client
    from django.utils import timezone

    from doors.models import Material, StockMove
    from farm.models import Membership, Opening
    from maintenance.models import Contact, Job, NearMiss, Repair, StormTask
    from maintenance.work.faults import log_fault

    now = timezone.now()
    people = list(Membership.objects.filter(role__in=("crew", "manager")).select_related("user", "farm").order_by("pk"))
    farm = people[0].farm
    for one in people:
        wishes = {"email": f"person{one.pk}@farm.example", "by_email": True}
        Contact.objects.update_or_create(membership=one, defaults=wishes)
    phones = []
    for number in range(PHONES):
        user = people[number % len(people)].user
        client = Client()
        client.force_login(user)
        phones.append({"user": user.pk, "session": client.cookies["gablekeep_session"].value})
    doors = list(Opening.objects.filter(farm=farm).order_by("pk"))
    for door in doors:  # faults that several will say they have mended
        log_fault(farm=farm, place=door, part="clamp", mode="loose", found_on=(now - timedelta(days=2)).date(), by=None,
                  now=now)  # fmt: skip
    jobs = Job.objects.undone().filter(repair=None, plan__routine__answer="done", waits_for=None).order_by("pk")
    return {
        "slug": farm.slug, "phones": phones, "doors": [door.pk for door in doors],
        "repairs": list(Repair.objects.filter(part="clamp", mode="loose", state="open", found_by="", opening__in=doors)
                        .order_by("pk").values_list("pk", flat=True)),
        "jobs": list(jobs.values_list("pk", flat=True)[:40]),
        "tasks": list(StormTask.objects.filter(state="open", repair=None).order_by("pk").values_list("pk", flat=True)),
        "materials": list(Material.objects.filter(farm=farm).order_by("pk").values_list("pk", flat=True)[:5]),
        "managers": [one.user_id for one in people if one.role == "manager"],
        "before": {"repairs": Repair.objects.count(), "near_misses": NearMiss.objects.count(),
                   "moves": StockMove.objects.count()},
    }  # fmt: skip


def dump() -> dict[str, Any]:
    """Return every row that entries made."""
    from doors.models import StockMove
    from maintenance.models import FieldEntry, Job, NearMiss, Reminder, Repair, StormTask

    return {
        "entries": {
            str(one.pk): {"by": one.by_id, "state": one.state, "kind": one.kind, "repair": one.repair_id,
                          "task": one.task_id, "job": one.job_id, "parent": one.parent_id and str(one.parent_id)}
            for one in FieldEntry.objects.all()
        },
        "repairs": {str(one.pk): {"note": one.note, "state": one.state, "minutes": one.minutes, "mode": one.mode,
                                  "is_danger": one.is_danger, "job": one.job.state if one.job else None}
                    for one in Repair.objects.select_related("job")},
        "near_misses": list(NearMiss.objects.values("what", "by")),
        "moves": [[one.material_id, str(one.quantity)] for one in StockMove.objects.order_by("pk")],
        "tasks": {str(one.pk): one.done_by_id for one in StormTask.objects.filter(state="done")},
        "jobs": {str(one.pk): one.events.filter(kind="done").count() for one in Job.objects.filter(state="done")},
        "dangers": list(Reminder.objects.filter(key__startswith="danger-", way="email").values_list("key", flat=True)),
    }  # fmt: skip


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "farm.settings"
    import django

    django.setup()
    json.dump({"prepare": prepare, "dump": dump}[sys.argv[1]](), sys.stdout)
