"""What tests of the forms share: filling one in, and what came back."""

from __future__ import annotations

from typing import Any

from django.contrib.messages import get_messages
from django.urls import reverse

from farm.models import Farm


def post(client: Any, farm: Farm, page: str, /, *args: Any, **data: Any) -> Any:
    """Fill in a form as a browser does and send it."""
    return client.post(reverse(page, args=[farm.slug, *args]), data)


def filled_in(client: Any, url: str) -> dict[str, Any]:
    """Return what a browser would send if nobody touched the form at a URL."""
    form = client.get(url).context["form"]
    values = {bound.html_name: bound.value() if bound.value() is not None else "" for bound in form}
    return {name: value for name, value in values.items() if value is not False}


def errors_of(answer: Any, field: str) -> str:
    """Return the sentence beside a field of a form that came back."""
    assert answer.status_code == 422
    return " ".join(answer.context["form"].errors[field])


def said(answer: Any) -> str:
    """Return the messages a redirect left behind."""
    return " ".join(str(message) for message in get_messages(answer.wsgi_request))
