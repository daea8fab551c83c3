"""What a monitor asks: does the whole of it work?"""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from maintenance.services import is_beating


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    """Answer 200 while the worker gives signs of life, 503 when it has fallen silent."""
    beating = is_beating(name="worker", now=timezone.now())
    return JsonResponse({"worker": "working" if beating else "silent"}, status=200 if beating else 503)
