"""Who gets in, how long he stays, and what he is told: settings of sign-in and safety."""

from __future__ import annotations

import environ
from django.core.exceptions import ImproperlyConfigured

env = environ.Env()

PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
ACCESS_TOKEN_DAYS = 90
PROGRAM_TOKEN_MOST_DAYS = 365

# Whether an office user gets in without a second factor: "required" or "optional". Who has one
# must give it either way.
OFFICE_SECOND_FACTOR = env.str("OFFICE_SECOND_FACTOR", default="required")
if OFFICE_SECOND_FACTOR not in ("required", "optional"):
    raise ImproperlyConfigured("OFFICE_SECOND_FACTOR is required or optional.")
ENROLMENT_MIN = 10  # how long the code to confirm a new second factor is waited for

# Failed sign-ins, counted for each account and for each address; then the door stays shut.
SIGN_IN_WINDOW_MIN = 15
SIGN_IN_LOCK_MIN = env.int("SIGN_IN_LOCK_MIN", default=15)
SIGN_IN_FAILURES_OF_ACCOUNT = env.int("SIGN_IN_FAILURES_OF_ACCOUNT", default=10)
SIGN_IN_FAILURES_OF_ADDRESS = env.int("SIGN_IN_FAILURES_OF_ADDRESS", default=50)

# Browser sessions end after so long without a request, and so long after the sign-in.
SESSION_IDLE_MIN = env.int("SESSION_IDLE_MIN", default=60)
SESSION_MOST_HOURS = env.int("SESSION_MOST_HOURS", default=12)
SESSION_COOKIE_AGE = SESSION_MOST_HOURS * 3600
SESSION_COOKIE_NAME = "session"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"  # "Strict" would sign out whoever follows a link from a mail
CSRF_COOKIE_HTTPONLY = True  # pages carry the token in their forms, `GET /api/v1/session` tells it
CSRF_COOKIE_SAMESITE = "Lax"

# Of one token or session, and of one address where nobody is signed in; "" is without limit.
THROTTLE_RATES = {
    "read": env.str("READ_RATE", default="1200/min"),
    "write": env.str("WRITE_RATE", default="300/min"),
    "anonymous": env.str("ANONYMOUS_RATE", default="60/min"),
    "sign-in": env.str("SIGN_IN_RATE", default="10/min"),
}

SECURE_CONTENT_TYPE_NOSNIFF = True
# With "no-referrer" browsers send `Origin: null`, which the CSRF check of the sign-in refuses.
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"()": "config.log_format.SecretlessFormatter"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
