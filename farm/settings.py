"""The only settings file, and with its readers in ``farm/env.py`` the only place that reads the environment."""

from csp.constants import NONE, SELF
from django.utils.translation import gettext_lazy as _

from farm.embedded import broker_url, socket_path
from farm.env import (
    BASE_DIR,
    read_address,
    read_bool,
    read_contact,
    read_database,
    read_int,
    read_list,
    read_path,
    read_secret_key,
    read_sender,
    read_smtp,
    read_text,
)

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
_own_address = f"https://{ALLOWED_HOSTS[0]}" if BEHIND_HTTPS else f"http://{HOST}:{PORT}"
KNOWS_PUBLIC_ADDRESS = bool(read_text("GABLEKEEP_ADDRESS", ""))
PUBLIC_ADDRESS = read_address("GABLEKEEP_ADDRESS", _own_address)  # stands before the links in messages

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
    "axes",
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
    "farm.crew.middleware.KnownPhoneMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "farm.signin.SignInMiddleware",
    "maintenance.middleware.FarmChangeMiddleware",
    "axes.middleware.AxesMiddleware",  # the last one: it turns a locked log-in into a page
]
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
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
MEDIA_ROOT = DATA_DIR / "photos"  # served by a view of its own, to the farm's members only

LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"
PASSWORD_RESET_TIMEOUT = 60 * 60  # seconds: a one-time link lives an hour
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}Validator"}
    for name in ("UserAttributeSimilarity", "MinimumLength", "CommonPassword")
]

# Guessing passwords: one name from one place may fail so often, then it waits. A right password starts anew.
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "farm.signin.locked_out"
AXES_RESET_ON_SUCCESS = True
AXES_ENABLE_ADMIN = False
AXES_DISABLE_ACCESS_LOG = True  # failures are counted; who came in is no list of ours
AXES_VERBOSE = False

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
SESSION_ENGINE = "farm.sessions"
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
FORMAT_MODULE_PATH = ["farm.formats"]
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

# What other programs may ask of /api/v1/.
API_PER_MINUTE = read_int("GABLEKEEP_API_PER_MINUTE", 300, low=1, high=100_000)  # requests of one key
API_LARGEST_BODY = 256 * 1024  # bytes

# Backups, one a day: so many are kept, and none longer than so many days.
BACKUP_FOLDER = read_path("GABLEKEEP_BACKUPS", str(DATA_DIR / "backups"))
BACKUPS_KEPT = read_int("GABLEKEEP_BACKUPS_KEPT", 30, low=1, high=1000)
BACKUP_DAYS = read_int("GABLEKEEP_BACKUP_DAYS", 90, low=1, high=3650)

# Messages to people. Without a mail server they wait, and their page says so.
_mail = read_smtp("GABLEKEEP_SMTP")
HAS_MAIL_SERVER = bool(_mail)
EMAIL_HOST, EMAIL_PORT = _mail.get("host", ""), _mail.get("port", 0)
EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = _mail.get("user", ""), _mail.get("password", "")
EMAIL_USE_TLS, EMAIL_USE_SSL = _mail.get("starttls", False), _mail.get("tls", False)
EMAIL_TIMEOUT = 10  # seconds, for each step
DEFAULT_FROM_EMAIL = read_sender("GABLEKEEP_MAIL_FROM", user=EMAIL_HOST_USER, address=PUBLIC_ADDRESS)
PUSH_KEY_FILE = DATA_DIR / "vapid.pem"
PUSH_CONTACT = read_contact("GABLEKEEP_CONTACT", sender=DEFAULT_FROM_EMAIL, address=PUBLIC_ADDRESS)

# Where forecasts come from; another address serves for a mirror, or for a stand-in.
WEATHER_SERVICES = {
    "nws": read_address("GABLEKEEP_NWS", "https://api.weather.gov"),
    "open_meteo": read_address("GABLEKEEP_OPEN_METEO", "https://api.open-meteo.com"),
}
