"""The settings of the suite for processes that are hurt: short waits, a mail server, a clock."""

from __future__ import annotations

import os

from config.settings.test import *  # noqa: F403
from config.settings.test import CELERY_BROKER_TRANSPORT_OPTIONS, INSTALLED_APPS

INSTALLED_APPS = [*INSTALLED_APPS, "tests.reports.faults.apps.FaultsConfig"]
EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
EMAIL_HOST, EMAIL_PORT = "127.0.0.1", int(os.environ["FAULTS_MAIL_PORT"])
EMAIL_TIMEOUT = 5
NOTICE_RETRY_S = 1
HINT_PAUSE_S = 60
CELERY_BROKER_TRANSPORT_OPTIONS = CELERY_BROKER_TRANSPORT_OPTIONS | {"socket_timeout": 2}
# As in service, a sweep that nobody took is no use by the next one: a slow machine heaps up none.
CELERY_BEAT_SCHEDULE = {
    "sweep-jobs": {
        "task": "properties.sweep_jobs", "schedule": 0.4, "options": {"expires": 0.4},
    },
}  # fmt: skip
