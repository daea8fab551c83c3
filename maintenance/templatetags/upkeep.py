"""What other pages say of upkeep: the work that cannot wait."""

from __future__ import annotations

from typing import Any, Final

from django import template
from django.template import Context

from doors.views.shared import today
from maintenance.work.worklist import row_of, urgent_jobs

MOST: Final = 5

register = template.Library()


@register.inclusion_tag("maintenance/_urgent_work.html", takes_context=True)
def urgent_work(context: Context) -> dict[str, Any]:
    """Print the jobs that cannot wait, in one query: critical faults, what is urgent, and what is late."""
    farm = context["request"].farm
    day = today(farm)
    jobs = urgent_jobs(farm=farm, on=day, most=MOST + 1)
    rows = [row_of(job, day, farm.units) for job in jobs[:MOST]]
    return {"farm": farm, "rows": rows, "has_more": len(jobs) > MOST}
