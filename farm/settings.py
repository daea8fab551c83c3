"""The only settings file, and the only place that reads the environment."""

import os
import secrets
from pathlib import Path
from typing import Any

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured
from django.utils.translation import gettext_lazy as _

from farm.embedded import broker_url, socket_path

BASE_DIR = Path(__file__).resolve().parent.parent


def read_text(name: str, default: str) -> str:
    """Return a variable's text; an empty one counts as not set."""
    return os.environ.get(name, "").strip() or default


def read_bool(name: str, *, default: bool) -> bool:
    """Return a variable that says yes or no."""
    text = read_text(name, "1" if default else "0").lower()
    if text not in {"1", "true", "yes", "on", "0", "false", "no", "off"}:
        raise ImproperlyConfigured(f"{name} is {text!r}; write 1 for yes or 0 for no.")
    return text in {"1", "true", "yes", "on"}


def read_int(name: str, default: int, *, low: int, high: int) -> int:
    """Return a variable that is a whole number within limits."""
    text = read_text(name, str(default))
    if not text.isdecimal() or not low <= int(text) <= high:
        raise ImproperlyConfigured(f"{name} is {text!r}; write a whole number from {low} to {high}.")
    return int(text)


def read_list(name: str, default: list[str]) -> list[str]:
    """Return a variable's comma-separated words."""
    return [word.strip() for word in read_text(name, ",".join(default)).split(",") if word.strip()]


def read_path(name: str, default: str) -> Path:
    """Return a variable that names a folder; a relative one lies beside manage.py."""
    return (BASE_DIR / Path(read_text(name, default)).expanduser()).resolve()


def read_secret_key(path: Path) -> str:
    """Return the kept key; before the first start, a new one for that start to keep."""
    try:
        key = path.read_text(encoding="ascii").strip()
    except (FileNotFoundError, NotADirectoryError):
        return secrets.token_urlsafe(50)
    except (OSError, ValueError) as error:
        raise ImproperlyConfigured(f"The secret key in {path} cannot be read: {error}") from error
    if len(key) < 50:
        raise ImproperlyConfigured(f"{path} is cut short. Delete it: a new one is made, and all log in again.")
    return key


def read_database(default: Path) -> dict[str, Any]:
    """Return Django's description of the database that DATABASE_URL names, or of the file ``default``."""
    url = read_text("DATABASE_URL", "")
    kept: dict[str, Any] = {"CONN_MAX_AGE": 60, "CONN_HEALTH_CHECKS": True}
    if url.startswith(("postgres://", "postgresql://")):
        try:
            return dj_database_url.parse(url) | kept
        except ValueError as error:
            raise ImproperlyConfigured(f"DATABASE_URL cannot be read: {error}") from error
    if url and not url.startswith("sqlite:///"):
        raise ImproperlyConfigured("DATABASE_URL must begin with postgresql:// or sqlite:///.")
    # Web, worker and beat share the file: take the write lock first and wait for it, never fail half-way.
    pragmas = "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;"
    options = {"transaction_mode": "IMMEDIATE", "timeout": 20, "init_command": pragmas}
    file = BASE_DIR / url.removeprefix("sqlite:///") if url else default
    return {"ENGINE": "django.db.backends.sqlite3", "NAME": str(file), "OPTIONS": options, **kept}


# Where the farm's data lives. Everything in RUN_DIR is made anew at each start.
DATA_DIR = read_path("GABLEKEEP_DATA", "data")
RUN_DIR = DATA_DIR / "run"
SECRET_KEY_FILE = DATA_DIR / "secret_key"
KEEPS_SECRET_KEY = not read_text("GABLEKEEP_SECRET_KEY", "")
SECRET_KEY = read_secret_key(SECRET_KEY_FILE) if KEEPS_SECRET_KEY else read_text("GABLEKEEP_SECRET_KEY", "")
DATABASES = {"default": read_database(DATA_DIR / "gablekeep.sqlite3")}

# What the web server answers to.
DEBUG = read_bool("GABLEKEEP_DEBUG", default=False)
HOST = read_text("GABLEKEEP_HOST", "127.0.0.1")
PORT = read_int("GABLEKEEP_PORT", 8000, low=1, high=65535)
ALLOWED_HOSTS = read_list("GABLEKEEP_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
BEHIND_HTTPS = read_bool("GABLEKEEP_HTTPS", default=False)
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS] if BEHIND_HTTPS else []

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_tables2",
    "django_filters",
    "django_htmx",
    "csp",
    "farm",
    "doors",
    "maintenance",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "farm.signin.SignInMiddleware",
]
ROOT_URLCONF = "farm.urls"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.template.context_processors.i18n",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "farm.context.units",
            ]
        },
    }
]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
STATIC_URL = "static/"
STATIC_ROOT = RUN_DIR / "static"

LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"
PASSWORD_RESET_TIMEOUT = 60 * 60  # seconds: a one-time link lives an hour
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}Validator"}
    for name in ("UserAttributeSimilarity", "MinimumLength", "CommonPassword")
]

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
# Names of our own: a browser shares cookies between all ports of 127.0.0.1.
SESSION_COOKIE_NAME = "gablekeep_session"
CSRF_COOKIE_NAME = "gablekeep_csrf"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = BEHIND_HTTPS
SECURE_HSTS_SECONDS = 30 * 24 * 3600 if BEHIND_HTTPS else 0
# A farm's other hosts and the browsers' own lists are not ours to bind.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
CSRF_FAILURE_VIEW = "farm.signin.csrf_failure"
X_FRAME_OPTIONS = "DENY"

LANGUAGE_CODE = "en"
LANGUAGES = [("en", _("English")), ("es", _("Spanish"))]
LOCALE_PATHS = [BASE_DIR / "farm" / "locale"]
USE_TZ = True
TIME_ZONE = "UTC"

# Celery. Its clock thinks in UTC: a local zone would skip or repeat an hour twice a year.
REDIS_URL = read_text("REDIS_URL", "")
EMBEDDED_QUEUE = not REDIS_URL
QUEUE_SOCKET = socket_path(RUN_DIR)
CELERY_BROKER_URL = REDIS_URL or broker_url(QUEUE_SOCKET)
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BEAT_SCHEDULER = "celery.beat:Scheduler"  # keeps no file that a crash could spoil
CELERY_TASK_DEFAULT_QUEUE = "gablekeep"
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_TIME_LIMIT = 10 * 60  # seconds
CELERY_TIMEZONE = "UTC"
CELERY_WORKER_CANCEL_LONG_RUNNING_TASKS_ON_CONNECTION_LOSS = True
CELERY_WORKER_CONCURRENCY = read_int("GABLEKEEP_WORKERS", 2, low=1, high=32)
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
