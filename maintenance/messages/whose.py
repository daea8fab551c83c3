"""Which jobs concern whom: crews see their own and nobody's, managers and viewers see all."""

from __future__ import annotations

from datetime import date

from django.db.models import Q

from farm.models import Membership
from maintenance.models import Job
from maintenance.querysets import JobQuerySet


def jobs_for(membership: Membership) -> JobQuerySet:
    """Return the jobs of a member's farm that concern this member."""
    jobs = Job.objects.of(membership.farm)
    if membership.role != Membership.Role.CREW:
        return jobs
    return jobs.filter(Q(assigned_to=None) | Q(assigned_to=membership.user_id))


def concerns(job: Job, membership: Membership) -> bool:
    """Tell the same of a job that is loaded."""
    return membership.role != Membership.Role.CREW or job.assigned_to_id in (None, membership.user_id)


def may_act(membership: Membership) -> bool:
    """Tell whether a member may do anything with a job."""
    return membership.role in (Membership.Role.CREW, Membership.Role.MANAGER)


def with_words(jobs: JobQuerySet) -> JobQuerySet:
    """Return jobs with all that their words take, the most pressing first."""
    fault = ("repair__tunnel", "repair__end_wall__tunnel", "repair__opening")
    return jobs.for_list().select_related("farm", *fault).order_by("until_on", "due_on", "pk")


def pressing(jobs: JobQuerySet, until: date) -> JobQuerySet:
    """Return the undone jobs among these that have to be done by a day."""
    return jobs.undone().filter(until_on__lte=until)
