"""The settings, each from the environment or with a safe default."""

import os
from pathlib import Path

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from config.databases import database
from config.mail import mail

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = BASE_DIR / "var"


def _flag(name: str) -> bool:
    return os.environ.get(name, "").lower() in {"1", "true", "yes", "on"}


def _secret_key() -> str:
    key = os.environ.get("SECRET_KEY", "")
    file = VAR_DIR / "secret_key"
    if not key and file.exists():
        key = file.read_text().strip()
    if not key:
        raise ImproperlyConfigured(
            "There is no secret key. Set SECRET_KEY in the environment, or start once with ./run, which makes one."
        )
    return key


SECRET_KEY = _secret_key()
DEBUG = _flag("DEBUG")
ALLOWED_HOSTS = os.environ.get("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
CSRF_TRUSTED_ORIGINS = [origin for origin in os.environ.get("TRUSTED_ORIGINS", "").split(",") if origin]

# A fixed date (YYYY-MM-DD) for pictures and trials; empty in a working clinic.
AS_OF = os.environ.get("AS_OF", "")

INSTALLED_APPS = [
    "config",
    "clinic",
    "ledger",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "djmoney",
    "django_htmx",
    "axes",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "config.middleware.PlainAddressMiddleware",
    "config.middleware.BusyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "clinic.views.on_tablet.TabletMiddleware",
    "config.middleware.SignedInMiddleware",
    "config.middleware.GateMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "config.navigation.house",
            ],
            "builtins": ["config.templating"],
            "loaders": [
                (
                    "django.template.loaders.cached.Loader",
                    [
                        "django.template.loaders.filesystem.Loader",
                        "django.template.loaders.app_directories.Loader",
                    ],
                )
            ],
        },
    }
]
FORM_RENDERER = "config.templating.FieldRenderer"

DATABASES = {"default": database(os.environ.get("DATABASE_URL", ""), VAR_DIR / "ledger.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# Money: fixed before the first migration, so that a later list of currencies changes no migration.
# XXX is ISO 4217's "no currency": actions set the fund holder's own.
CURRENCY_CHOICES: list[tuple[str, str]] = []
DEFAULT_CURRENCY = "XXX"
CURRENCY_CODE_MAX_LENGTH = 3
AUTO_CONVERT_MONEY = False

AUTH_USER_MODEL = "clinic.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "clinic:sign_in"
LOGIN_REDIRECT_URL = "clinic:home"

# A clinic shares one public address: count by person and address together, in a rolling window.
AXES_USERNAME_FORM_FIELD = "username"
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = 0.25  # hours
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
AXES_LOCKOUT_CALLABLE = "config.errors.locked_out"
AXES_VERBOSE = False

SESSION_COOKIE_AGE = 12 * 60 * 60
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "config.errors.stale_form"
# HTTPS=1 where the clinic's address is https: cookies then never travel in the open.
HTTPS = _flag("HTTPS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    }
}

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATIC_ROOT = VAR_DIR / "static"
WHITENOISE_USE_FINDERS = True
WHITENOISE_KEEP_ONLY_HASHED_FILES = False
MEDIA_ROOT = Path(os.environ.get("MEDIA_ROOT", VAR_DIR / "media"))
# Where backups are kept: better on another disk, best copied to another building.
BACKUP_ROOT = Path(os.environ.get("BACKUP_ROOT", VAR_DIR / "backups"))
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

LANGUAGE_CODE = "en-us"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

try:
    _MAIL = mail(os.environ, VAR_DIR / "mail")
except ValueError as _wrong:
    raise ImproperlyConfigured(str(_wrong)) from None
globals().update(_MAIL)

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name} {message}", "style": "{"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {
        "axes": {"level": "ERROR"},
        "fontTools": {"level": "ERROR"},
        "django.request": {"level": "ERROR", "handlers": ["stderr"], "propagate": False},
    },
}

SILENCED_SYSTEM_CHECKS = (
    # Without HTTPS=1 the clinic serves its own loopback address in the clear.
    [] if HTTPS else ["security.W004", "security.W008", "security.W012", "security.W016"]
)
