"""The suite: a quick hasher, a fixed key, no throttling; SQLite without DATABASE_URL."""

from __future__ import annotations

from config.settings.base import *
from config.settings.base import REST_FRAMEWORK

SECRET_KEY = "for-tests-only"  # noqa: S105
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
REST_FRAMEWORK = REST_FRAMEWORK | {"DEFAULT_THROTTLE_RATES": {}}
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
FORECAST_SOURCES = []  # whatever the environment says: no test asks a stranger
OBSERVATION_SOURCES = []
FORECAST_ALLOW_LOOPBACK_HTTP = True
FORECAST_CONNECT_S = FORECAST_READ_S = 0.3
FORECAST_DEADLINE_S = 1.0
FORECAST_PAUSE_S = 0.01
FORECAST_LONGEST_PAUSE_S = 0.2
JOB_LEASE_S = 2
HINT_PAUSE_S = 0
JOB_RETRY_S = 0
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
