"""Signing in: passwords for the office, tokens for programs and phones."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.db import transaction

from properties.domain.errors import DomainError, RefusedError
from properties.models import AccessToken, Role, StaffMember
from properties.services.events import record_event


class SignInFailedError(DomainError):
    """Wrong e-mail or password; which of the two is not said (HTTP 401)."""


def office_sign_in(
    *, email: str, password: str, label: str, now: datetime
) -> tuple[AccessToken, str]:
    """Return a new token and its secret for an office user with this password."""
    member = StaffMember.objects.filter(
        email=email.strip().lower(), role=Role.OFFICE, is_active=True
    ).first()
    if member is None:
        make_password(password)  # an unknown address takes as long as a known one
    if member is None or not member.check_password(password):
        raise SignInFailedError(
            "E-mail or password is wrong.", code="sign-in", remedy="Check both and try again."
        )
    return issue_token(member, label=label, actor=member, now=now)


@transaction.atomic
def issue_token(
    staff: StaffMember, *, label: str, actor: StaffMember, now: datetime
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
        label=label,
        secret_hash=hash_secret(secret),
        created_at=now,
        expires_at=now + timedelta(days=settings.ACCESS_TOKEN_DAYS),
    )
    record_event(token, act="token issued", actor=actor, now=now, after={"label": label})
    return token, secret


@transaction.atomic
def revoke_token(token: AccessToken, *, actor: StaffMember, now: datetime) -> None:
    """End a token at once; ending it twice is free."""
    if AccessToken.objects.filter(pk=token.pk, revoked_at=None).update(revoked_at=now):
        record_event(token, act="token revoked", actor=actor, now=now)


def hash_secret(secret: str) -> str:
    """Return what is stored of a 256-bit secret; it needs no salt and no slow hash."""
    return hashlib.sha256(secret.encode()).hexdigest()
