"""Finding who a token belongs to."""

from __future__ import annotations

from datetime import datetime

from properties.models import AccessToken


def valid_token(secret_hash: str, now: datetime) -> AccessToken | None:
    """Return the token with that hash, if it is neither revoked nor expired nor its owner gone."""
    token = AccessToken.objects.select_related("staff").filter(secret_hash=secret_hash).first()
    if token is None or not token.is_valid_at(now) or not token.staff.is_active:
        return None
    return token
