"""A new password by e-mail, for whoever forgot the old one."""

from __future__ import annotations

from typing import Any

from celery import current_app
from django.conf import settings
from django.contrib.auth import views as auth
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import PasswordResetForm
from django.contrib.auth.tokens import default_token_generator
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse_lazy
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

MOST = 10  # letters an hour from one address of the network


class ForgottenForm(PasswordResetForm):
    """Sends the letter, with links to the address that people open."""

    def send_mail(
        self, subject_template_name: str, email_template_name: str, context: dict[str, Any], *rest: Any, **more: Any
    ) -> None:
        """Send it as plain text; the one host that it names is the program's own, never the request's."""
        body = render_to_string("farm/forgotten.txt", {**context, "address": settings.PUBLIC_ADDRESS.rstrip("/")})
        context["user"].email_user(_("A new password for Gablekeep"), body.strip())


def send_letters(*, email: str) -> None:
    """Send a link to everybody who has this address and a password."""
    form = ForgottenForm({"email": email})
    if form.is_valid():
        form.save(domain_override="-", use_https=settings.BEHIND_HTTPS, token_generator=default_token_generator)


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def forgotten(request: HttpRequest) -> HttpResponse:
    """Send a link to an address; the answer is the same whether anybody has it."""
    form = ForgottenForm(request.POST or None)
    sent = False
    if request.method == "POST" and settings.HAS_MAIL_SERVER and form.is_valid():
        sent = True
        if _may_ask(request.META.get("REMOTE_ADDR", "")):  # sent by the worker: how long it takes tells nothing
            current_app.send_task("farm.tasks.send_new_password", kwargs={"email": form.cleaned_data["email"]})
    return render(request, "farm/forgotten.html", {"form": form, "sent": sent, "has_mail": settings.HAS_MAIL_SERVER})


@method_decorator([login_not_required, never_cache], name="dispatch")
class NewPassword(auth.PasswordResetConfirmView):
    """The page that the link leads to."""

    template_name = "farm/new_password.html"
    success_url = reverse_lazy("home")
    post_reset_login = True
    post_reset_login_backend = "django.contrib.auth.backends.ModelBackend"


def _may_ask(place: str) -> bool:
    key = f"forgotten-{place}"
    cache.add(key, 0, 3600)
    try:
        return cache.incr(key) <= MOST
    except ValueError:  # the hour ended between the two lines
        return True
