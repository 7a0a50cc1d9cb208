"""One settings file; every switch comes from the environment (see .env.example)."""

import os
import secrets
import sqlite3
import sys
from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("DATA_DIR") or BASE_DIR / ".data").resolve()
DATA_DIR.mkdir(parents=True, exist_ok=True)
# Compiled code of the layout search; read when that is first imported.
os.environ.setdefault("NUMBA_CACHE_DIR", str(DATA_DIR / "compiled"))
TESTING = "pytest" in sys.modules


def _switch(name: str, default: bool) -> bool:
    text = os.environ.get(name, "").strip()
    if text not in ("", "0", "1"):
        raise ImproperlyConfigured(f"{name} is '{text}'; write 1 for yes or 0 for no")
    return default if text == "" else text == "1"


def _count(name: str, default: int) -> int:
    text = os.environ.get(name, "").strip()
    if text and not (text.isascii() and text.isdigit() and len(text) == 1):
        raise ImproperlyConfigured(f"{name} is '{text}'; write a number from 0 to 9")
    return int(text) if text else default


def _with_timeouts(url: str) -> str:
    """Return the address of a Redis with the seconds after which it counts as away."""
    if not url.startswith(("redis://", "rediss://", "unix://")):
        raise ImproperlyConfigured(
            f"REDIS_URL is {url!r}; it must begin with redis://, rediss:// or unix://"
        )
    mark = "&" if "?" in url else "?"
    return f"{url}{mark}socket_connect_timeout=3&socket_timeout=10"


def _secret_key() -> str:
    given = os.environ.get("SECRET_KEY", "")
    if given:
        return given
    # Made once beside the data. Exclusive creation: of two processes starting, one writes.
    path = DATA_DIR / "secret_key"
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text(encoding="ascii")
    with os.fdopen(handle, "w", encoding="ascii") as stream:
        key = secrets.token_urlsafe(64)
        stream.write(key)
    return key


DEBUG = _switch("DEBUG", False)
SECRET_KEY = _secret_key()
_hosts = os.environ.get("ALLOWED_HOSTS", "127.0.0.1,localhost").split(",")
ALLOWED_HOSTS = [host.strip() for host in _hosts if host.strip()]
WORKSHOP_TIME_ZONE = os.environ.get("WORKSHOP_TIME_ZONE", "UTC")

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
    "django_q",
    "workshop",
]

MIDDLEWARE = [
    "workshop.request_log.RequestLogMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    # Drawings are most of a page and shrink to a third. Django pads each answer at random and masks
    # the form's token anew, so that sizes tell nothing of what is in it (BREACH).
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "workshop.read_once.ReadOnceMiddleware",
    "workshop.doors.DoorMiddleware",
    "workshop.own_ways.RecentMiddleware",
]

ROOT_URLCONF = "workshop.urls"
WSGI_APPLICATION = "workshop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "workshop.context.workshop",
            ]
        },
    }
]

# SQLite had a defect that could lose a write-ahead log (sqlite.org/wal.html#walresetbug); it is
# mended in 3.51.3 and in the 3.50.7 and 3.44.6 backports. Elsewhere the old journal is kept.
_version = sqlite3.sqlite_version_info
_wal_is_sound = (
    _version >= (3, 51, 3) or (3, 50, 7) <= _version < (3, 51) or (3, 44, 6) <= _version < (3, 45)
)
_journal, _synchronous = ("WAL", "FULL") if _wal_is_sound else ("DELETE", "EXTRA")
if TESTING:
    _synchronous = "OFF"  # a test database need not survive a power cut
