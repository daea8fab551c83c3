"""The manager's pages of the farm's people: who they are, how they come in, and on which phones."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from farm.access import FarmRequest, member
from farm.addresses import paper_address
from farm.crew import keys
from farm.crew.forms import PersonForm
from farm.crew.names import free_name
from farm.crew.people import key_of, people_of, phones_of, seen_at, ways_of
from farm.models import KnownPhone, Membership
from farm.qr import square_of

NEW_CODE: Final = "new_crew_code"  # in the session between making a secret and showing it, once
NEW_SQUARE: Final = "new_crew_square"


@member("manager")
@require_safe
def crew(request: FarmRequest) -> HttpResponse:
    """Show the farm's people: role, language, how they come in, when they were last seen."""
    now = timezone.now()
    rows = [
        {"member": one, "key": key_of(one), "seen_at": seen_at(one), "is_locked": _is_locked(one, now)}
        for one in people_of(request.farm)
    ]
    return render(request, "farm/crew.html", {"what": _("Crew"), "rows": rows, **_way_in(request)})


@member("manager")
@require_http_methods(["GET", "HEAD", "POST"])
def crew_new(request: FarmRequest) -> HttpResponse:
    """Make a person: no e-mail, no phone number; a code that is shown once, or a card to print."""
    form = PersonForm(
        request.POST if request.method == "POST" else None, farm=request.farm, initial={"role": keys.Role.CREW}
    )
    if form.is_valid():
        try:
            person, code = keys.make_person(farm=request.farm, **form.cleaned_data, now=timezone.now())
        except keys.CrewError as error:
            form.add_error(None, str(error))
        else:
            if code:
                request.session[NEW_CODE] = [person.pk, code]
            else:
                messages.success(request, _("Managers have no code: print a card with a square."))
            return redirect("crew-person", request.farm.slug, person.pk)
    context = {"what": _("New person"), "form": form, "submit": _("Make this person")}
    return _form_page(request, "farm/crew_new.html", form, context)


@member("manager")
@never_cache
@sensitive_variables("code")
@require_http_methods(["GET", "HEAD", "POST"])
def crew_person(request: FarmRequest, pk: int) -> HttpResponse:
    """Show and change a person; a code that was just made is shown this once."""
    person = _person(request, pk)
    ways, now = ways_of(person, timezone.now()), timezone.now()
    form = _person_form(request, person, is_own=ways.can_have_square)
    if form.is_valid():
        given = {"name": "", "short_name": "", **form.cleaned_data}
        try:
            keys.change_person(membership=person, **given, now=now)
        except keys.CrewError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("%(name)s is changed.") % {"name": _name(person)})
            return redirect("crew-person", request.farm.slug, pk)
    context = {
        "what": _name(person), "form": form, "person": person, "ways": ways, "key": key_of(person),
        "phones": phones_of(person), "new_code": _shown_once(request, NEW_CODE, pk), "seen_at": seen_at(person),
        "is_me": person.user_id == request.user.pk, **_way_in(request),
    }  # fmt: skip
    return _form_page(request, "farm/crew_person.html", form, context)


@member("manager")
@sensitive_variables("code")
@require_POST
def crew_code(request: FarmRequest, pk: int) -> HttpResponse:
    """Give a person a new code; the next page shows it once."""
    try:
        code = keys.new_code(membership=_person(request, pk), now=timezone.now())
    except keys.CrewError as error:
        messages.error(request, str(error))
    else:
        request.session[NEW_CODE] = [pk, code]
    return redirect("crew-person", request.farm.slug, pk)


@member("manager")
@never_cache
@sensitive_variables("token")
@require_http_methods(["GET", "HEAD", "POST"])
def crew_card(request: FarmRequest, pk: int) -> HttpResponse:
    """Make a card with a square that lets its bearer in; it can be printed this once."""
    person = _person(request, pk)
    if request.method == "POST":
        try:
            request.session[NEW_SQUARE] = [pk, keys.new_square(membership=person, now=timezone.now())]
        except keys.CrewError as error:
            messages.error(request, str(error))
            return redirect("crew-person", request.farm.slug, pk)
        return redirect("crew-card", request.farm.slug, pk)
    token, address = _shown_once(request, NEW_SQUARE, pk), paper_address(request)
    context = {
        "what": _("Card of %(name)s") % {"name": _name(person)}, "person": person, "key": key_of(person),
        "ways": ways_of(person, timezone.now()), "address": address, "name": _name(person),
        "card_language": person.language or request.farm.language,
        "square": square_of(f"{address.base}{reverse('crew-square', args=[token])}") if token else None,
    }  # fmt: skip
    return render(request, "farm/crew_card.html", context)


@member("manager")
@require_POST
def crew_phone(request: FarmRequest, pk: int, phone_pk: int) -> HttpResponse:
    """Take back that a phone is known: it is out at its next request."""
    person = _person(request, pk)
    phone = get_object_or_404(KnownPhone, farm=request.farm, user=person.user_id, pk=phone_pk)
    KnownPhone.objects.filter(pk=phone.pk, revoked_at=None).update(revoked_at=timezone.now())
    messages.success(
        request, _("That phone is signed out. The code and the card still work: change them if they are lost.")
    )
    return redirect("crew-person", request.farm.slug, pk)


@member("manager")
@require_http_methods(["GET", "HEAD", "POST"])
def crew_leave(request: FarmRequest, pk: int) -> HttpResponse:
    """Let a person go, once that is asked twice."""
    person = _person(request, pk)
    name, error = _name(person), ""
    if request.method == "POST":
        try:
            keys.let_go(membership=person, now=timezone.now())
        except keys.CrewError as refused:
            error = str(refused)
        else:
            messages.success(request, _("%(name)s is no longer on this farm.") % {"name": name})
            return redirect("crew", request.farm.slug)
    context = {"what": _("Let %(name)s go") % {"name": name}, "person": person, "name": name, "error": error}
    return render(request, "farm/crew_leave.html", context, status=422 if error else 200)


def _person(request: FarmRequest, pk: int) -> Membership:
    return get_object_or_404(people_of(request.farm), pk=pk)


def _person_form(request: FarmRequest, person: Membership, *, is_own: bool) -> PersonForm:
    key = key_of(person)
    initial = {
        "name": _name(person), "role": person.role, "language": person.language,
        "short_name": key.short_name if key else free_name(_name(person), keys.names_taken(request.farm)),
    }  # fmt: skip
    data = request.POST if request.method == "POST" else None
    form = PersonForm(data, farm=request.farm, membership=person, initial=initial)
    return form if is_own else form.without_key()


def _form_page(request: FarmRequest, template: str, form: PersonForm, context: dict[str, Any]) -> HttpResponse:
    return render(request, template, {"form": form, **context}, status=422 if form.errors else 200)


def _shown_once(request: FarmRequest, name: str, pk: int) -> str:
    """Return a secret that was just made for this person, and keep it no longer."""
    owner, secret = request.session.get(name, (None, ""))
    if owner != pk or request.method != "GET":
        return ""
    del request.session[name]
    return str(secret)


def _way_in(request: FarmRequest) -> dict[str, Any]:
    address = paper_address(request)
    return {"address": address, "way_in": f"{address.base}{reverse('crew-enter', args=[request.farm.slug])}"}


def _is_locked(person: Membership, now: Any) -> bool:
    key = key_of(person)
    return bool(key and key.locked_until and key.locked_until > now)


def _name(person: Membership) -> str:
    return person.user.get_full_name() or person.user.get_username()
