"""The register of tunnels and their end walls."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from doors import proposals, register
from doors.exchange.kinds import TUNNELS
from doors.filters import TunnelFilter
from doors.listing import tunnels_for_list
from doors.tables import TunnelTable
from doors.views.lists import Action, list_page
from doors.views.shared import form_page, kept, posted, today
from farm import services
from farm.access import FarmRequest, member
from farm.forms import CloneForm, DayForm, EndWallForm, TunnelForm
from farm.models import EndWall, Farm, Tunnel
from farm.naming import point

GET_AND_POST = ["GET", "HEAD", "POST"]


@member("viewer")
@require_safe
def tunnel_list(request: FarmRequest) -> HttpResponse:
    """Show the tunnels."""
    farm = request.farm
    chosen = TunnelFilter(request.GET, queryset=tunnels_for_list(Tunnel.objects.of(farm)))
    table = TunnelTable(chosen.qs, farm=farm)
    actions = [Action(_("Add a tunnel"), reverse("tunnel-new", args=[farm.slug]), for_managers=True)]
    return list_page(request, chosen, table, TUNNELS, what=_("Tunnels"), actions=actions)


@member("manager")
@require_http_methods(GET_AND_POST)
def tunnel_new(request: FarmRequest) -> HttpResponse:
    """Add a tunnel; a name is enough."""
    farm = request.farm
    code = services.proposed_tunnel_code(farm)
    form = TunnelForm(posted(request), farm=farm, instance=Tunnel(farm=farm), initial={"code": code})
    if form.is_valid():
        tunnel: Tunnel = form.save(commit=False)
        tunnel.code = tunnel.code or code
        if kept(form, lambda: services.add_tunnels(tunnels=[tunnel])):
            messages.success(request, _next_steps(farm, tunnel))
            return redirect("tunnel", farm.slug, tunnel.pk)
    return form_page(
        request, form, what=_("New tunnel"), submit=_("Add the tunnel"), back=reverse("tunnels", args=[farm.slug]),
        lead=_("A name is enough to begin; the rest can wait until it is needed."),
    )  # fmt: skip


@member("manager")
@require_http_methods(GET_AND_POST)
def tunnel_change(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a tunnel; its doors are sized again."""
    tunnel = _tunnel(request, pk)
    code, name = tunnel.code, str(tunnel)  # the form puts what was typed on the row, refused or not
    form = TunnelForm(posted(request), farm=request.farm, instance=tunnel)
    if form.is_valid():
        changed: Tunnel = form.save(commit=False)
        changed.code = changed.code or code
        if kept(form, lambda: register.change_tunnel(tunnel=changed, columns=form.changed_data)):
            messages.success(request, _("%(tunnel)s is saved.") % {"tunnel": changed})
            return redirect("tunnel", request.farm.slug, pk)
    return form_page(
        request, form, what=_("Change %(tunnel)s") % {"tunnel": name}, submit=_("Save"), back=_sheet(request, pk)
    )


@member("manager")
@require_http_methods(GET_AND_POST)
def tunnel_clone(request: FarmRequest, pk: int) -> HttpResponse:
    """Copy a tunnel with its openings and the designs of their doors."""
    tunnel = _tunnel(request, pk)
    code = services.proposed_tunnel_code(request.farm)
    form = CloneForm(posted(request), farm=request.farm, initial={"name": tunnel.name, "code": code})
    if form.is_valid() and kept(form, lambda: register.clone_tunnel(tunnel=tunnel, **form.cleaned_data)):
        clone = Tunnel.objects.of(request.farm).get(code=form.cleaned_data["code"])
        text = _("%(clone)s is a copy of %(tunnel)s. Give it its place on the plan.")
        messages.success(request, text % {"clone": clone, "tunnel": tunnel.code})
        return redirect("tunnel", request.farm.slug, clone.pk)
    return form_page(
        request, form, what=_("Clone %(tunnel)s") % {"tunnel": tunnel}, submit=_("Clone the tunnel"),
        back=_sheet(request, pk),
        lead=_("Sizes, end walls, openings and the designs of their doors are copied; parts in service are not."),
    )  # fmt: skip


