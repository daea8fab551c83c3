"""After a storm: what to look at first, the gust that came, what it taught; and the papers for whoever pays."""

from __future__ import annotations

from typing import Final

from django.contrib import messages
from django.db import transaction
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from doors.views.shared import form_page, posted
from farm.access import FarmRequest, member
from farm.models import Tunnel
from farm.units import format_gust
from maintenance.aftermath import alarms, eventfile, eventzip, findings, learning
from maintenance.aftermath.forms import ActualForm, CloseForm, DamageForm, SoundForm
from maintenance.aftermath.gusts import gust_of
from maintenance.hands.photos import PhotoError, keep_photo
from maintenance.models import Job, Photo, Storm, StormFinding
from maintenance.views.jobs import user_of, worked
from maintenance.words.aftermath import CAUTIONS, VERDICTS, alarms_in_words, why
from maintenance.work.closing import WorkError

GET_AND_POST: Final = ["GET", "HEAD", "POST"]


@member("viewer")
@require_safe
def aftermath(request: FarmRequest, pk: int) -> HttpResponse:
    """Show what to look at after a storm, in order, and what it taught."""
    storm, units = _storm(request, pk), request.farm.units
    photos = Prefetch("photos", queryset=Photo.objects.order_by("taken_at", "pk"))
    rows = storm.findings.select_related("tunnel", "opening", "by", "repair").prefetch_related(photos)
    listed = [(row, why(row, units)) for row in rows.order_by("rank", "pk")]
    past = alarms.records_of(request.farm)
    context = {
        "what": _("After the storm"), "storm": storm, "gust": gust_of(storm), "rows": listed, "cautions": CAUTIONS,
        "left": sum(not row.outcome for row, _why in listed), "is_over": storm.state == Storm.State.OVER,
        "is_past": storm.state in findings.LOOKED_AT,
        "record": next((one for one in past if one.storm.pk == storm.pk), None), "verdicts": VERDICTS,
        "past": [(one, *VERDICTS[one.verdict]) for one in past[:12]],
        "alarms": alarms_in_words(alarms.tally(past)), "factors": learning.factors_of(request.farm),
        "minutes": learning.minutes_of(request.farm),
    }  # fmt: skip
    return render(request, "maintenance/aftermath.html", context)


@member("crew")
@require_POST
def aftermath_begin(request: FarmRequest, pk: int) -> HttpResponse:
    """Write the list of what to look at."""
    storm = _storm(request, pk)
    if not findings.open_findings(storm=storm, now=timezone.now()):
        messages.error(request, _("The list is written when the storm is over."))
    return redirect("aftermath", request.farm.slug, pk)


@member("crew")
@require_http_methods(GET_AND_POST)
def aftermath_gust(request: FarmRequest, pk: int) -> HttpResponse:
    """Keep the highest gust that came, and open the rounds that it brings on."""
    storm, farm = _storm(request, pk), request.farm
    form = ActualForm(posted(request), units=farm.units)
    if form.is_bound and storm.state not in findings.LOOKED_AT:
        messages.error(request, _("The storm is not over yet. Write down the highest gust when it is."))
        return redirect("aftermath", farm.slug, pk)
    if form.is_valid():
        before = Job.objects.of(farm).undone().count()
        findings.record_actual(storm=storm, now=timezone.now(), **form.cleaned_data)
        messages.success(request, _gust_words(farm.units, form, Job.objects.of(farm).undone().count() - before))
        return redirect("aftermath", farm.slug, pk)
    return _gust_page(request, form, pk)


@member("crew")
@require_http_methods(GET_AND_POST)
def aftermath_finding(request: FarmRequest, pk: int, finding_pk: int) -> HttpResponse:
    """Note that a place is sound, or ask what is damaged and log it."""
    finding, farm = _finding(request, pk, finding_pk), request.farm
    back = reverse("aftermath", args=[farm.slug, pk])
    here = f"{back}#finding-{finding.pk}"
    wanted = "sound" if "sound" in request.POST else request.POST.get("outcome", "")
    if wanted == "again":
        if worked(SoundForm({}, units=farm.units), lambda: findings.look_again(finding=finding)):
            messages.success(request, _("%(place)s stands on the list again.") % {"place": _place(finding)})
        return redirect(here)
    is_sound = wanted == "sound" or "sound" in request.GET
    form = (SoundForm if is_sound else DamageForm)(posted(request), request.FILES or None, units=farm.units)
    if form.is_valid() and _kept(request, form, finding):
        said = _("%(place)s is sound.") if is_sound else _("%(place)s: the damage is on the list.")
        messages.success(request, said % {"place": _place(finding)})
        return redirect(here)
    return form_page(
        request, form, what=_("Sound") if is_sound else _("Damage"), where=_place(finding), submit=_("Keep it"),
        back=here, submit_name="sound" if is_sound else "",
        lead=_("%(place)s. Take pictures before anybody cleans up.") % {"place": _place(finding)},
    )  # fmt: skip


def _kept(request: FarmRequest, form: SoundForm, finding: StormFinding) -> bool:
    """Keep what was found with its picture, or nothing of it; what cannot be is said in the form."""
    by, now = user_of(request), timezone.now()
    answer = {name: value for name, value in form.cleaned_data.items() if name != "photo"}
    service = findings.find_damaged if isinstance(form, DamageForm) else findings.find_sound
    picture = form.cleaned_data.get("photo")
    try:
        with transaction.atomic():
            repair = service(finding=finding, by=by, now=now, **answer)
            if picture:
                keep_photo(
                    farm=request.farm, upload=picture, by=by, now=now, storm=finding.storm, finding=finding,
                    repair=repair, caption=_place(finding),
                )  # fmt: skip
    except WorkError as error:
        form.add_error(None, str(error))
    except PhotoError as error:
        form.add_error("photo", str(error))
    return form.is_valid()


