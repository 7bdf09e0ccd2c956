"""One settings file. What differs between machines comes from the environment (see .env.example)."""

from __future__ import annotations

import atexit
import importlib.util
import os
import secrets
import shutil
import sys
import tempfile
from pathlib import Path
from urllib.parse import unquote, urlparse

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent


def env(name: str, default: str | None = None) -> str:
    """A text from the environment; without a default a missing value stops the start."""
    value = os.environ.get(f"GROUNDWORK_{name}", default)
    if value is None:
        raise ImproperlyConfigured(f"Set GROUNDWORK_{name} in the environment. .env.example explains it.")
    return value


def env_bool(name: str, *, default: bool) -> bool:
    """Yes or no from the environment."""
    text = env(name, "yes" if default else "no").strip().lower()
    if text in {"1", "yes", "true", "on"}:
        return True
    if text in {"0", "no", "false", "off", ""}:
        return False
    raise ImproperlyConfigured(f"GROUNDWORK_{name} is {text!r}. Set it to yes or no.")


def env_list(name: str) -> list[str]:
    """A comma-separated list from the environment."""
    return [part.strip() for part in env(name, "").split(",") if part.strip()]


def database(url: str) -> dict[str, object]:
    """A database setting from a path or a postgresql:// address."""
    if not url.startswith(("postgres://", "postgresql://")):
        # WAL lets pages be read while a tablet writes; FULL keeps what a tablet was told is stored;
        # IMMEDIATE queues writers, where a deferred transaction would be refused without waiting.
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": url,
            "OPTIONS": {
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;",
            },
            "CONN_MAX_AGE": 60,
        }
    parts = urlparse(url)
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.lstrip("/")),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": unquote(parts.hostname or "")
        or dict(p.split("=") for p in parts.query.split("&") if p).get("host", ""),
        "PORT": str(parts.port or ""),
        "CONN_MAX_AGE": 60,
    }


TESTING = "pytest" in sys.modules
DEMO = env_bool("DEMO", default=False)
DEBUG = env_bool("DEBUG", default=False)
# Local means: this machine alone, over plain http. The demo is, with invented children.
LOCAL = DEBUG or DEMO or TESTING or env_bool("LOCAL", default=False)

DATA_DIR = Path(env("DATA_DIR", str(BASE_DIR / "var")))
DATA_DIR.mkdir(parents=True, exist_ok=True)


def secret_key() -> str:
    """The key from the environment, or one made once and kept beside the data, readable by its owner only."""
    given = env("SECRET_KEY", "")
    if given:
        return given
    kept = DATA_DIR / "secret.key"
    if not kept.exists():
        handle = os.open(kept, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w") as file:
            file.write(secrets.token_urlsafe(64))
    return kept.read_text().strip()


SECRET_KEY = "only-for-the-suite-" + "0123456789abcdef" * 4 if TESTING else secret_key()
SECRET_KEY_FALLBACKS = env_list("SECRET_KEY_FALLBACKS")
ALLOWED_HOSTS = env_list("ALLOWED_HOSTS") or ["127.0.0.1", "localhost", "[::1]"]
CSRF_TRUSTED_ORIGINS = env_list("TRUSTED_ORIGINS")

DATABASES = {
    "default": database(env("DATABASE", str(DATA_DIR / ("demo.sqlite3" if DEMO else "club.sqlite3"))))
}
if TESTING and str(DATABASES["default"]["ENGINE"]).endswith("sqlite3"):
    # A file, not memory: the page tests share it between threads.
    suite_dir = tempfile.mkdtemp(prefix="groundwork-")
    atexit.register(shutil.rmtree, suite_dir, ignore_errors=True)
    DATABASES["default"]["TEST"] = {"NAME": str(Path(suite_dir) / "suite.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "template_partials",
    "csp",
    "axes",
    "club",
    "athletes",
    "assessments",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "club.middleware.ViewerMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "club.urls"
WSGI_APPLICATION = "club.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "club.context_processors.club",
            ],
            "builtins": ["template_partials.templatetags.partials", "club.templatetags.club_format"],
        },
    }
]

