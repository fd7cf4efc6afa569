"""One machine, nothing installed: SQLite, a generated key, files served by the same process."""

from __future__ import annotations

from config.settings.base import *
from config.settings.base import VAR_DIR, env
from config.settings.secret_key import stored_secret_key

DEBUG = env.bool("DEBUG", default=False)
SECRET_KEY = env.str("SECRET_KEY", default="") or stored_secret_key(VAR_DIR)
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
OFFICE_SECOND_FACTOR = env.str("OFFICE_SECOND_FACTOR", default="optional")
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
