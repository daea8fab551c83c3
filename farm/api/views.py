"""Pages about the API: a person's keys, the description for programs, and the docs for people."""

from __future__ import annotations

from typing import Any, Final

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_http_methods, require_safe

from farm.api.describing import description
from farm.api.keys import KeyRefusedError, make_key, revoke
from farm.api.models import ApiKey
from farm.api.problems import KINDS

DAYS: Final = ((30, gettext_lazy("30 days")), (90, gettext_lazy("90 days")), (365, gettext_lazy("a year")))


class KeyForm(forms.Form):
    """What a key is for, what it may, and how long."""

    name = forms.CharField(
        label=gettext_lazy("what it is for"), max_length=80, help_text=gettext_lazy("Such as: the weather board.")
    )
    scope = forms.ChoiceField(
        label=gettext_lazy("it may"), choices=ApiKey.Scope.choices,
        help_text=gettext_lazy("It never may more than you."),
    )  # fmt: skip
    days = forms.TypedChoiceField(label=gettext_lazy("it ends after"), coerce=int, choices=DAYS, initial=90)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""


@never_cache
@sensitive_variables("token")
@require_http_methods(["GET", "HEAD", "POST"])
def api_keys(request: HttpRequest) -> HttpResponse:
    """List one's keys, make one, which is shown once, and take one back."""
    person, now = request.user, timezone.now()
    assert isinstance(person, User)  # noqa: S101 - the middleware lets in nobody else
    if "revoke" in request.POST:
        return _revoke(request, person)
    form, token = KeyForm(request.POST or None), ""
    if form.is_valid():
        try:
            _row, token = make_key(user=person, now=now, **form.cleaned_data)
        except KeyRefusedError as error:
            form.add_error(None, str(error))
    keys = ApiKey.objects.filter(user=person).order_by("-made_at", "-pk")[:100]
    context = {
        "form": KeyForm() if token else form, "token": token,
        "keys": [(key, key.is_live(now)) for key in keys],
    }  # fmt: skip
    return render(request, "farm/api_keys.html", context, status=422 if form.errors and form.is_bound else 200)


def _revoke(request: HttpRequest, person: User) -> HttpResponse:
    chosen = request.POST["revoke"]
    is_number = chosen.isascii() and chosen.isdecimal() and len(chosen) < 19
    if is_number and revoke(user=person, pk=int(chosen), now=timezone.now()):
        messages.success(request, _("The key opens nothing any more."))
    else:
        messages.error(request, _("That key was taken back already."))
    return redirect("api-keys")


@login_not_required
@require_safe
def openapi(request: HttpRequest) -> HttpResponse:
    """Answer the description of the API; it names no farm."""
    found = {**description(), "servers": [{"url": request.build_absolute_uri("/").rstrip("/")}]}
    return JsonResponse(found, json_dumps_params={"ensure_ascii": False})


@login_not_required
@require_safe
def docs(request: HttpRequest) -> HttpResponse:
    """Show every route, what it takes and answers, and what each problem means."""
    found = description()
    groups: dict[str, list[dict[str, Any]]] = {}
    for path, methods in found["paths"].items():
        for method, operation in methods.items():
            groups.setdefault(operation["tags"][0], []).append(_row(path, method, operation, found))
    return render(request, "farm/api_docs.html", {"groups": groups, "problems": KINDS})


def _row(path: str, method: str, operation: dict[str, Any], found: dict[str, Any]) -> dict[str, Any]:
    """Return one operation as the page prints it."""
    body = operation.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema", {})
    named = found["components"]["schemas"].get(str(body.get("$ref", "")).rpartition("/")[2], body)
    return {
        "method": method.upper(), "path": path, "summary": operation["summary"], "id": operation["operationId"],
        "text": operation.get("description", "").replace("``", ""),
        "parameters": [each for each in operation["parameters"] if each["name"] not in ("farm", "pk", "task_pk")],
        "fields": [
            (name, _kind(schema), name in named.get("required", ()), schema.get("description", ""))
            for name, schema in named.get("properties", {}).items()
        ],
    }  # fmt: skip


def _kind(schema: dict[str, Any]) -> str:
    """Return the type of a field in a few words."""
    if "anyOf" in schema:
        return ", ".join(dict.fromkeys(_kind(each) for each in schema["anyOf"]))
    if "enum" in schema:
        return " | ".join(value or '""' for value in schema["enum"])
    if "$ref" in schema:
        return str(schema["$ref"].rpartition("/")[2])
    limits = [f"{sign} {schema[key]}" for key, sign in LIMITS.items() if key in schema]
    return " ".join([str(schema.get("format") or schema.get("type", "")), *limits])


LIMITS: Final = {"minimum": "≥", "exclusiveMinimum": ">", "maximum": "≤"}
