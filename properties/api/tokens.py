"""One's own tokens: what is signed in where, and tokens for programs."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.staff import IssuedTokenSerializer, issued
from properties.http.permissions import Access
from properties.http.serializers import StrictSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models import AccessToken
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.sign_in import issue_program_token, revoke_token, sign_out_everywhere


class TokenSerializer(serializers.ModelSerializer[AccessToken]):
    class Meta:
        model = AccessToken
        fields = (
            "id", "kind", "label", "created_at", "last_used_at", "expires_at", "revoked_at",
        )  # fmt: skip
        read_only_fields = fields


class ProgramTokenSerializer(StrictSerializer):
    label = serializers.CharField(  # type: ignore[assignment]
        max_length=100, help_text="Which program uses it, such as: bookkeeping."
    )
    days = serializers.IntegerField(
        default=settings.ACCESS_TOKEN_DAYS, help_text="How long it lasts."
    )


class EndedSerializer(serializers.Serializer[Any]):
    tokens = serializers.IntegerField(help_text="How many tokens ended.")


class TokenViewSet(ReadViewSet[AccessToken]):
    """The caller's own tokens, those that ended too; never their secrets."""

    access = Access(
        read=ALL_STAFF, write=OFFICE_ONLY, by_person=True,
        acts=(("revoke", ALL_STAFF), ("revoke_all", ALL_STAFF)),
    )  # fmt: skip
    queryset = AccessToken.objects.all()
    serializer_class = TokenSerializer
    unkept_acts = frozenset({"create"})

    def get_queryset(self) -> QuerySet[AccessToken]:
        rows = super().get_queryset()
        if getattr(self, "swagger_fake_view", False):
            return rows
        return rows.filter(staff=staff_of(self.request))

    @extend_schema(request=ProgramTokenSerializer, responses={201: IssuedTokenSerializer})
    def create(self, request: Request) -> Response:
        """Make a token for a program of one's own; the secret is shown once."""
        form = ProgramTokenSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        token, secret = issue_program_token(
            staff_of(request), **form.validated_data, now=timezone.now()
        )
        return Response(issued(token, secret), status=status.HTTP_201_CREATED)

    @extend_schema(request=None, responses={200: TokenSerializer})
    @action(detail=True, methods=["post"])
    def revoke(self, request: Request, pk: str) -> Response:
        """End one of one's own tokens at once."""
        token = self.get_object()
        revoke_token(token, actor=staff_of(request), now=timezone.now())
        token.refresh_from_db()
        return Response(self.get_serializer(token).data)

    @extend_schema(request=None, responses={200: EndedSerializer})
    @action(detail=False, methods=["post"], url_path="revoke-all")
    def revoke_all(self, request: Request) -> Response:
        """End all of one's own tokens and browser sessions, this one too."""
        member = staff_of(request)
        ended = sign_out_everywhere(member, actor=member, now=timezone.now())
        return Response({"tokens": ended})