SQLITE = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": DATA_DIR / "workshop.sqlite3",
    "CONN_MAX_AGE": 0 if TESTING else 600,
    # A file, as in use: an in-memory database is one connection and would hide every race.
    "TEST": {"NAME": DATA_DIR / "test.sqlite3"},
    "OPTIONS": {
        "timeout": 20,
        # A reader that later writes would fail under a deferred transaction: measured, 755 of 800.
        "transaction_mode": "IMMEDIATE",
        "init_command": (
            f"PRAGMA journal_mode={_journal};PRAGMA synchronous={_synchronous};"
            "PRAGMA foreign_keys=ON;PRAGMA cache_size=-16000;PRAGMA temp_store=MEMORY;"
        ),
    },
}
if os.environ.get("DATABASE_URL"):
    DATABASES = {
        "default": dj_database_url.parse(
            os.environ["DATABASE_URL"],
            conn_max_age=0 if TESTING else 600,
            conn_health_checks=True,
        )
    }
    if DATABASES["default"]["ENGINE"] == SQLITE["ENGINE"]:
        DATABASES["default"] = {**SQLITE, "NAME": DATABASES["default"]["NAME"]}
else:
    DATABASES = {"default": SQLITE}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# One worker on the database itself. A job is run at least once: results are written once, in our
# own Job record. `timeout` stays below `retry`, or a long job would be started twice. Both are
# short: a layout takes about ten seconds, the effects of thirteen measures half a minute, a size
# run two seconds a foot, and `retry` is how long a maker waits for work whose worker was cut off.
Q_CLUSTER = {
    "name": "workshop",
    "orm": "default",
    "workers": 1,
    "timeout": 110,
    "retry": 120,
    "max_attempts": 3,
    "poll": 0.2,
    "save_limit": 100,
    "catch_up": False,
    "label": "Background work",
    "sync": False,
}
if os.environ.get("REDIS_URL"):
    del Q_CLUSTER["orm"]
    # A page that asks for work must not wait for ever where nobody answers.
    Q_CLUSTER["redis"] = _with_timeouts(os.environ["REDIS_URL"])

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    }
}
X_FRAME_OPTIONS = "DENY"
# No other site is told an address of ours. "no-referrer" would be stricter in name alone, and makes
# browsers send "Origin: null" with our own forms, which the forgery check rightly refuses.
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 14 * 24 * 3600
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Lax"
_tls = _switch("TLS", False)
# How many proxies of ours stand before the web server and write who asks; with HTTPS there is one.
PROXIES = _count("PROXIES", 1 if _tls else 0)
if _tls:
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = True
    SESSION_COOKIE_NAME = "__Host-sessionid"
    CSRF_COOKIE_NAME = "__Host-csrftoken"
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = True
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if host != "*"]

LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"
PASSWORD_HASHERS = (
    # Tests make many logins; the real hash would be most of their time.
    ["django.contrib.auth.hashers.MD5PasswordHasher"]
    if TESTING
    else [
        "django.contrib.auth.hashers.Argon2PasswordHasher",
        "django.contrib.auth.hashers.PBKDF2PasswordHasher",
    ]
)
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [("fonts", BASE_DIR / "patterns" / "drawing" / "fonts")]
STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": DATA_DIR / "uploads", "base_url": None},
    },
    "staticfiles": {
        "BACKEND": (
            "django.contrib.staticfiles.storage.StaticFilesStorage"
            if DEBUG or TESTING
            else "whitenoise.storage.CompressedManifestStaticFilesStorage"
        )
    },
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000
UPLOAD_MAX_BYTES = 20 * 1024 * 1024
FILE_UPLOAD_HANDLERS = [
    "workshop.uploads.SizeBoundHandler",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]

LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = WORKSHOP_TIME_ZONE
FORMAT_MODULE_PATH = "workshop.formats"
SILENCED_SYSTEM_CHECKS = []
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"without paths": {"()": "workshop.request_log.WithoutPaths"}},
    "formatters": {"bare": {"format": "{message}", "style": "{"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "filters": ["without paths"]},
        "requests": {"class": "logging.StreamHandler", "formatter": "bare"},
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        # Django's own handlers print paths, and so the links of customers; these go to the root.
        "django": {"handlers": [], "level": "WARNING", "propagate": True},
        "workshop.requests": {"handlers": ["requests"], "level": "INFO", "propagate": False},
    },
}
# One line of JSON a request, without names, addresses, tokens and queries.
REQUEST_LOG = _switch("REQUEST_LOG", False)
# A job's page answers with an estimate while the pieces of a new foot are drawn. Tests ask for what
# is on the page then.
ESTIMATE_FIRST = _switch("ESTIMATE_FIRST", not TESTING)
