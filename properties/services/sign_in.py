"""Signing in: password and second factor for the office, tokens for programs and devices."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.db import transaction

from properties.domain.errors import DomainError, InvalidInputError, RefusedError
from properties.domain.secret_hashes import hash_secret
from properties.models import AccessToken, Role, StaffMember, TokenKind
from properties.selectors.tokens import lacks_second_factor
from properties.services import second_factor
from properties.services.events import record_event
from properties.services.lockouts import count_attempt, take_back_attempt
from properties.services.second_factor import Enrolment

__all__ = ["hash_secret"]  # it is asked for here by those who make and find tokens


class SignInFailedError(DomainError):
    """Wrong e-mail, password or code; which of them is not said (HTTP 401)."""


class SecondFactorNeededError(DomainError):
    """The password was right, but this person has no second factor yet (HTTP 401)."""


def identify(*, email: str, password: str, code: str, address: str, now: datetime) -> StaffMember:
    """Return the office user with this password and second factor.

    Whoever fails is told the same, and has cost the same, whether the account exists or not. One
    who has no second factor is asked for none: what he may do then is for the caller to say.
    """
    email = email.strip().lower()
    count_attempt(email=email, address=address, now=now)
    member = _with_password(email, password)
    has_factor = member is not None and member.second_factor_at is not None
    is_right = second_factor.passes(member if has_factor else None, code, now=now)
    if member is None or (has_factor and not is_right):
        raise SignInFailedError(
            "E-mail, password or code is wrong.",
            code="sign-in",
            remedy="Check all three and try again; a code is good once.",
        )
    take_back_attempt(email=email, address=address)
    return member


def identify_fully(
    *, email: str, password: str, code: str, address: str, now: datetime
) -> StaffMember:
    """Return the office user as `identify` does, but nobody who still needs a second factor."""
    member = identify(email=email, password=password, code=code, address=address, now=now)
    if lacks_second_factor(member):
        raise SecondFactorNeededError(
            "You need a second factor to sign in.",
            code="second-factor-needed",
            remedy=f"Set it up at {settings.PUBLIC_URL}/second-factor, then sign in.",
        )
    return member


def office_sign_in(
    *, email: str, password: str, code: str = "", label: str, address: str, now: datetime
) -> tuple[AccessToken, str]:
    """Return a new token and its secret for an office user."""
    member = identify_fully(email=email, password=password, code=code, address=address, now=now)
    return issue_token(member, label=label, actor=member, now=now)


def session_sign_in(
    *, email: str, password: str, code: str = "", address: str, now: datetime
) -> StaffMember:
    """Return the office user for whom a browser session may be opened, and remember that it was."""
    member = identify_fully(email=email, password=password, code=code, address=address, now=now)
    record_event(member, act="signed in", actor=member, now=now)
    return member


def begin_enrolment(
    *, email: str, password: str, code: str = "", address: str, now: datetime
) -> Enrolment:
    """Show a new second factor to whoever has the password, and the old factor if there is one."""
    return second_factor.begin_enrolment(
        identify(email=email, password=password, code=code, address=address, now=now)
    )


@transaction.atomic
def issue_token(
    staff: StaffMember,
    *,
    label: str,
    actor: StaffMember,
    now: datetime,
    kind: str = TokenKind.SIGN_IN,
    days: int | None = None,
) -> tuple[AccessToken, str]:
    """Make a token; the secret is returned once and only its hash is kept."""
    if not staff.is_active:
        raise RefusedError(
            "This person does not work here any more.",
            code="inactive-staff", field="staff", remedy="Make the account active first.",
        )  # fmt: skip
    secret = secrets.token_urlsafe(32)
    token = AccessToken.objects.create(
        staff=staff,
        kind=kind,
        label=label,
        secret_hash=hash_secret(secret),
        created_at=now,
        expires_at=now + timedelta(days=settings.ACCESS_TOKEN_DAYS if days is None else days),
        last_used_at=now if kind == TokenKind.SIGN_IN else None,
    )
    record_event(token, act="token issued", actor=actor, now=now, after={"label": label})
    return token, secret


def issue_program_token(
    staff: StaffMember, *, label: str, days: int, now: datetime
) -> tuple[AccessToken, str]:
    """Make a token for a program of one's own."""
    most = settings.PROGRAM_TOKEN_MOST_DAYS
    if not 1 <= days <= most:
        raise InvalidInputError(
            f"A program's token lasts 1 to {most} days.",
            field="days", code="token-days", remedy="Choose fewer days, and renew it in time.",
        )  # fmt: skip
    return issue_token(staff, label=label, actor=staff, now=now, kind=TokenKind.PROGRAM, days=days)


def issue_device_token(
    staff: StaffMember, *, label: str, actor: StaffMember, now: datetime
) -> tuple[AccessToken, str]:
    """Make a token for a technician's device; an office user signs in by himself."""
    if staff.role != Role.TECHNICIAN:
        raise RefusedError(
            "Only technicians are given tokens by others.",
            code="not-a-technician", field="staff",
            remedy="An office user signs in with his second factor and makes his own tokens.",
        )  # fmt: skip
    return issue_token(staff, label=label, actor=actor, now=now, kind=TokenKind.DEVICE)


@transaction.atomic
def revoke_token(token: AccessToken, *, actor: StaffMember, now: datetime) -> None:
    """End a token at once; ending it twice is free."""
    if AccessToken.objects.filter(pk=token.pk, revoked_at=None).update(revoked_at=now):
        record_event(token, act="token revoked", actor=actor, now=now)


@transaction.atomic
def sign_out_everywhere(member: StaffMember, *, actor: StaffMember, now: datetime) -> int:
    """End all tokens and browser sessions of a person; return how many tokens ended."""
    ended = second_factor.end_sign_ins(member, now=now)
    record_event(member, act="signed out everywhere", actor=actor, now=now, after={"tokens": ended})
    return ended


def note_token_use(token: AccessToken, *, now: datetime) -> None:
    """Remember when a token was used last; this is no act, and leaves no event."""
    AccessToken.objects.filter(pk=token.pk).update(last_used_at=now)


def _with_password(email: str, password: str) -> StaffMember | None:
    member = StaffMember.objects.filter(email=email, role=Role.OFFICE, is_active=True).first()
    if member is None:
        make_password(password)  # an unknown address takes as long as a known one
    elif member.check_password(password):
        return member
    return None