@member("manager")
@require_http_methods(GET_AND_POST)
def storm_close(request: FarmRequest, pk: int) -> HttpResponse:
    """Close a storm with what it cost and taught."""
    storm = _storm(request, pk)
    form = CloseForm(posted(request), initial={"cost": eventfile.cost_of(storm), "note": storm.note})
    if form.is_valid() and worked(
        form, lambda: findings.close_storm(storm=storm, now=timezone.now(), **form.cleaned_data)
    ):
        messages.success(request, _("The storm is closed. Its event file stays."))
        return redirect("aftermath", request.farm.slug, pk)
    return form_page(
        request, form, what=_("Close the storm"), submit=_("Close it"),
        back=reverse("aftermath", args=[request.farm.slug, pk]),
        lead=_("The cost is that of the repairs so far: change it where you know more."),
    )  # fmt: skip


@member("manager")
@require_POST
def factor_reset(request: FarmRequest, pk: int) -> HttpResponse:
    """Forget what was learnt of a tunnel's gusts."""
    tunnel = get_object_or_404(Tunnel.objects.of(request.farm), pk=pk)
    learning.reset_factor(tunnel=tunnel, now=timezone.now())
    messages.success(request, _("%(tunnel)s begins anew with the forecast as it is.") % {"tunnel": tunnel.code})
    return _back(request)


@member("manager")
@require_POST
def minutes_accept(request: FarmRequest) -> HttpResponse:
    """Take the minutes that were logged into the farm's rules."""
    taken = learning.accept_minutes(farm=request.farm, kind=request.POST.get("kind", ""))
    if taken is None:
        messages.error(request, _("Nothing is proposed for that work any more. Nothing was changed."))
    else:
        words = {"what": taken.label, "minutes": taken.proposed}
        messages.success(request, _("From now on: %(what)s takes %(minutes)s min.") % words)
    return _back(request)


@member("viewer")
@require_safe
def event_file(request: FarmRequest, pk: int) -> HttpResponse:
    """Show the whole record of a storm, to print; ``?tunnel=`` narrows it to one tunnel, for its loss."""
    storm = _storm(request, pk)
    tunnel = _tunnel(request)
    file = eventfile.gather(storm=storm, tunnel=tunnel)
    what = _("Loss packet %(tunnel)s") % {"tunnel": tunnel.code} if tunnel else _("Event file")
    tunnels = Tunnel.objects.of(request.farm).standing().order_by("code")
    context = {"what": what, "storm": storm, "file": file, "tunnel": tunnel, "tunnels": tunnels}
    return render(request, "maintenance/event_file.html", context)


@member("viewer")
@require_safe
def event_zip(request: FarmRequest, pk: int) -> HttpResponse:
    """Return the whole record of a storm as a ZIP file."""
    storm = _storm(request, pk)
    content = eventzip.pack(eventfile.gather(storm=storm, tunnel=_tunnel(request)), now=timezone.now())
    day = timezone.localtime(storm.begins_at).date()
    name = f"storm-{slugify(request.farm.slug)}-{day.isoformat()}.zip"
    return HttpResponse(
        content, content_type="application/zip", headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


def _storm(request: FarmRequest, pk: int) -> Storm:
    return get_object_or_404(Storm.objects.of(request.farm).select_related("farm"), pk=pk)


def _finding(request: FarmRequest, pk: int, finding_pk: int) -> StormFinding:
    rows = StormFinding.objects.filter(storm__farm=request.farm, storm=pk)
    return get_object_or_404(
        rows.select_related("storm__farm", "tunnel", "opening__end_wall__tunnel", "repair"), pk=finding_pk
    )


def _tunnel(request: FarmRequest) -> Tunnel | None:
    text = request.GET.get("tunnel", "")
    if not text:
        return None
    is_number = text.isascii() and text.isdecimal() and len(text) < 19
    return get_object_or_404(Tunnel.objects.of(request.farm), pk=int(text) if is_number else 0)


def _place(finding: StormFinding) -> str:
    return finding.opening.code if finding.opening else finding.tunnel.code


def _gust_page(request: FarmRequest, form: ActualForm, pk: int) -> HttpResponse:
    return form_page(
        request, form, what=_("The highest gust that came"), submit=_("Keep it"),
        back=reverse("aftermath", args=[request.farm.slug, pk]),
        lead=_("Seen, measured or reported. It opens the rounds after such a gust and orders the list anew."),
    )  # fmt: skip


def _gust_words(units: str, form: ActualForm, opened: int) -> str:
    said = _("The highest gust was %(gust)s.") % {"gust": format_gust(form.cleaned_data["gust_m_s"], units)}
    if not opened:
        return said
    jobs = ngettext("It brought on %(count)s job.", "It brought on %(count)s jobs.", opened) % {"count": opened}
    return f"{said} {jobs}"


def _back(request: FarmRequest) -> HttpResponse:
    """Return to the last storm's page, where what was learnt stands."""
    text = request.POST.get("storm", "")
    storms = Storm.objects.of(request.farm)
    is_number = text.isascii() and text.isdecimal() and len(text) < 19
    if is_number and storms.filter(pk=int(text)).exists():
        return redirect(f"{reverse('aftermath', args=[request.farm.slug, int(text)])}#learnt")
    return redirect("plan", request.farm.slug)
