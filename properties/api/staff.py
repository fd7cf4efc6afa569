"""The members of staff, and what the office does for one who cannot get in."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.filters import BY_NAME, StaffFilters
from properties.http.changes import RetiresRows
from properties.http.permissions import Access
from properties.http.serializers import StrictSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models import AccessToken, StaffMember
from properties.models.staff import OFFICE_ONLY
from properties.services.lockouts import unlock
from properties.services.second_factor import reset_second_factor
from properties.services.sign_in import issue_device_token
from properties.services.staff import add_staff_member, change_staff_member


class StaffSerializer(StrictSerializer, serializers.ModelSerializer[StaffMember]):
    password = serializers.CharField(write_only=True, required=False, max_length=200)

    class Meta:
        model = StaffMember
        fields = (
            "id", "email", "name", "role", "is_active", "second_factor_at", "password", "revision",
        )  # fmt: skip
        read_only_fields = ("id", "is_active", "second_factor_at", "revision")


class LabelSerializer(StrictSerializer):
    label = serializers.CharField(  # type: ignore[assignment]
        max_length=100, help_text="Such as: phone of the north team."
    )


class IssuedTokenSerializer(serializers.Serializer[Any]):
    token = serializers.CharField(help_text="Shown once. Send it as `Authorization: Bearer ..`.")
    expires_at = serializers.DateTimeField()
    staff = StaffSerializer()


def issued(token: AccessToken, secret: str) -> dict[str, Any]:
    """Return a new token as it is shown, once, to whoever asked for it."""
    content = {"token": secret, "expires_at": token.expires_at, "staff": token.staff}
    return IssuedTokenSerializer(content).data


class StaffViewSet(RetiresRows[StaffMember], mixins.CreateModelMixin, ReadViewSet[StaffMember]):
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY, by_person=True)
    queryset = StaffMember.objects.all()
    serializer_class = StaffSerializer
    filterset_class = StaffFilters
    orders = BY_NAME
    unkept_acts = frozenset({"tokens"})
    change_service = staticmethod(change_staff_member)
    retires_by_change = True

    def perform_create(self, serializer: serializers.BaseSerializer[StaffMember]) -> None:
        values = {"password": None, **serializer.validated_data}
        serializer.instance = add_staff_member(
            **values, actor=staff_of(self.request), now=timezone.now()
        )

    @extend_schema(request=LabelSerializer, responses={201: IssuedTokenSerializer})
    @action(detail=True, methods=["post"])
    def tokens(self, request: Request, pk: str) -> Response:
        """Issue a token for this technician's device; the secret is shown once."""
        form = LabelSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        token, secret = issue_device_token(
            self.get_object(), **form.validated_data, actor=staff_of(request), now=timezone.now()
        )
        return Response(issued(token, secret), status=status.HTTP_201_CREATED)

    @extend_schema(request=None, responses={200: StaffSerializer})
    @action(detail=True, methods=["post"], url_path="reset-second-factor")
    def reset_second_factor(self, request: Request, pk: str) -> Response:
        """Take a lost second factor away; all that this person is signed in with ends."""
        member = reset_second_factor(self.get_object(), actor=staff_of(request), now=timezone.now())
        return Response(self.get_serializer(member).data)

    @extend_schema(request=None, responses={200: StaffSerializer})
    @action(detail=True, methods=["post"])
    def unlock(self, request: Request, pk: str) -> Response:
        """Let somebody try again to sign in who failed too often."""
        member = self.get_object()
        unlock(member, actor=staff_of(request), now=timezone.now())
        return Response(self.get_serializer(member).data)
