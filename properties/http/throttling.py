"""How many requests a caller may send in a while, counted by all processes together."""

from __future__ import annotations

import logging
import time
from abc import ABC, abstractmethod
from typing import Any, Final

from django.core.cache import cache
from redis import RedisError
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.settings import api_settings
from rest_framework.throttling import BaseThrottle

from properties.http.addresses import client_address
from properties.models import AccessToken, StaffMember

logger = logging.getLogger(__name__)
PERIODS_S: Final = {"s": 1, "m": 60, "h": 3600, "d": 86_400}


class CountedRate(BaseThrottle, ABC):
    """Counts by one atomic step in windows of fixed length; without its cache it lets pass.

    The lock-out of failed sign-ins does not rest on this: its counts stand in the database.
    """

    _wait_s: float | None = None

    @abstractmethod
    def counted_as(self, request: Request) -> tuple[str, str]:
        """Return the scope of the rate, and who the caller is."""

    def allow_request(self, request: Request, view: Any) -> bool:
        scope, caller = self.counted_as(request)
        rate = api_settings.DEFAULT_THROTTLE_RATES.get(scope)
        if not rate:
            return True
        most, period_s = parse_rate(str(rate))
        now_s = time.time()
        window = int(now_s // period_s)
        self._wait_s = (window + 1) * period_s - now_s
        return _count(f"rate:{scope}:{caller}:{window}", period_s) <= most

    def wait(self) -> float | None:
        return self._wait_s


class CallerRate(CountedRate):
    """By token, by session, or by address where nobody is signed in."""

    def counted_as(self, request: Request) -> tuple[str, str]:
        if not isinstance(request.user, StaffMember):
            return "anonymous", client_address(request)
        scope = "read" if request.method in SAFE_METHODS else "write"
        token = request.auth
        return scope, str(token.pk if isinstance(token, AccessToken) else request.user.pk)


class StrangerRate(CountedRate):
    """By address, for requests whose token is unknown: they are refused before other rates."""

    def counted_as(self, request: Request) -> tuple[str, str]:
        return "anonymous", client_address(request)


class SignInRate(CountedRate):
    """By address, whatever account is tried."""

    def counted_as(self, request: Request) -> tuple[str, str]:
        return "sign-in", client_address(request)


def parse_rate(rate: str) -> tuple[int, int]:
    """Return count and seconds of a rate such as `10/min`."""
    count, _, period = rate.partition("/")
    return int(count), PERIODS_S[period[:1]]


def _count(key: str, period_s: int) -> int:
    try:
        cache.add(key, 0, timeout=2 * period_s)
        return cache.incr(key)
    except ValueError:  # it was thrown out between the two steps
        return 1
    except RedisError:
        logger.warning("requests are not counted: the cache does not answer")
        return 0
