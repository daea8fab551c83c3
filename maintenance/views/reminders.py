"""Reminders: how a member is told, on which devices and calendars, and how the messages fared."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import Final, TypeVar

from django.conf import settings
from django.contrib import messages
from django.db import transaction
from django.db.models import Count, IntegerField, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST
from django_tables2 import RequestConfig

from doors.views.shared import form_page, posted
from farm.access import FarmRequest, member
from farm.models import Farm, Membership
from maintenance.messages.contacts import contact_of, email_of, reading_as
from maintenance.messages.feeds import make_feed, revoke_feed
from maintenance.messages.outbox import NO_MAIL_SERVER, tell
from maintenance.messages.remindertables import MemberTable, MessageTable
from maintenance.messages.vapid import public_key
from maintenance.messages.wishform import DeviceForm, WishForm
from maintenance.models import CalendarFeed, PushSubscription, Reminder

NEW_FEED: Final = "new_feed"  # in the session between making an address and showing it, once
LATELY: Final = timedelta(days=30)
Table = TypeVar("Table", MessageTable, MemberTable)


@member("viewer")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def reminders(request: FarmRequest) -> HttpResponse:
    """Show and keep a member's wishes, devices and calendars, and how the last messages fared."""
    membership = request.membership
    form = WishForm(posted(request), membership=membership)
    if form.is_valid():
        with transaction.atomic():
            form.keep()
        messages.success(request, _("Your wishes are kept."))
        return redirect("reminders", request.farm.slug)
    own = Reminder.objects.filter(membership=membership).select_related("subscription").order_by("-made_at", "-pk")
    return form_page(
        request, form, template="maintenance/reminders.html", what=_("Reminders"), submit=_("Keep my wishes"),
        unreachable=_unreachable(membership),
        devices=membership.push_subscriptions.order_by("created_at", "pk"),
        feeds=membership.calendar_feeds.filter(revoked_at=None).order_by("created_at", "pk"),
        new_feed=request.session.pop(NEW_FEED, ""),
        push_key=public_key(settings.PUSH_KEY_FILE) if settings.PUSH_CONTACT else "",
        own=_configured(request, MessageTable(own, farm=request.farm, prefix="own-")),
        everybody=_everybody(request),
    )  # fmt: skip


@member("viewer")
@require_POST
def reminders_change(request: FarmRequest) -> HttpResponse:
    """Do one thing with one's own messages: try them, make or close a calendar's address, turn a device off."""
    now = timezone.now()
    match request.POST.get("do", ""):
        case "try":
            _try(request, now)
        case "make-feed":
            token = make_feed(membership=request.membership, now=now)
            request.session[NEW_FEED] = f"{settings.PUBLIC_ADDRESS}{reverse('calendar-feed', args=[token])}"
        case "close-feed":
            feed = get_object_or_404(CalendarFeed, membership=request.membership, pk=_number(request))
            revoke_feed(feed=feed, now=now)
            messages.success(request, _("The calendar's address is closed. Calendars that read it get nothing more."))
        case "device-off":
            get_object_or_404(PushSubscription, membership=request.membership, pk=_number(request)).delete()
            messages.success(request, _("Alerts are off on that device."))
        case _:
            raise Http404("There is no such change.")
    return redirect("reminders", request.farm.slug)


@member("viewer")
@require_POST
def device(request: FarmRequest) -> JsonResponse:
    """Take a browser's subscription in, or out again (``{"off": true, "endpoint": ...}``)."""
    try:
        said = json.loads(request.body)
        keys = said.get("keys") or {}
        offered = {"endpoint": said["endpoint"], "device": said.get("device", ""), **keys}
    except (ValueError, KeyError, AttributeError, TypeError):
        return JsonResponse({"error": _("This is no subscription of a browser.")}, status=422)
    mine = PushSubscription.objects.filter(membership=request.membership, endpoint=offered["endpoint"])
    if said.get("off"):
        mine.delete()
        return JsonResponse({"on": False})
    form = DeviceForm(offered)
    if not form.is_valid():
        return JsonResponse({"error": next(iter(form.errors.values()))[0]}, status=422)
    given = {name: form.cleaned_data[name] for name in ("p256dh", "auth", "device")}
    place = {"endpoint": form.cleaned_data["endpoint"]}
    # Whoever used this browser before is told nothing more on it; the same person may be told of several farms.
    PushSubscription.objects.filter(**place).exclude(membership__user=request.membership.user_id).delete()
    PushSubscription.objects.update_or_create(
        membership=request.membership, **place, defaults=given, create_defaults={**given, "created_at": timezone.now()}
    )
    return JsonResponse({"on": True})


def _try(request: FarmRequest, now: datetime) -> None:
    """Write a message to oneself, and say by which ways it goes."""
    membership, key = request.membership, f"try-{now:%Y%m%d%H%M%S}"
    with reading_as(membership), transaction.atomic():
        tell(
            membership=membership, kind=Reminder.Kind.NOW, key=key, now=now, is_danger=True,
            subject=_("%(farm)s: a message to try") % {"farm": membership.farm.name},
            body=_("When you read this, reminders reach you this way."),
            path=reverse("reminders", args=[request.farm.slug]), expires_at=now + timedelta(hours=1),
        )  # fmt: skip
    count = Reminder.objects.filter(membership=membership, key=key).count()
    if count:
        messages.success(request, _("A message to try is on its way. How it fares stands below."))
    else:
        messages.error(request, _("There is no way to reach you yet: give an e-mail address, or turn alerts on."))


def _number(request: FarmRequest) -> int:
    text = request.POST.get("pk", "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else 0


def _unreachable(membership: Membership) -> str:
    """Say why nothing can reach a member; nothing where something can."""
    contact = contact_of(membership)
    by_mail = contact.by_email and email_of(membership)
    if contact.by_push and membership.push_subscriptions.exists():
        return ""
    if not by_mail:
        return _("Nothing can reach you: give an e-mail address, or turn alerts on on a device.")
    return "" if settings.HAS_MAIL_SERVER else _("E-mail waits: %(reason)s.") % {"reason": _(NO_MAIL_SERVER)}


def _everybody(request: FarmRequest) -> MemberTable | None:
    """Return whom the farm reaches, for its managers."""
    if request.membership.role != Membership.Role.MANAGER:
        return None
    since = timezone.now() - LATELY
    return _configured(request, MemberTable(_members(request.farm, since), farm=request.farm, prefix="all-"))


def _members(farm: Farm, since: datetime) -> QuerySet[Membership]:
    devices = PushSubscription.objects.filter(membership=OuterRef("pk")).order_by().values("membership")
    lately = Q(reminders__made_at__gte=since)
    waiting = Q(reminders__state__in=(Reminder.State.WAITING, Reminder.State.SENDING))
    return (
        Membership.objects.of(farm)
        .select_related("user", "contact")
        .annotate(
            device_count=Coalesce(Subquery(devices.values(n=Count("pk")), output_field=IntegerField()), 0),
            written_count=Count("reminders", filter=lately),
            waiting_count=Count("reminders", filter=lately & waiting),
            failed_count=Count("reminders", filter=lately & Q(reminders__state=Reminder.State.FAILED)),
            last_sent_at=Max("reminders__sent_at"),
            last_seen_at=Max("reminders__seen_at"),
        )
        .order_by("user__last_name", "user__username", "pk")
    )


def _configured(request: FarmRequest, table: Table) -> Table:
    RequestConfig(request, paginate={"per_page": table._meta.per_page}).configure(table)
    return table
