"""Settings that run from a fresh clone on SQLite; every knob is a KAL_ variable in the README."""

from pathlib import Path

from django.utils.csp import CSP

from kal.env import (
    env,
    read_bool,
    read_cache,
    read_choice,
    read_count,
    read_database,
    read_mailer,
    read_secret_key,
    read_sessions,
    read_storage,
    read_token,
)

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.str("DATA_DIR", str(BASE_DIR / "data")))
DATA_DIR.mkdir(parents=True, exist_ok=True)

DEMO = read_bool("DEMO", default=False)
DEBUG = read_bool("DEBUG", default=False)
BASE_URL = env.str("BASE_URL", "http://localhost:8000").rstrip("/")
# A published fallback would let anyone forge sessions, so only a site on this machine gets one.
IS_LOCAL = "://localhost" in BASE_URL or "://127.0.0.1" in BASE_URL
SECRET_KEY = read_secret_key(
    DATA_DIR, fallback="only-for-a-site-that-nobody-else-can-reach-0123456789" if IS_LOCAL else None
)
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = [BASE_URL]

INSTALLED_APPS = [
    "kal",
    "palettes",
    "schedule",
    "allauth",
    "allauth.account",
    "django_htmx",
    "django_tasks_db",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.messages",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "kal.middleware.WatchMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.csp.ContentSecurityPolicyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "kal.middleware.ReaderLanguageMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "kal.middleware.ReaderZoneMiddleware",
    "kal.middleware.NothingToReadMiddleware",
]

ROOT_URLCONF = "kal.urls"
WSGI_APPLICATION = "kal.wsgi.application"

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
                "kal.context.site",
            ],
        },
    },
]

