"""The settings of the suite, with one more kind of job and a queue of one's own."""

from __future__ import annotations

import os

from kombu import Queue

from config.settings.test import *  # noqa: F403
from config.settings.test import INSTALLED_APPS

INSTALLED_APPS = [*INSTALLED_APPS, "tests.properties.services.slow_work.apps.SlowWorkConfig"]
CELERY_TASK_DEFAULT_QUEUE = os.environ.get("SLOW_WORK_QUEUE", "default")
JOB_QUEUES = dict.fromkeys(("default", "mail", "pdf"), CELERY_TASK_DEFAULT_QUEUE)
CELERY_TASK_QUEUES = [Queue(CELERY_TASK_DEFAULT_QUEUE)]
