"""Routes below /api/v1/."""

from django.urls import path, re_path

from farm.api.root import around, missing, patterns
from farm.api.views import docs, openapi

urlpatterns = [
    path("openapi.json", openapi, name="api-openapi"),
    path("docs", docs, name="api-docs"),
    *patterns(),
    re_path(r"^.*$", around(missing), name="api-missing"),
]
