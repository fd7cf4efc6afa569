"""The settings of the suite for worker processes that are killed: short waits, a mail server."""

from __future__ import annotations

import os

from config.settings.test import *  # noqa: F403
from config.settings.test import INSTALLED_APPS

INSTALLED_APPS = [*INSTALLED_APPS, "tests.reports.faults.apps.FaultsConfig"]
EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
EMAIL_HOST, EMAIL_PORT = "127.0.0.1", int(os.environ["FAULTS_MAIL_PORT"])
EMAIL_TIMEOUT = 5
NOTICE_RETRY_S = 1
CELERY_BEAT_SCHEDULE = {"sweep-jobs": {"task": "properties.sweep_jobs", "schedule": 0.5}}
