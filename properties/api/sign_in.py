"""Signing in and out, by token or by browser session, and setting up a second factor."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import get_user, logout
from django.middleware.csrf import get_token
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.authentication import SessionAuthentication
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.api.staff import IssuedTokenSerializer, StaffSerializer, issued
from properties.http.addresses import client_address
from properties.http.permissions import Access
from properties.http.qr_codes import qr_svg
from properties.http.serializers import StrictSerializer
from properties.http.sessions import begin_session, session_lets_in
from properties.http.throttling import SignInRate
from properties.http.views import staff_of
from properties.models import AccessToken
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.second_factor import (
    RECOVERY_CODES,
    confirm_enrolment,
    passes,
    renew_recovery_codes,
)
from properties.services.sign_in import (
    SignInFailedError,
    begin_enrolment,
    issue_token,
    office_sign_in,
    revoke_token,
    session_sign_in,
)


class CredentialsSerializer(StrictSerializer):
    email = serializers.EmailField()
    password = serializers.CharField(max_length=200, trim_whitespace=False)
    code = serializers.CharField(
        max_length=40, default="", allow_blank=True,
        help_text="Six digits of the second factor, or a recovery code.",
    )  # fmt: skip


class SignInSerializer(CredentialsSerializer):
    label = serializers.CharField(max_length=100, default="API client")  # type: ignore[assignment]


class SessionSerializer(serializers.Serializer[Any]):
    staff = StaffSerializer(allow_null=True, help_text="Who is signed in, or nobody.")
    csrf_token = serializers.CharField(
        help_text="Send it as `X-CSRFToken` with every POST, PUT, PATCH and DELETE of this browser."
    )


class EnrolmentSerializer(serializers.Serializer[Any]):
    """Shown once: put the secret into an authenticator, and send its first code."""

    ticket = serializers.CharField()
    secret = serializers.CharField()
    uri = serializers.CharField()
    qr_svg = serializers.CharField()


class ConfirmationSerializer(StrictSerializer):
    ticket = serializers.CharField(max_length=200)
    code = serializers.CharField(max_length=40)
    label = serializers.CharField(max_length=100, default="API client")  # type: ignore[assignment]


class RecoveryCodesSerializer(serializers.Serializer[Any]):
    recovery_codes = serializers.ListField(
        child=serializers.CharField(), min_length=RECOVERY_CODES, max_length=RECOVERY_CODES,
        help_text="Shown once. Each stands one time for the second factor.",
    )  # fmt: skip


class EnrolledSerializer(RecoveryCodesSerializer, IssuedTokenSerializer):
    """The new factor is in force: recovery codes, and a token as from a sign-in."""


class CodeSerializer(StrictSerializer):
    code = serializers.CharField(max_length=40)


class OpenDoorView(APIView):
    """An address that is used before anybody is signed in: counted by address."""

    authentication_classes = ()
    permission_classes = ()
    throttle_classes = (SignInRate,)

    def sent(self, form_class: type[StrictSerializer]) -> dict[str, Any]:
        """Return the checked values of the request."""
        form = form_class(data=self.request.data)
        form.is_valid(raise_exception=True)
        return dict(form.validated_data)

    def caller(self) -> dict[str, Any]:
        return {"address": client_address(self.request), "now": timezone.now()}


class SignInView(OpenDoorView):
    """Exchange an office user's e-mail, password and second factor for a token."""

    @extend_schema(request=SignInSerializer, responses={201: IssuedTokenSerializer}, auth=[])
    def post(self, request: Request) -> Response:
        token, secret = office_sign_in(**self.sent(SignInSerializer), **self.caller())
        return Response(issued(token, secret), status=status.HTTP_201_CREATED)


class SessionView(OpenDoorView):
    """The session of a browser: who is signed in, and signing in with a cookie."""

    @extend_schema(responses={200: SessionSerializer}, auth=[])
    def get(self, request: Request) -> Response:
        plain = request._request
        user = get_user(plain)
        is_in = session_lets_in(plain.session, user)
        return Response(_session(request, user if is_in else None))

    @extend_schema(request=CredentialsSerializer, responses={201: SessionSerializer}, auth=[])
    def post(self, request: Request) -> Response:
        SessionAuthentication().enforce_csrf(request)
        who = self.caller()
        member = session_sign_in(**self.sent(CredentialsSerializer), **who)
        begin_session(request._request, member, now=who["now"])
        return Response(_session(request, member), status=status.HTTP_201_CREATED)

    def get_throttles(self) -> list[Any]:
        return [] if self.request.method == "GET" else super().get_throttles()


class SignOutView(APIView):
    """End the token or the browser session that this request carries."""

    access = Access(read=frozenset(), write=ALL_STAFF)

    @extend_schema(request=None, responses={204: None})
    def post(self, request: Request) -> Response:
        if isinstance(request.auth, AccessToken):
            revoke_token(request.auth, actor=staff_of(request), now=timezone.now())
        else:
            logout(request._request)
        return Response(status=status.HTTP_204_NO_CONTENT)


class SecondFactorView(OpenDoorView):
    """Begin to set up a second factor; who has one already sends a code of it too."""

    @extend_schema(request=CredentialsSerializer, responses={201: EnrolmentSerializer}, auth=[])
    def post(self, request: Request) -> Response:
        begun = begin_enrolment(**self.sent(CredentialsSerializer), **self.caller())
        content = {
            "ticket": begun.ticket, "secret": begun.secret, "uri": begun.uri,
            "qr_svg": qr_svg(begun.uri),
        }  # fmt: skip
        return Response(EnrolmentSerializer(content).data, status=status.HTTP_201_CREATED)


class ConfirmSecondFactorView(OpenDoorView):
    """Put a new second factor in force with the first code of it."""

    @extend_schema(request=ConfirmationSerializer, responses={201: EnrolledSerializer}, auth=[])
    def post(self, request: Request) -> Response:
        sent, now = self.sent(ConfirmationSerializer), timezone.now()
        member, codes = confirm_enrolment(ticket=sent["ticket"], code=sent["code"], now=now)
        token, secret = issue_token(member, label=sent["label"], actor=member, now=now)
        content = {**issued(token, secret), "recovery_codes": codes}
        return Response(content, status=status.HTTP_201_CREATED)


class RecoveryCodesView(APIView):
    """Replace one's recovery codes; a code of the second factor proves that it is there."""

    access = Access(read=frozenset(), write=OFFICE_ONLY, by_person=True)
    throttle_classes = (SignInRate,)

    @extend_schema(request=CodeSerializer, responses={201: RecoveryCodesSerializer})
    def post(self, request: Request) -> Response:
        form = CodeSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        member, now = staff_of(request), timezone.now()
        if not passes(member, form.validated_data["code"], now=now):
            raise SignInFailedError(
                "The code is wrong.",
                code="sign-in",
                remedy="Send the next code; each is good once.",
            )
        codes = renew_recovery_codes(member, actor=member, now=now)
        return Response({"recovery_codes": codes}, status=status.HTTP_201_CREATED)


def _session(request: Request, member: Any) -> dict[str, Any]:
    content = {"staff": member, "csrf_token": get_token(request._request)}
    return dict(SessionSerializer(content).data)