DATABASES = {"default": read_database(default=f"sqlite:///{DATA_DIR / 'knitalong.sqlite3'}")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# The cache counts sign-in attempts, so every process must see the same one: a table by default
# (it needs no further server, and adding a row is atomic), Redis or Valkey by its URL.
CACHES = {"default": read_cache(default="db://kal_cache")}
# Sessions are rows; `cached` reads them from the cache first, and `cache` keeps them nowhere else.
SESSION_ENGINE = f"django.contrib.sessions.backends.{read_sessions()}"
# Proxies in front whose X-Forwarded-For may be believed; with none, the limits per address
# count the proxy itself and the whole crowd shares one allowance.
ALLAUTH_TRUSTED_PROXY_COUNT = read_count("PROXIES", 0)

# What palettes do not know themselves: which of their yarns is A, B, C …, by the letter plan, and
# how many per cent of reserve are in what is asked for.
LETTERS_OF_A_PALETTE = "schedule.letters.letters_by_plan"
RESERVE_IN_NEEDS = "schedule.yarn_plan.reserve_of"

# Accounts: a code by mail and no password, so there is none to leak or forget.
AUTH_USER_MODEL = "kal.User"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
LOGIN_URL = "account_login"
CSRF_FAILURE_VIEW = "kal.unsent.csrf_failure"
LOGIN_REDIRECT_URL = "kal:home"
ACCOUNT_ADAPTER = "kal.accounts.AccountAdapter"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*"]
ACCOUNT_EMAIL_VERIFICATION = "mandatory"
ACCOUNT_EMAIL_VERIFICATION_BY_CODE_ENABLED = True
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_LOGIN_BY_CODE_TIMEOUT = 15 * 60
# Longer than the code lasts, so that a late one is answered with what happened to it.
ACCOUNT_LOGIN_TIMEOUT = 2 * 60 * 60
ACCOUNT_LOGIN_BY_CODE_MAX_ATTEMPTS = 3
# Our choice: a classroom or a household may sign in together, and a mailbox cannot be flooded.
ACCOUNT_RATE_LIMITS = {
    "request_login_code": "30/m/ip,3/m/key,12/h/key",
    "confirm_login_code": "60/m/ip",
    "join_code": "10/m/user",
    "export_mine": "6/h/user",
    # Our choice: more than anybody has to say of a clue in a day, and few enough to read and hide.
    "add_post": "20/d/user",
    "edit_post": "60/d/user",
    "ask_question": "20/d/user",
    "answer_question": "60/d/user",
    "report": "30/d/user",
}
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
ACCOUNT_LOGOUT_REDIRECT_URL = "kal:home"

MAILERS = {"default": read_mailer(default="console://")}
# Over all processes that send; 0 sends as fast as the mail server takes them.
MAIL_PER_MINUTE = read_count("MAIL_PER_MINUTE", 0)
# What one process keeps open at a time; a mail spends most of its time waiting for the server.
MAIL_CONNECTIONS = read_count("MAIL_CONNECTIONS", 2)
DEFAULT_FROM_EMAIL = env.str("MAIL_FROM", "Knit-along <knit-along@localhost>")
if DEMO:
    MAILERS = {"default": {"BACKEND": "kal.demo_mail.DemoMailBackend"}}
DEMO_MAIL_DIR = DATA_DIR / "mail"

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

# Files that people upload are private: no URL leads to them but a view that checks who asks.
MEDIA_ROOT = DATA_DIR / "private"
MEDIA_URL = ""
# Days after a knit-along's end; 0 erases nobody but at their own wish.
ERASE_LEFT_AFTER = read_count("ERASE_LEFT_AFTER", 0)
# Where nginx hands them out, the internal location that leads to MEDIA_ROOT, like "/private/".
NGINX_FILES = env.str("NGINX_FILES", "")
# What nginx knows too, to check passes for PDFs (schedule/passes.py); without one none are made.
NGINX_SECRET = read_token("NGINX_SECRET", least=32)
STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": read_storage(),
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
# Photos and PDFs come one at a time; the form says the limit before the server has to.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
# A clue of ten sections, each with four ways and six counted parts, sends about 1,100.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000

USE_TZ = True
TIME_ZONE = "UTC"
# "en-001" is what the source says: the English of the world, with British spelling and the words of
# the trade everywhere. The two beside it say gauge or tension, bind off or cast off, as one side of
# the ocean does. (A plain "en" would not do: gettext takes it to mean that of the United States.)
LANGUAGES = [
    ("en-001", "English"),
    ("en-gb", "English, UK terms"),
    ("en-us", "English, US terms"),
    ("de", "Deutsch"),
]
LANGUAGE_CODE = read_choice("LANGUAGE", tuple(code for code, _name in LANGUAGES))
LOCALE_PATHS = [BASE_DIR / "locale"]
FORMAT_MODULE_PATH = "kal.formats"
LANGUAGE_COOKIE_HTTPONLY = True
LANGUAGE_COOKIE_SAMESITE = "Lax"
LANGUAGE_COOKIE_AGE = 60 * 60 * 24 * 365
USE_I18N = True

SECURE_CSP = {
    "default-src": [CSP.NONE],
    "script-src": [CSP.SELF],
    "style-src": [CSP.SELF],
    "img-src": [CSP.SELF, "data:", "blob:"],
    "font-src": [CSP.SELF],
    "connect-src": [CSP.SELF],
    "form-action": [CSP.SELF],
    "base-uri": [CSP.NONE],
    "frame-ancestors": [CSP.NONE],
    "object-src": [CSP.NONE],
}
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 60
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = LANGUAGE_COOKIE_SECURE = BASE_URL.startswith(
    "https://"
)
if BASE_URL.startswith("https://"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 60 * 60 * 24 * 30

# A probe on this machine asks by plain HTTP, and is told nothing that needs to be kept from anyone.
SECURE_REDIRECT_EXEMPT = [r"^health/", r"^metrics$"]
# Whoever has this token may read the counts at /metrics; without one nobody may.
METRICS_TOKEN = env.str("METRICS_TOKEN", "")
LOG = read_choice("LOG", ("text", "json"))

# Whoever runs the site has its terminal or journal: a page that failed leaves its reason there.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    # The level is the handler's: a logger below the root may let milder lines through.
    "formatters": {"text": {}, "json": {"()": "kal.logs.JsonFormatter"}},
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "level": "INFO" if LOG == "json" else "WARNING",
            "formatter": LOG,
        }
    },
    "root": {"handlers": ["console"]},
    "loggers": {
        "kal.requests": {"level": "INFO"},
        "django.request": {"level": "ERROR"},
        # With KAL_DEBUG=True Django's own handler would print every line a second time.
        "django": {"handlers": []},
    },
}
