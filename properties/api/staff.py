"""Signing in and out, and the members of staff."""

from __future__ import annotations

from typing import Any, cast

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import ScopedRateThrottle
from rest_framework.views import APIView

from properties.http.permissions import Access
from properties.http.serializers import StrictSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models import AccessToken, StaffMember
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.sign_in import issue_token, office_sign_in, revoke_token
from properties.services.staff import add_staff_member


class StaffSerializer(StrictSerializer, serializers.ModelSerializer[StaffMember]):
    password = serializers.CharField(write_only=True, required=False, max_length=200)

    class Meta:
        model = StaffMember
        fields = ("id", "email", "name", "role", "is_active", "password")
        read_only_fields = ("id", "is_active")


class SignInSerializer(StrictSerializer):
    email = serializers.EmailField()
    password = serializers.CharField(max_length=200, trim_whitespace=False)
    label = serializers.CharField(max_length=100, default="API client")  # type: ignore[assignment]


class LabelSerializer(StrictSerializer):
    label = serializers.CharField(  # type: ignore[assignment]
        max_length=100, help_text="Such as: phone of the north team."
    )


class IssuedTokenSerializer(serializers.Serializer[Any]):
    token = serializers.CharField(help_text="Shown once. Send it as `Authorization: Bearer ..`.")
    expires_at = serializers.DateTimeField()
    staff = StaffSerializer()


def _issued(token: AccessToken, secret: str) -> dict[str, Any]:
    content = {"token": secret, "expires_at": token.expires_at, "staff": token.staff}
    return IssuedTokenSerializer(content).data


class SignInView(APIView):
    """Exchange an office user's e-mail and password for a token."""

    authentication_classes = ()
    permission_classes = ()
    throttle_classes = (ScopedRateThrottle,)
    throttle_scope = "sign-in"

    @extend_schema(request=SignInSerializer, responses={201: IssuedTokenSerializer}, auth=[])
    def post(self, request: Request) -> Response:
        form = SignInSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        token, secret = office_sign_in(**form.validated_data, now=timezone.now())
        return Response(_issued(token, secret), status=status.HTTP_201_CREATED)


class SignOutView(APIView):
    """End the token that this request carries."""

    access = Access(read=frozenset(), write=ALL_STAFF)

    @extend_schema(request=None, responses={204: None})
    def post(self, request: Request) -> Response:
        revoke_token(cast(AccessToken, request.auth), actor=staff_of(request), now=timezone.now())
        return Response(status=status.HTTP_204_NO_CONTENT)


class StaffViewSet(mixins.CreateModelMixin, ReadViewSet[StaffMember]):
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = StaffMember.objects.all()
    serializer_class = StaffSerializer
    filterset_fields = ("role", "is_active", "email")

    def perform_create(self, serializer: serializers.BaseSerializer[StaffMember]) -> None:
        values = {"password": None, **serializer.validated_data}
        serializer.instance = add_staff_member(
            **values, actor=staff_of(self.request), now=timezone.now()
        )

    @extend_schema(request=LabelSerializer, responses={201: IssuedTokenSerializer})
    @action(detail=True, methods=["post"])
    def tokens(self, request: Request, pk: str) -> Response:
        """Issue a token for this person; the secret is shown once."""
        form = LabelSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        token, secret = issue_token(
            self.get_object(), **form.validated_data, actor=staff_of(request), now=timezone.now()
        )
        return Response(_issued(token, secret), status=status.HTTP_201_CREATED)
