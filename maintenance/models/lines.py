"""What the pass over all farms needs: when each opening has to be closed, and what the last pass found.

All of it is derived: from the structures as they stand, and from forecasts. Losing it costs time, not knowledge.
"""

from __future__ import annotations

from typing import Final

from django.db import models
from django.utils.translation import gettext_lazy as _

from farm.models import Farm, Opening, Tunnel

NO_LIMIT: Final = 10_000.0  # m/s; no gust comes to it


class ClosingLine(models.Model):
    """What an opening, or a tunnel without any, holds against the gusts forecast; never null, to be read in bulk."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="+")
    tunnel = models.ForeignKey(Tunnel, models.CASCADE, related_name="+")
    opening = models.OneToOneField(Opening, models.CASCADE, null=True, related_name="+")
    change_m_s = models.FloatField(_("levels begin later by"))  # below 0 for earlier
    factor = models.FloatField(_("gust here over the gust on the farm"))
    limit_m_s = models.FloatField(_("gust its door stands"), default=NO_LIMIT)

    objects = models.Manager()

    def __str__(self) -> str:
        return f"{self.opening_id or self.tunnel_id}: {self.change_m_s:+} m/s, times {self.factor}"


class StormRound(models.Model):
    """How a farm stands in the pass over all farms: whether its lines can be trusted, and what the pass found.

    ``changes`` counts how often anybody wrote to the farm; lines drawn from an older count are not trusted.
    """

    farm = models.OneToOneField(Farm, models.CASCADE, related_name="storm_round")
    changes = models.PositiveIntegerField(_("times the farm was written to"), default=0)
    drawn_changes = models.PositiveIntegerField(_("and when its lines were drawn"), null=True, blank=True)
    drawn_at = models.DateTimeField(_("lines drawn at"), null=True, blank=True)
    good_until = models.DateTimeField(_("lines good until"), null=True, blank=True)
    thresholds_m_s = models.JSONField(_("gusts from which the levels hold"), default=list, blank=True)
    acts_on_upper = models.BooleanField(_("act on the upper value"), default=False)

    looked_at = models.DateTimeField(_("last looked at"), null=True, blank=True)
    level = models.SmallIntegerField(_("highest level"), null=True, blank=True)  # null where no gust is known
    openings = models.PositiveIntegerField(_("to be closed"), default=0)
    first_at = models.DateTimeField(_("the first of them at"), null=True, blank=True)
    worst_at = models.DateTimeField(_("highest gust at"), null=True, blank=True)
    peak_m_s = models.FloatField(_("highest gust on the farm"), null=True, blank=True)

    waits_since = models.DateTimeField(_("to be worked out in full since"), null=True, blank=True)
    urgent_at = models.DateTimeField(_("needed by"), null=True, blank=True)
    claimed_at = models.DateTimeField(_("begun at"), null=True, blank=True)
    plan_since = models.DateTimeField(_("crew's plan to be written since"), null=True, blank=True)

    objects = models.Manager()

    class Meta:
        indexes = [
            models.Index(
                fields=["urgent_at", "farm"],
                condition=models.Q(waits_since__isnull=False) | models.Q(plan_since__isnull=False),
                name="storm_round_waiting",
            )
        ]

    def __str__(self) -> str:
        return f"{self.farm_id}: level {self.level}"
