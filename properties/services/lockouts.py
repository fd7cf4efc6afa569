"""Counting failed sign-ins, by account and by address, and shutting the door for a while.

1. An attempt is counted before the password is looked at, so that a thousand at once are a
   thousand; who gets in takes his attempt back.
2. One more than a window allows shuts the door: for the account, known or not, or for the address.
3. It opens by itself, or another office user opens it.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.utils.crypto import salted_hmac

from properties.domain.errors import DomainError
from properties.models import CountedBy, SignInCount, StaffMember
from properties.services.events import record_event

KEPT: Final = timedelta(days=1)
SWEPT_AT_ONCE: Final = 100


class LockedOutError(DomainError):
    """Too many failures, of this account or from this address (HTTP 429)."""

    def __init__(self, *, wait_s: float) -> None:
        super().__init__(
            "There were too many failed attempts to sign in.",
            code="locked-out",
            remedy="Wait as long as Retry-After says, or have another office user unlock you.",
        )
        self.retry_after_s = math.ceil(wait_s)


def count_attempt(*, email: str, address: str, now: datetime) -> None:
    """Count one attempt against the account and the address.

    Raises
    ------
    LockedOutError
        When either door is shut; nothing is said of whether the account exists.
    """
    waits_s = [
        _count(_account_key(email), CountedBy.ACCOUNT, email=email, now=now),
        _count(_address_key(address), CountedBy.ADDRESS, email="", now=now),
    ]
    if any(waits_s):
        raise LockedOutError(wait_s=max(waits_s))


def take_back_attempt(*, email: str, address: str) -> None:
    """Forget the failures of an account that got in; the address loses this one attempt alone."""
    SignInCount.objects.filter(key=_account_key(email)).delete()
    of_address = SignInCount.objects.filter(key=_address_key(address), failures__gt=0)
    of_address.update(failures=F("failures") - 1)


@transaction.atomic
def unlock(member: StaffMember, *, actor: StaffMember | None, now: datetime) -> bool:
    """Open the door of an account; return whether there was anything to forget."""
    forgotten, _ = SignInCount.objects.filter(key=_account_key(member.email)).delete()
    if forgotten:
        record_event(member, act="sign-in unlocked", actor=actor, now=now)
    return bool(forgotten)


@transaction.atomic
def _count(key: str, counted_by: CountedBy, *, email: str, now: datetime) -> float:
    """Count one attempt; return for how many seconds the door stays shut, 0 when it is open."""
    window = timedelta(minutes=settings.SIGN_IN_WINDOW_MIN)
    fresh = {"counted_by": counted_by, "window_ends_at": now + window}
    row, is_new = SignInCount.objects.select_for_update().get_or_create(key=key, defaults=fresh)
    if is_new:
        _sweep(now)
    if row.locked_until is not None and now < row.locked_until:
        return (row.locked_until - now).total_seconds()
    if now >= row.window_ends_at or row.locked_until is not None:
        row.failures, row.window_ends_at, row.locked_until = 0, now + window, None
    row.failures += 1
    if row.failures > _most(counted_by):
        row.locked_until = now + timedelta(minutes=settings.SIGN_IN_LOCK_MIN)
        row.window_ends_at = row.locked_until
        _remember(row, email, now)
    row.save()
    return (row.locked_until - now).total_seconds() if row.locked_until else 0.0


def _remember(row: SignInCount, email: str, now: datetime) -> None:
    member = StaffMember.objects.filter(email=email).first() if email else None
    after = {"counted_by": str(row.counted_by), "failures": row.failures}
    record_event(member or row, act="sign-in locked", actor=None, now=now, after=after)


def _most(counted_by: CountedBy) -> int:
    if counted_by == CountedBy.ACCOUNT:
        return int(settings.SIGN_IN_FAILURES_OF_ACCOUNT)
    return int(settings.SIGN_IN_FAILURES_OF_ADDRESS)


def _sweep(now: datetime) -> None:
    """Drop some old counts whenever a new one comes, so that guessing fills no table."""
    old = SignInCount.objects.filter(window_ends_at__lt=now - KEPT).values("pk")[:SWEPT_AT_ONCE]
    SignInCount.objects.filter(pk__in=list(old.values_list("pk", flat=True))).delete()


def _account_key(email: str) -> str:
    return _key(f"account:{email}")


def _address_key(address: str) -> str:
    return _key(f"address:{address}")


def _key(text: str) -> str:
    salt = "properties.services.lockouts"
    return salted_hmac(salt, text, algorithm="sha256").hexdigest()
