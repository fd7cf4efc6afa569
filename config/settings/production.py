"""In service: everything that must not be guessed is required, everything on the wire is TLS."""

from __future__ import annotations

from django.core.exceptions import ImproperlyConfigured

from config.settings.base import *
from config.settings.base import ALLOWED_HOSTS, DATABASES, PUBLIC_URL, REDIS_URL, env

SECRET_KEY = env.str("SECRET_KEY", default="")
SECRET_KEY_FALLBACKS: list[str] = env.list("SECRET_KEY_FALLBACKS", default=[])

_missing = [
    name
    for name, is_set in (
        ("SECRET_KEY (50 characters or more)", len(SECRET_KEY) >= 50),
        ("ALLOWED_HOSTS", bool(ALLOWED_HOSTS)),
        ("DATABASE_URL (PostgreSQL)", DATABASES["default"]["ENGINE"].endswith("postgresql")),
        ("REDIS_URL", bool(REDIS_URL)),
        ("PUBLIC_URL (https)", PUBLIC_URL.startswith("https://")),
    )
    if not is_set
]
if _missing:
    raise ImproperlyConfigured(f"Set in the environment: {', '.join(_missing)}.")

SECURE_SSL_REDIRECT = True
SECURE_HSTS_SECONDS = 31_536_000
SECURE_HSTS_INCLUDE_SUBDOMAINS = True
SECURE_HSTS_PRELOAD = True
SECURE_PROXY_SSL_HEADER = (
    ("HTTP_X_FORWARDED_PROTO", "https") if env.bool("BEHIND_PROXY", False) else None
)
SESSION_COOKIE_SECURE = True
SESSION_COOKIE_NAME = "__Host-session"
CSRF_COOKIE_SECURE = True
CSRF_COOKIE_NAME = "__Host-csrf"
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
