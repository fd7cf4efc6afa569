"""Log lines without secrets: neither in a message nor in a traceback."""

from __future__ import annotations

import logging
import re
from functools import lru_cache
from typing import Final
from urllib.parse import unquote, urlsplit

from django.conf import settings

HIDDEN: Final = "(hidden)"
LEAST_LENGTH: Final = 6  # a shorter word would be found inside of others
# What announces a secret, and how far the secret goes.
_ANNOUNCED: Final = (
    re.compile(r"(\bbearer\s+)[^\s'\",]+", re.IGNORECASE),
    re.compile(r"(\botpauth://)\S+"),
    re.compile(r"(\w+://[^\s:/@]*:)[^\s/@]+(?=@)"),
    re.compile(
        r"(\b(?:[\w-]*(?:password|passwd|secret|token|recovery_codes?|sessionid|csrf|cookie)[\w-]*"
        r"|authorization)\b['\"]?\s*[:=]\s*['\"]?)(?!bearer\b)[^\s'\",;&}]+",
        re.IGNORECASE,
    ),
)


class SecretlessFormatter(logging.Formatter):
    """Writes time, level, place and words; what is or looks like a secret is left out."""

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(name)s: %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        return without_secrets(super().format(record))


def without_secrets(text: str) -> str:
    """Return the text with our own secrets, and what follows the word for one, left out."""
    for secret in _own_secrets():
        text = text.replace(secret, HIDDEN)
    for pattern in _ANNOUNCED:
        text = pattern.sub(rf"\g<1>{HIDDEN}", text)
    return text


@lru_cache(maxsize=1)
def _own_secrets() -> tuple[str, ...]:
    """Return the secrets of this installation's settings, the longest first."""
    redis = str(urlsplit(settings.REDIS_URL).password or "")
    database = str(settings.DATABASES["default"].get("PASSWORD") or "")
    known = {
        settings.SECRET_KEY, *map(str, settings.SECRET_KEY_FALLBACKS), database, redis,
        unquote(redis),
        str(getattr(settings, "EMAIL_HOST_PASSWORD", "") or ""),
    }  # fmt: skip
    return tuple(sorted((one for one in known if len(one) >= LEAST_LENGTH), key=len, reverse=True))
