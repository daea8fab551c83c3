"""The crew's way in, open to everybody: the code's page, a printed square's page, and the way out."""

from __future__ import annotations

from datetime import timedelta
from math import ceil
from typing import Any

from django.conf import settings
from django.contrib.auth import views as auth
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, Resolver404, resolve, reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_http_methods

from farm.crew import coming, phones, recent
from farm.crew.forms import ComeInForm
from farm.crew.people import key_of
from farm.models import Membership


@login_not_required
@never_cache
@sensitive_post_parameters("code")
@require_http_methods(["GET", "HEAD", "POST"])
def by_code(request: HttpRequest, farm_slug: str) -> HttpResponse:
    """Ask for a short name and a code. Of a farm that does not exist the page says and does the same."""
    names = recent.names_on(request, farm_slug)
    if request.method != "POST":
        chosen = request.GET.get("name", names[0] if len(names) == 1 else "")
        return _code_page(request, ComeInForm(initial={"short_name": chosen}), farm_slug, names)
    form = ComeInForm(request.POST)
    if not form.is_valid():
        return _code_page(request, form, farm_slug, names, status=422)
    given = form.cleaned_data
    try:
        membership = coming.by_code(
            farm_slug=farm_slug, short_name=given["short_name"], code=given["code"],
            address=request.META.get("REMOTE_ADDR", ""), now=timezone.now(),
        )  # fmt: skip
    except coming.RefusedError as error:
        form.add_error(None, _("The name or the code is not right. Look at both and try again."))
        if error.wait:
            form.add_error(None, _waiting(error.wait))
        return _code_page(request, form, farm_slug, names, status=422)
    except coming.TooSoonError as error:
        form.add_error(None, _waiting(error.wait))
        answer = _code_page(request, form, farm_slug, names, status=429)
        answer["Retry-After"] = str(ceil(error.wait.total_seconds()))
        return answer
    return _let_in(request, membership, is_kept=given["is_kept"])


@login_not_required
@never_cache
@sensitive_variables("token")
@require_http_methods(["GET", "HEAD", "POST"])
def by_square(request: HttpRequest, token: str) -> HttpResponse:
    """Let the bearer of a printed square in. Only the button does it: a phone's preview must not come in by itself."""
    membership = coming.by_square(token)
    if membership is None:
        return render(request, "farm/crew_square.html", {"what": _("Come in"), "person": None}, status=410)
    if request.method != "POST":
        context = {"what": _("Come in"), "person": membership.user, "where": membership.farm.name}
        return render(request, "farm/crew_square.html", context)
    return _let_in(request, membership, is_kept="is_kept" in request.POST)


class LogInView(auth.LoginView):
    """The log-in by password, with the crew's way in beside it where it is known which farm is meant."""

    template_name = "farm/login.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Add the address of the crew's page."""
        wanted = self.get_redirect_url()
        slug = _farm_in(wanted)
        way = f"{reverse('crew-enter', args=[slug])}?{_query(wanted)}" if slug else ""
        return super().get_context_data(crew_way=way, **kwargs)


class LogOutView(auth.LogoutView):
    """The way out, also for a known phone: it is known no more."""

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        """Log out, and take the phone's secret back."""
        phone = phones.phone_of(request)
        phones.forget(request=request, now=timezone.now())
        response = super().post(request, *args, **kwargs)
        if phone is not None:
            response = redirect("crew-enter", phone.farm.slug)
        phones.drop_cookie(response)
        return response


def _code_page(
    request: HttpRequest, form: ComeInForm, farm_slug: str, names: list[str], status: int = 200
) -> HttpResponse:
    wanted = _wanted(request)
    context = {
        "what": _("Come in"), "form": form, "farm_slug": farm_slug, "next": wanted, "next_query": _query(wanted),
        "names": names, "languages": settings.LANGUAGES, "here": request.get_full_path(),
    }  # fmt: skip
    return render(request, "farm/crew_enter.html", context, status=status)


def _let_in(request: HttpRequest, membership: Membership, *, is_kept: bool) -> HttpResponse:
    """Sign somebody in, in their own language, and go where they were going."""
    token = phones.sign_in(request=request, membership=membership, is_kept=is_kept, now=timezone.now())
    answer = HttpResponseRedirect(_wanted(request) or _first_page(membership))
    if is_kept:
        phones.keep_cookie(answer, token)
        key = key_of(membership)
        if key is not None:
            slug = membership.farm.slug
            recent.keep_name(request=request, response=answer, farm_slug=slug, name=key.short_name)
    else:
        phones.drop_cookie(answer)
    if membership.language:
        answer.set_cookie(
            settings.LANGUAGE_COOKIE_NAME, membership.language, max_age=phones.LASTS, samesite="Lax",
            secure=settings.SESSION_COOKIE_SECURE,
        )  # fmt: skip
    return answer


def _first_page(membership: Membership) -> str:
    """Return where a person lands: the crew at the field page."""
    if membership.role == Membership.Role.CREW:
        try:
            return reverse("field", args=[membership.farm.slug])
        except NoReverseMatch:
            pass
    return membership.farm.get_absolute_url()


def _waiting(wait: timedelta) -> str:
    """Say how long the next try has to wait, and what helps meanwhile."""
    seconds = ceil(wait.total_seconds())
    if seconds < 90:
        time = ngettext("%(n)s second", "%(n)s seconds", seconds) % {"n": seconds}
    else:
        minutes = ceil(seconds / 60)
        time = ngettext("%(n)s minute", "%(n)s minutes", minutes) % {"n": minutes}
    text = _("There were too many wrong codes. The next try counts in %(time)s; a printed square works at once.")
    return text % {"time": time}


def _wanted(request: HttpRequest) -> str:
    """Return where somebody was going: a page of ours, or nothing."""
    wanted = request.POST.get("next", request.GET.get("next", ""))
    hosts = {request.get_host()}
    return wanted if url_has_allowed_host_and_scheme(wanted, hosts, require_https=request.is_secure()) else ""


def _query(wanted: str) -> str:
    query = QueryDict(mutable=True)
    if wanted:
        query["next"] = wanted
    return query.urlencode()


def _farm_in(path: str) -> str:
    """Return the short name of the farm that an address lies below."""
    try:
        return str(resolve(path.partition("?")[0]).kwargs.get("farm_slug", ""))
    except Resolver404:
        return ""
