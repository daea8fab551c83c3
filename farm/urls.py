"""Root routes; the other apps are named by dotted string only."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
    path("", include("doors.urls")),
    path("", include("maintenance.urls")),
]
