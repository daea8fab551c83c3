"""Coming in: the one-time link, the password, and where a person lands."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, timedelta
from itertools import chain, count
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import PasswordChangeForm, SetPasswordForm
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.models import User
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.html import format_html
from django.utils.http import urlsafe_base64_decode, urlsafe_base64_encode
from django.utils.translation import gettext as _
from django.views.csrf import csrf_failure as django_csrf_failure
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_http_methods, require_safe
from django_htmx.http import HttpResponseClientRedirect, HttpResponseClientRefresh
from django_htmx.middleware import HtmxDetails

from farm.models import Membership
from farm.sessions import note_seen


class OneTimeTokens(PasswordResetTokenGenerator):
    """Tokens that die when their person logs in, and after PASSWORD_RESET_TIMEOUT seconds."""

    key_salt = "farm.signin.OneTimeTokens"


one_time_tokens = OneTimeTokens()


def first_person() -> User:
    """Return who is let in at the first start: the first farm's manager, or a new keeper of the whole."""
    managers = Membership.objects.filter(role=Membership.Role.MANAGER, user__is_active=True)
    manager = managers.select_related("user").order_by("farm_id", "pk").first()
    if manager is not None:
        return manager.user
    keeper = User.objects.filter(is_superuser=True, is_active=True).order_by("pk").first()
    if keeper is not None:
        return keeper
    names = chain(["keeper"], (f"keeper{number}" for number in count(2)))
    return User.objects.create_superuser(next(name for name in names if not User.objects.filter(username=name)))


def one_time_path(user: User) -> str:
    """Return the path that lets this person in once."""
    return reverse("enter", args=[urlsafe_base64_encode(force_bytes(user.pk)), one_time_tokens.make_token(user)])


@login_not_required
@never_cache
@sensitive_variables("token")
@require_http_methods(["GET", "HEAD", "POST"])
def enter(request: HttpRequest, uidb64: str, token: str) -> HttpResponse:
    """Let the link's person in. Only the button does it: a mail program's preview must not use the link up."""
    person = _person_of(uidb64, token)
    if person is None:
        return render(request, "farm/enter.html", {"person": None}, status=410)
    if request.method != "POST":
        return render(request, "farm/enter.html", {"person": person})
    login(request, person, backend="django.contrib.auth.backends.ModelBackend")
    if not person.has_usable_password():
        words = _("You are in. The link works no more.")
        link = format_html('<a href="{}">{}</a>', reverse("password"), _("Set a password"))
        messages.info(request, format_html("{} {}", words, link))
    return redirect("home")


def _person_of(uidb64: str, token: str) -> User | None:
    try:
        person = User.objects.get(pk=int(urlsafe_base64_decode(uidb64)), is_active=True)
    except (ValueError, OverflowError, User.DoesNotExist):
        return None
    return person if one_time_tokens.check_token(person, token) else None


@sensitive_post_parameters()
@never_cache
def set_password(request: HttpRequest) -> HttpResponse:
    """Set one's first password, or change it."""
    person = get_object_or_404(User, pk=request.user.pk)
    form_class = PasswordChangeForm if person.has_usable_password() else SetPasswordForm
    form = form_class(person, request.POST or None)
    if form.is_valid():
        update_session_auth_hash(request, form.save())
        messages.success(request, _("The password is set."))
        return redirect("home")
    return render(request, "farm/password.html", {"form": form})


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Go to the plan of one's first farm."""
    membership = Membership.objects.held_by(request.user).first()
    if membership is None:
        return render(request, "farm/home.html")
    return redirect(membership.farm)


class SignInMiddleware(LoginRequiredMiddleware):
    """Every view asks for a log-in unless it says otherwise; a fragment's request moves the whole page there."""

    def process_view(
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase], *rest: Any
    ) -> HttpResponseBase | None:
        """Send a stranger to the log-in page, and back from there to the page that was open."""
        response = super().process_view(request, view_func, *rest)
        if request.user.is_authenticated:
            note_seen(request)
        htmx: HtmxDetails | None = getattr(request, "htmx", None)
        if response is not None and htmx:
            return HttpResponseClientRedirect(redirect_to_login(htmx.current_url_abs_path or "/").url)
        return response


@login_not_required
@require_safe
def security_contact(request: HttpRequest) -> HttpResponse:
    """Say whom to tell of a weakness, as RFC 9116 has it; nothing where the operator named nobody in public."""
    if not settings.PUSH_CONTACT:
        raise Http404("No contact is set.")
    expires = timezone.now().replace(microsecond=0) + timedelta(days=180)
    lines = [
        f"Contact: {settings.PUSH_CONTACT}",
        f"Expires: {expires.astimezone(UTC).isoformat().replace('+00:00', 'Z')}",
        "Preferred-Languages: en, es",
    ]
    return HttpResponse("\n".join(lines) + "\n", content_type="text/plain; charset=utf-8")


def locked_out(request: HttpRequest, original_response: HttpResponse | None, credentials: Any) -> HttpResponse:
    """Say that too many wrong passwords came from here, and what helps; whether the name exists is not told."""
    minutes = math.ceil(settings.AXES_COOLOFF_TIME * 60)
    return render(request, "farm/locked.html", {"minutes": minutes}, status=429)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponseBase:
    """Reload a page that was open before its person logged in: its token is stale."""
    if getattr(request, "htmx", False):
        return HttpResponseClientRefresh()
    return django_csrf_failure(request, reason)
