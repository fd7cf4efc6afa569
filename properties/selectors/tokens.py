"""Finding who a token belongs to."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings

from properties.models import AccessToken, Role, StaffMember


def valid_token(secret_hash: str, now: datetime) -> AccessToken | None:
    """Return the token with that hash, if it is neither revoked nor expired nor its owner gone."""
    token = AccessToken.objects.select_related("staff").filter(secret_hash=secret_hash).first()
    if token is None or not token.is_valid_at(now) or not may_hold_token(token.staff):
        return None
    return token


def may_hold_token(member: StaffMember) -> bool:
    """Return whether this person's tokens are worth anything: no office user without a factor."""
    if not member.is_active:
        return False
    return member.role != Role.OFFICE or not lacks_second_factor(member)


def lacks_second_factor(member: StaffMember) -> bool:
    """Return whether this person needs a second factor and has none."""
    return settings.OFFICE_SECOND_FACTOR == "required" and member.second_factor_at is None
