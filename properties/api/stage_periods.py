"""From when to when drought stages are on: read by all staff, ended and put right by the office."""

from __future__ import annotations

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.watering_rules import REVISION_HELP
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models import StagePeriod
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.watering_districts import change_period


class StagePeriodRowSerializer(RowSerializer[StagePeriod]):
    class Meta:
        model = StagePeriod
        fields = (
            "id", "stage", "first_date", "last_date", "is_void", "created_at", "changed_at",
            "revision",
        )  # fmt: skip
        read_only_fields = fields


class ChangePeriodSerializer(RowSerializer[StagePeriod]):
    """The days of a period; with a last day it ends, with null it is on until it is ended."""

    id = None  # type: ignore[assignment]
    revision = serializers.IntegerField(required=False, min_value=1, help_text=REVISION_HELP)

    class Meta:
        model = StagePeriod
        fields = ("first_date", "last_date", "revision")


class StagePeriodViewSet(ReadViewSet[StagePeriod]):
    """A stage is switched on at its district; here it is ended."""

    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = StagePeriod.objects.all()
    serializer_class = StagePeriodRowSerializer
    filterset_fields = ("stage", "stage__district", "is_void")

    @extend_schema(request=ChangePeriodSerializer, responses=StagePeriodRowSerializer)
    def partial_update(self, request: Request, pk: str) -> Response:
        """End a stage on a day, or put its days right."""
        period, sent = self.get_object(), ChangePeriodSerializer(data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        changes = dict(sent.validated_data)
        changed = change_period(
            period, changes, read_revision=changes.pop("revision", None),
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        return Response(self.get_serializer(changed).data)
