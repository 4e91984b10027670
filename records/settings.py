"""Settings. Two profiles: *shed* (a laptop without internet, plain HTTP on a trusted Wi-Fi)
and *server* (an institution's machine, HTTPS). Everything comes from the environment; a shed
needs none of it."""

import os
import secrets
from pathlib import Path

import environ
from csp.constants import NONE, SELF
from django.utils.translation import gettext_lazy as _

BASE_DIR = Path(__file__).resolve().parent.parent
env = environ.Env()

PROFILE = env.str("PROFILE", default="shed")
if PROFILE not in {"shed", "server"}:
    raise environ.ImproperlyConfigured(f"PROFILE is 'shed' or 'server', not {PROFILE!r}.")
ON_SERVER = PROFILE == "server"

# Everything a shed writes: database, originals, derivatives, key, log.
DATA_FOLDER = Path(env.str("DATA_FOLDER", default=str(BASE_DIR / "shed-data"))).resolve()
DATA_FOLDER.mkdir(parents=True, exist_ok=True)


def _kept_secret_key() -> str:
    """The shed's own key: made once, kept beside the data it signs for."""
    place = DATA_FOLDER / "secret-key"
    try:
        handle = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return place.read_text().strip()
    with os.fdopen(handle, "w") as out:
        key = secrets.token_urlsafe(60)
        out.write(key)
        out.flush()
        os.fsync(out.fileno())
    return key


SECRET_KEY = env.str("SECRET_KEY", default="") or ("" if ON_SERVER else _kept_secret_key())
DEBUG = env.bool("DEBUG", default=False)
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=[] if ON_SERVER else ["*"])
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])

INSTALLED_APPS = [
    "django.forms",  # its widget templates, found beside ours
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "simple_history",
    "axes",
    "csp",
    "django_tasks",
    "django_tasks_db",
    "records",
]
AUTH_USER_MODEL = "records.Account"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "records.sign_in.PasswordBackend",
    "records.sign_in.PinBackend",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "records.small_pages.SmallPagesMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "records.crew_session.CrewSessionMiddleware",
    "records.acting.ActingMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "csp.middleware.CSPMiddleware",
    "axes.middleware.AxesMiddleware",
    "records.fresh_pages.FreshPagesMiddleware",
    "records.draft_sends.DraftSendMiddleware",
]
ROOT_URLCONF = "records.urls"
WSGI_APPLICATION = "records.wsgi.application"
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
                "records.views.top_line.frame",
            ],
        },
    }
]
FORM_RENDERER = "records.forms.renderer.HouseRenderer"

DATABASES = {
    "default": env.db_url("DATABASE_URL", default=f"sqlite:///{DATA_FOLDER / 'record.sqlite3'}")
}
DATABASES["default"]["CONN_MAX_AGE"] = 60
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        # FULL: sheds lose power, and in WAL anything less may lose the last dives logged.
        "init_command": (
            "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;PRAGMA temp_store=MEMORY;"
            "PRAGMA mmap_size=134217728;PRAGMA journal_size_limit=27103364;"
        ),
    }
    # A file, not memory: several processes write at once, in tests too.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_FOLDER / "test-record.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "home"
AXES_FAILURE_LIMIT = env.int("SIGN_IN_TRIES", default=8)
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = "records.sign_in.throttled_by"
AXES_USERNAME_CALLABLE = "records.sign_in.name_tried"
AXES_LOCKOUT_TEMPLATE = "people/locked_out.html"
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False
AXES_SENSITIVE_PARAMETERS = ["username", "ip_address", "pin"]  # never kept with a wrong try
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # waiting a quarter of an hour is enough
AXES_DISABLE_ACCESS_LOG = True  # sign-ins stand in the log, and in the history of what they did
CREW_SESSION_AGE_S = env.int("CREW_SESSION_AGE_S", default=4 * 3600)

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True  # scripts send the token of their page
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if ON_SERVER:
    SECURE_SSL_REDIRECT = env.bool("SECURE_SSL_REDIRECT", default=True)
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "style-src": [SELF],
        "script-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

LANGUAGE_CODE = env.str("LANGUAGE_CODE", default="en-gb")
LANGUAGES = [("en-gb", _("British English"))]
FORMAT_MODULE_PATH = "records.formats"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATIC_ROOT = Path(env.str("STATIC_ROOT", default=str(DATA_FOLDER / "static")))
STORAGES = {
    "default": {  # originals and derivatives
        "BACKEND": env.str("FILE_STORAGE", default="records.intake.storage.DurableStorage"),
        "OPTIONS": env.json(
            "FILE_STORAGE_OPTIONS", default={"location": str(DATA_FOLDER / "files")}
        ),
    },
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
# What is taken in at most; beyond it a file is refused in words.
PICTURE_BYTES_MAX = env.int("PICTURE_BYTES_MAX", default=500_000_000)
VIDEO_BYTES_MAX = env.int("VIDEO_BYTES_MAX", default=20_000_000_000)
# Of one card: RAW and JPEG of a long run. One who picks a whole disk is told so.
CARD_FILES_MAX = env.int("CARD_FILES_MAX", default=1_000)
# What is sent by a form goes to disk at once: twenty files must not fill the memory.
FILE_UPLOAD_HANDLERS = ["django.core.files.uploadhandler.TemporaryFileUploadHandler"]
PICTURE_PIXELS_MAX = env.int("PICTURE_PIXELS_MAX", default=200_000_000)
# Processes that make pictures for the screen; 0 makes them in the worker itself.
PICTURE_PROCESSES = env.int("PICTURE_PROCESSES", default=min(os.cpu_count() or 1, 4))
# Folders a second copy may go to on a server; in a shed the director types one.
SECOND_COPY_FOLDERS = env.list("SECOND_COPY_FOLDERS", default=[])
# Files are refused while the disk still has this much left, so that the database can write.
DISK_RESERVE_BYTES = env.int("DISK_RESERVE_BYTES", default=200_000_000)
WHITENOISE_USE_FINDERS = DEBUG
WHITENOISE_KEEP_ONLY_HASHED_FILES = False

TASKS = {
    "default": {
        "BACKEND": "django_tasks_db.DatabaseBackend",
        "QUEUES": ["quick", "long"],
    }
}
# A job that shows no sign of life for so long is given up for dead and starts again.
JOB_SILENT_S = env.float("JOB_SILENT_S", default=30.0)
# Folders whose cards may be read by "read the card in this machine" (shed profile only).
CARD_FOLDERS = [] if ON_SERVER else env.list("CARD_FOLDERS", default=[])

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "formatter": "line"},
        "kept": {
            "class": "logging.handlers.RotatingFileHandler",
            # One a process: two that turn over the same file lose lines, and fail on Windows.
            "filename": str(DATA_FOLDER / f"{env.str('LOG_NAME', default='shed')}.log"),
            "maxBytes": 2_000_000,
            "backupCount": 3,
            "delay": True,
            "formatter": "line",
        },
    },
    "root": {"handlers": ["console"] if ON_SERVER else ["kept"], "level": "INFO"},
    "loggers": {"axes": {"level": "WARNING"}, "django.request": {"level": "ERROR"}},
}
SILENCED_SYSTEM_CHECKS: list[str] = []
