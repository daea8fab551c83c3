"""Pages of the maintenance app."""

from django.urls import path

from maintenance.views.health import health

urlpatterns = [path("health/", health, name="health")]
