"""The door for a WSGI server."""

from __future__ import annotations

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.local")
# Nobody waits longer at a browser or a phone; commands and workers may take their time.
os.environ.setdefault("STATEMENT_TIMEOUT_S", "10")
os.environ.setdefault("IDLE_IN_TRANSACTION_S", "60")
application = get_wsgi_application()
