"""Root routes; the other apps are named by dotted string only."""

from django.contrib import admin
from django.contrib.auth.decorators import login_not_required
from django.urls import include, path
from django.views.i18n import set_language

from farm import reset, sessions, signin
from farm.api.views import api_keys
from farm.crew import entry

urlpatterns = [
    path("", signin.home, name="home"),
    path("enter/<str:uidb64>/<str:token>/", signin.enter, name="enter"),
    path("login/", entry.LogInView.as_view(), name="login"),
    path("logout/", entry.LogOutView.as_view(), name="logout"),
    path("password/", signin.set_password, name="password"),
    path("log-ins/", sessions.log_ins, name="log-ins"),
    path("api-keys/", api_keys, name="api-keys"),
    path("api/v1/", include("farm.api.urls")),
    path("password/forgotten/", reset.forgotten, name="password-forgotten"),
    path("password/new/<str:uidb64>/<str:token>/", reset.NewPassword.as_view(), name="password-new"),
    path(".well-known/security.txt", signin.security_contact, name="security-contact"),
    path("language/", login_not_required(set_language), name="set_language"),
    path("admin/", admin.site.urls),
    path("", include("farm.crew.urls")),
    path("", include("doors.urls")),
    path("", include("maintenance.urls")),
]
