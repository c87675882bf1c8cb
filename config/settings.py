"""All settings, from the environment (``NAME_FILE`` names a file that holds the value of ``NAME``).

Production has no default for a secret: DJANGO_SECRET_KEY must be set. DEVELOPERS.md lists every variable.
"""

from datetime import timedelta
from pathlib import Path
from typing import Any

import environ

from config.logs import logging_settings

env = environ.FileAwareEnv()

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.str("DATA_DIR", default=str(BASE_DIR / ".data"))).absolute()
DEBUG = env.bool("DJANGO_DEBUG", default=False)
SECRET_KEY = env.str(
    "DJANGO_SECRET_KEY", default="insecure-development-key-do-not-use" if DEBUG else environ.Env.NOTSET
)
ALLOWED_HOSTS = env.list("DJANGO_ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.list("DJANGO_CSRF_TRUSTED_ORIGINS", default=[])

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.postgres",
    "rest_framework",
    "django_filters",
    "drf_spectacular",
    "django_structlog",
    "pgtrigger",
    "axes",
    "fleet",
    "defects",
    "inspections",
    "config",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django_structlog.middlewares.RequestMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
APPEND_SLASH = False
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "config" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]

# database -------------------------------------------------------------------------------------------------------------
DATABASE: dict[str, Any] = env.db_url("DATABASE_URL", default="postgresql:///witnessmark")
DATABASE_POOL_MAX = env.int("DATABASE_POOL_MAX", default=0)  # connections a process; 0: one a thread, no pool
DATABASE |= {
    "ENGINE": "django.db.backends.postgresql",
    "CONN_HEALTH_CHECKS": True,
    "CONN_MAX_AGE": 0 if DATABASE_POOL_MAX else env.int("DATABASE_CONN_MAX_AGE", default=0),
}
if DATABASE_POOL_MAX:
    # the URL's own options (a socket folder, say) stay
    DATABASE["OPTIONS"] = {"pool": {"min_size": 1, "max_size": DATABASE_POOL_MAX, "timeout": 10}} | DATABASE.get(
        "OPTIONS", {}
    )
DATABASES = {"default": DATABASE}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# people and passwords -------------------------------------------------------------------------------------------------
AUTH_USER_MODEL = "fleet.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
PROXY_COUNT = env.int("DJANGO_PROXY_COUNT", default=0)  # reverse proxies in front, whose X-Forwarded-For is believed
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_HTTP_RESPONSE_CODE = 429
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False
AXES_CLIENT_IP_CALLABLE = "config.client_ip.client_ip"
AXES_LOCKOUT_CALLABLE = "config.problems.lockout"
CSRF_FAILURE_VIEW = "config.problems.csrf_failure"

# HTTP -----------------------------------------------------------------------------------------------------------------
HTTPS = env.bool("DJANGO_HTTPS", default=not DEBUG)
SECURE_SSL_REDIRECT = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$"]
SECURE_HSTS_SECONDS = env.int("DJANGO_HSTS_SECONDS", default=31_536_000 if HTTPS else 0)
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if PROXY_COUNT else None
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_AGE = 14 * 24 * 3600
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "img-src": ["'self'", "data:", "blob:"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}

LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

# files ----------------------------------------------------------------------------------------------------------------
STATIC_URL = "static/"
STATIC_ROOT = Path(env.str("STATIC_ROOT", default=str(DATA_DIR / "static")))
ATTACHMENT_MAX_BYTES = env.int("ATTACHMENT_MAX_BYTES", default=10 * 1024 * 1024)
MEDIA_ROOT = Path(env.str("MEDIA_ROOT", default=str(DATA_DIR / "attachments")))  # no URL leads there
STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"file_permissions_mode": 0o600, "directory_permissions_mode": 0o700},
    },
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