@member("manager")
@require_http_methods(GET_AND_POST)
def tunnel_retire(request: FarmRequest, pk: int) -> HttpResponse:
    """Take a tunnel out of use, or bring a retired one back; nothing is deleted."""
    tunnel = _tunnel(request, pk)
    is_retired = tunnel.status == Tunnel.Status.RETIRED
    form = DayForm(posted(request), initial={"on": today(request.farm)})
    if is_retired:
        if request.method == "POST":
            register.restore_tunnel(tunnel=tunnel)
            messages.success(request, _("%(tunnel)s is back in use, with its openings.") % {"tunnel": tunnel})
            return redirect("tunnel", request.farm.slug, pk)
    elif form.is_valid():
        services.retire_tunnel(tunnel=tunnel, on=form.cleaned_data["on"])
        messages.success(request, _("%(tunnel)s is retired. Its record stays.") % {"tunnel": tunnel})
        return redirect("tunnel", request.farm.slug, pk)
    words = {"tunnel": tunnel}
    return form_page(
        request, form, back=_sheet(request, pk), without_fields=is_retired,
        what=_("Bring back %(tunnel)s") % words if is_retired else _("Retire %(tunnel)s") % words,
        submit=_("Bring it back") if is_retired else _("Retire the tunnel"),
        lead=_("The openings retired with it come back too.") if is_retired else _(
            "It leaves the plan and the lists, and so do its openings. Nothing is deleted; it can be brought back."
        ),
    )  # fmt: skip


@member("manager")
@require_http_methods(GET_AND_POST)
def end_wall_change(request: FarmRequest, pk: int) -> HttpResponse:
    """Say what an end wall is made of; what is not known yet is proposed and marked."""
    wall = get_object_or_404(EndWall.objects.of(request.farm).select_related("tunnel", "farm"), pk=pk)
    proposed = proposals.framing(wall)
    name = f"{wall.tunnel.code}-{point(wall.bearing_deg, wall.end)}"
    form = EndWallForm(posted(request), farm=request.farm, instance=wall)
    form.propose(proposed)
    if form.is_valid():
        register.change_end_wall(end_wall=form.save(commit=False), columns=form.changed_data)
        messages.success(request, _("The end wall %(wall)s is saved.") % {"wall": name})
        if "and_opening" in request.POST:
            return redirect("opening-new", request.farm.slug, pk)
        return redirect("tunnel", request.farm.slug, wall.tunnel_id)
    return form_page(
        request, form, what=_("End wall %(wall)s") % {"wall": name}, where=wall.tunnel, submit=_("Save"),
        also=("and_opening", _("Save and add an opening")), back=_sheet(request, wall.tunnel_id),
    )  # fmt: skip


def _tunnel(request: FarmRequest, pk: int) -> Tunnel:
    return get_object_or_404(Tunnel.objects.of(request.farm).select_related("farm"), pk=pk)


def _sheet(request: FarmRequest, pk: int) -> str:
    return reverse("tunnel", args=[request.farm.slug, pk])


def _next_steps(farm: Farm, tunnel: Tunnel) -> str:
    """Return the message after a new tunnel: what is done, and the two next things as links."""
    walls = list(EndWall.objects.filter(tunnel=tunnel).order_by("-end"))
    links = format_html_join(
        " ",
        '<a class="btn" href="{}">{}</a>',
        (
            (
                reverse("end-wall-change", args=[farm.slug, wall.pk]),
                _("Describe the %(wall)s wall") % {"wall": point(wall.bearing_deg, wall.end)},
            )
            for wall in walls
        ),
    )
    done = _("%(tunnel)s is added, with its two end walls. Next:") % {"tunnel": tunnel}
    return format_html("{} {}", done, links)
