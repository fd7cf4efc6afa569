"""`Authorization: Bearer <secret>`, or the session of a browser."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.db import OperationalError
from django.utils import timezone
from rest_framework.authentication import (
    BaseAuthentication,
    SessionAuthentication,
    get_authorization_header,
)
from rest_framework.exceptions import AuthenticationFailed, Throttled
from rest_framework.request import Request

from properties.domain.secret_hashes import hash_secret
from properties.http.sessions import session_lets_in
from properties.http.throttling import StrangerRate
from properties.models import AccessToken, StaffMember
from properties.selectors.tokens import valid_token
from properties.services.sign_in import note_token_use

logger = logging.getLogger(__name__)
USE_NOTED_EACH: Final = timedelta(minutes=10)


class BearerTokenAuthentication(BaseAuthentication):
    """Signs in whoever holds the secret of a valid token."""

    def authenticate(self, request: Request) -> tuple[StaffMember, AccessToken] | None:
        scheme, _, secret = get_authorization_header(request).partition(b" ")
        if scheme.lower() != b"bearer":
            return None
        now = timezone.now()
        token = valid_token(hash_secret(secret.decode("latin-1").strip()), now)
        if token is None:
            _slow_down(request)
            raise AuthenticationFailed("This token is unknown, revoked or expired. Sign in again.")
        _note_use(token, now)
        return token.staff, token

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"


class BrowserSessionAuthentication(SessionAuthentication):
    """Signs in a browser that was signed in with a second factor; unsafe methods need its token."""

    def authenticate(self, request: Request) -> tuple[StaffMember, None] | None:
        if settings.SESSION_COOKIE_NAME not in request.COOKIES:
            return None
        plain = request._request
        if not session_lets_in(plain.session, plain.user):
            return None
        return super().authenticate(request)


def _slow_down(request: Request) -> None:
    """Refuse an address from which too many unknown tokens came."""
    rate = StrangerRate()
    if not rate.allow_request(request, None):
        raise Throttled(wait=rate.wait())


def _note_use(token: AccessToken, now: datetime) -> None:
    """Remember roughly when the token was used last; a reader never waits or fails for that."""
    if token.last_used_at is not None and now - token.last_used_at < USE_NOTED_EACH:
        return
    try:
        note_token_use(token, now=now)
    except OperationalError:
        logger.warning("the use of a token was not noted: the database is busy")
