"""`Authorization: Bearer <secret>`."""

from __future__ import annotations

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from properties.models import AccessToken, StaffMember
from properties.selectors.tokens import valid_token
from properties.services.sign_in import hash_secret


class BearerTokenAuthentication(BaseAuthentication):
    """Signs in whoever holds the secret of a valid token."""

    def authenticate(self, request: Request) -> tuple[StaffMember, AccessToken] | None:
        scheme, _, secret = get_authorization_header(request).partition(b" ")
        if scheme.lower() != b"bearer":
            return None
        token = valid_token(hash_secret(secret.decode("latin-1").strip()), timezone.now())
        if token is None:
            raise AuthenticationFailed("This token is unknown, revoked or expired. Sign in again.")
        return token.staff, token

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"