AUTH_USER_MODEL = "club.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = (
    ["django.contrib.auth.hashers.MD5PasswordHasher"]
    if TESTING
    else [
        "django.contrib.auth.hashers.ScryptPasswordHasher",
        "django.contrib.auth.hashers.PBKDF2PasswordHasher",
    ]
)
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "club:sign_in"
LOGIN_REDIRECT_URL = "club:home"
LOGOUT_REDIRECT_URL = "club:sign_in"
PASSWORD_RESET_TIMEOUT = 3600

# Sign-in is slowed per account and address together, so nobody can lock a colleague out from elsewhere.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
# The field of the sign-in form. By default the model's own name for it is taken, and nobody is ever recognised.
AXES_USERNAME_FORM_FIELD = "username"
AXES_FAILURE_LIMIT = 6
AXES_COOLOFF_TIME = 0.25  # hours
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "club/sign_in_locked.html"
AXES_ENABLED = not TESTING
AXES_VERBOSE = False
SILENCED_SYSTEM_CHECKS = ["axes.W003"]

LANGUAGE_CODE = "en-gb"
TIME_ZONE = env("TIME_ZONE", "Europe/London")
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
# Here and now the files are served from where they lie; a server collects them first.
STATIC_ROOT = None if LOCAL else Path(env("STATIC_ROOT", str(BASE_DIR / "staticfiles")))
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if LOCAL
        else "club.hashed_files.HashedFiles"
    },
}
_plotly = importlib.util.find_spec("plotly")
if _plotly is None or not _plotly.submodule_search_locations:
    raise ImproperlyConfigured("plotly is not installed. Run: pip install .")
STATICFILES_DIRS = [("plotly", Path(_plotly.submodule_search_locations[0]) / "package_data")]
WHITENOISE_USE_FINDERS = LOCAL
WHITENOISE_AUTOREFRESH = DEBUG

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        # One short style that plotly's bundle adds for its maps, by its digest; nothing else inline is allowed.
        "style-src": [SELF, "'sha256-ji27qzEtxXZW+7dun6UwjHXJ18e6WAin1VvNtkzIE/o='"],
        "img-src": [SELF, "data:", "blob:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
    }
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "club.views.errors.csrf_failure"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 12 * 3600
SESSION_SAVE_EVERY_REQUEST = False
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_USE_SESSIONS = False
if not LOCAL:
    SECURE_SSL_REDIRECT = env_bool("SSL_REDIRECT", default=True)
    SECURE_HSTS_SECONDS = 31536000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
    SESSION_COOKIE_NAME = "__Host-session"
    CSRF_COOKIE_NAME = "__Host-csrf"
    if env_bool("BEHIND_PROXY", default=False):
        SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
        # Otherwise all the world would share the proxy's address, and anybody could lock a colleague out.
        AXES_CLIENT_IP_CALLABLE = "club.http.client_address"
DATA_UPLOAD_MAX_MEMORY_SIZE = 6 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

EMAIL_HOST = env("EMAIL_HOST", "")
EMAIL_PORT = int(env("EMAIL_PORT", "25"))
EMAIL_HOST_USER = env("EMAIL_USER", "")
EMAIL_HOST_PASSWORD = env("EMAIL_PASSWORD", "")
EMAIL_USE_TLS = env_bool("EMAIL_TLS", default=False)
DEFAULT_FROM_EMAIL = env("EMAIL_FROM", "groundwork@localhost")
EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if EMAIL_HOST
    else "django.core.mail.backends.console.EmailBackend"
)
EMAIL_TIMEOUT = 10

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "loggers": {
        "django.request": {"handlers": ["console"], "level": "ERROR", "propagate": False},
        "axes": {"level": "WARNING"},
    },
}
