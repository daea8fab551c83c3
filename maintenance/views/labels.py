"""Labels at the doors: listed, printed, replaced; and where the phone goes that reads one."""

from __future__ import annotations

from typing import Final

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from farm.access import FarmRequest, member
from farm.addresses import paper_address
from farm.models import Membership, Opening
from farm.qr import square_of
from maintenance.labels.labelling import LabelError, make_missing, replace
from maintenance.labels.places import Group, Place, place_in_use, places_of
from maintenance.labels.tokens import tidied
from maintenance.models import Label

A_SHEET: Final = {"": 8, "small": 18}  # labels on a page that fits A4 and Letter
LONG_CODE: Final = 8  # letters from which a code is set smaller


@member("manager")
@require_http_methods(["GET", "HEAD", "POST"])
def labels(request: FarmRequest) -> HttpResponse:
    """List every place with its label; make those that are missing."""
    if request.method == "POST":
        made = make_missing(farm=request.farm, now=timezone.now())
        said = ngettext("%(n)s label is made.", "%(n)s labels are made.", made) % {"n": made}
        messages.success(request, said if made else _("Every place has its label."))
        return redirect("labels", request.farm.slug)
    groups = places_of(request.farm)
    context = {
        "what": _("Labels"), "groups": groups, "missing": sum(group.missing for group in groups),
        "address": paper_address(request),
    }  # fmt: skip
    return render(request, "maintenance/labels.html", context)


@member("manager")
@require_safe
def labels_print(request: FarmRequest) -> HttpResponse:
    """Show sheets of labels to print: of all the farm, or of one tunnel."""
    chosen, size = request.GET.get("tunnel", ""), request.GET.get("size", "")
    size = size if size in A_SHEET else ""
    number = int(chosen) if chosen.isascii() and chosen.isdecimal() and len(chosen) < 19 else 0
    everywhere = places_of(request.farm)
    groups = [group for group in everywhere if not chosen or group.tunnel.pk == number]
    address = paper_address(request)
    cards = [
        _card(group, place, place.label, address.base)
        for group in groups
        for place in group.places
        if place.label is not None
    ]
    context = {
        "what": _("Labels to print"), "address": address, "size": size, "tunnel": number,
        "tunnels": [group.tunnel for group in everywhere], "missing": sum(group.missing for group in groups),
        "sheets": [cards[start : start + A_SHEET[size]] for start in range(0, len(cards), A_SHEET[size])],
        "example": f"{address.base}{reverse('label', args=['-'])}".removesuffix("-/"),
    }  # fmt: skip
    return render(request, "maintenance/labels_print.html", context)


@member("manager")
@require_POST
def label_replace(request: FarmRequest, pk: int) -> HttpResponse:
    """Take a lost label back, and make a new one for its place."""
    label = get_object_or_404(Label, farm=request.farm, pk=pk)
    try:
        new = replace(label=label, now=timezone.now())
    except LabelError:
        messages.error(request, _("That label was taken back before. The place's new one stands in the list."))
    else:
        said = _("The old label works no more. The new one is %(token)s: print its tunnel's labels.")
        messages.success(request, said % {"token": new.token})
    return redirect("labels", request.farm.slug)


@login_not_required
@never_cache
@require_safe
def label(request: HttpRequest, token: str) -> HttpResponse:
    """Lead a phone to the door whose label it read; somebody who is not signed in comes in first, and goes on there."""
    places = ("farm", "tunnel", "end_wall__tunnel", "opening__end_wall__tunnel")
    found = Label.objects.select_related(*places).filter(token=tidied(token)).first()
    if found is None or not _may_see(request, found):
        return _gone(request, token, 404)
    place = place_in_use(found)
    if found.revoked_at is not None or place is None:
        return _gone(request, found.token, 410)
    if not request.user.is_authenticated:
        query = QueryDict(mutable=True)
        query["next"] = reverse("label", args=[found.token])
        return redirect(f"{reverse('crew-enter', args=[found.farm.slug])}?{query.urlencode()}")
    field = reverse("field", args=[found.farm.slug])
    if isinstance(place, Opening):
        return redirect(f"{field}#door/{place.pk}")
    tunnel = found.tunnel_id or (found.end_wall.tunnel_id if found.end_wall else 0)
    return redirect(f"{field}#tunnel/{tunnel}")


def _may_see(request: HttpRequest, label: Label) -> bool:
    """Tell whether a label is anything to whoever reads it; who that is, is asked of a stranger."""
    if not request.user.is_authenticated:
        return True
    return Membership.objects.held_by(request.user).filter(farm=label.farm_id).exists()


def _gone(request: HttpRequest, token: str, status: int) -> HttpResponse:
    context = {"what": _("Label"), "token": token, "is_known": status == 410}
    return render(request, "maintenance/label_gone.html", context, status=status)


def _card(group: Group, place: Place, label: Label, base: str) -> dict[str, object]:
    path = reverse("label", args=[label.token])
    return {
        "square": square_of(f"{base}{path}"), "code": place.code, "what": place.what,
        "is_long": len(place.code) > LONG_CODE, "tunnel": group.tunnel.name if group.tunnel.name != place.code else "",
        "base": f"{base}{path}".partition("://")[2].rstrip("/").removesuffix(label.token), "token": label.token,
    }  # fmt: skip