# broker, cache, jobs (the table of schedules is in config/celery.py) ----------------------------------------------------
CACHES = {"default": env.cache_url("CACHE_URL", default="locmemcache://")}
DJANGO_REDIS_IGNORE_EXCEPTIONS = DJANGO_REDIS_LOG_IGNORED_EXCEPTIONS = True
CELERY_BROKER_URL = env.str("CELERY_BROKER_URL", default="redis://localhost:6379/0")
EMBEDDED_JOBS = CELERY_BROKER_URL.startswith("filesystem://")
CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, Any] = (
    {name: str(DATA_DIR / "queue") for name in ("data_folder_in", "data_folder_out", "control_folder")}
    if EMBEDDED_JOBS
    else {"visibility_timeout": 3600, "socket_connect_timeout": 3}
)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TASK_PUBLISH_RETRY = False  # a message is a nudge: the row behind it is the duty, and sweeps find it
CELERY_TASK_SERIALIZER = CELERY_RESULT_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_TIME_LIMIT = 600
CELERY_TASK_SOFT_TIME_LIMIT = 540
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_TIMEZONE = "UTC"
CELERY_ENABLE_UTC = True
CELERY_BEAT_MAX_LOOP_INTERVAL = 1 if EMBEDDED_JOBS else 30  # seconds that a stopping beat can keep its worker waiting
CELERY_BEAT_SCHEDULE_FILENAME = env.str("BEAT_SCHEDULE", default=str(DATA_DIR / "jobs" / "beat-schedule"))

# mail -----------------------------------------------------------------------------------------------------------------
vars().update(env.email_url("EMAIL_URL", default="consolemail://"))
EMAIL_TIMEOUT = 10
DEFAULT_FROM_EMAIL = SERVER_EMAIL = env.str("DEFAULT_FROM_EMAIL", default="witnessmark@localhost")

# logs -----------------------------------------------------------------------------------------------------------------
LOGGING = logging_settings(json=env.bool("LOG_JSON", default=not DEBUG), level=env.str("LOG_LEVEL", default="INFO"))
DJANGO_STRUCTLOG_CELERY_ENABLED = True
DJANGO_STRUCTLOG_IP_LOGGING_ENABLED = False
DJANGO_STRUCTLOG_USER_ID_FIELD = None

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["fleet.api.authentication.BearerToken", "fleet.api.authentication.PageSession"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],  # of views outside our own base
    "DEFAULT_PARSER_CLASSES": ["fleet.api.parsers.JsonObject"],
    "DEFAULT_RENDERER_CLASSES": ["fleet.api.renderers.JsonAnswer"],
    "DEFAULT_SCHEMA_CLASS": "fleet.api.schema.DocumentedEndpoint",
    "DEFAULT_METADATA_CLASS": None,
    "EXCEPTION_HANDLER": "config.problems.exception_handler",
    "URL_FORMAT_OVERRIDE": None,
    "COERCE_DECIMAL_TO_STRING": False,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
    "NUM_PROXIES": PROXY_COUNT,
}
SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Witnessmark",
    "VERSION": "1",
    "DESCRIPTION": "Airworthiness of a flying club's fleet: inspections, defects and the release to service. Everything "
    "belongs to the club of whoever asks. Errors are RFC 9457 problems whose type leads to a description. The service "
    "records and computes; it does not replace the manufacturer's manuals, the authority's rules or licensed judgement, "
    "and no answer of it is a permission to fly.",
    "OAS_VERSION": "3.1.1",
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "SERVE_INCLUDE_SCHEMA": False,
    "COMPONENT_SPLIT_REQUEST": True,
    "COMPONENT_SPLIT_PATCH": True,
    "PREPROCESSING_HOOKS": ["fleet.api.schema_hooks.only_without_slash"],
    "POSTPROCESSING_HOOKS": [
        "fleet.api.schema_hooks.enums_in_place",
        "fleet.api.schema_hooks.refuse_unknown_fields",
        "fleet.api.schema_hooks.ids_in_paths",
    ],
}
