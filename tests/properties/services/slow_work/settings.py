"""The settings of the suite, with one more kind of job and a queue of one's own."""

from __future__ import annotations

import os

from config.settings.test import *  # noqa: F403
from config.settings.test import INSTALLED_APPS

INSTALLED_APPS = [*INSTALLED_APPS, "tests.properties.services.slow_work.apps.SlowWorkConfig"]
CELERY_TASK_DEFAULT_QUEUE = os.environ.get("SLOW_WORK_QUEUE", "celery")
