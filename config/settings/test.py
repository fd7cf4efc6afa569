"""The suite: a quick hasher, a fixed key, no throttling; SQLite without DATABASE_URL."""

from __future__ import annotations

from config.settings.base import *
from config.settings.base import REST_FRAMEWORK

SECRET_KEY = "for-tests-only"  # noqa: S105
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
REST_FRAMEWORK = REST_FRAMEWORK | {"DEFAULT_THROTTLE_RATES": {"sign-in": None}}
JOB_LEASE_S = 2
JOB_RETRY_S = 0
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
