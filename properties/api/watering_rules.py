"""Districts, their rules and their drought stages: kept by the office, read by all staff."""

from __future__ import annotations

import zoneinfo
from datetime import date
from functools import cached_property
from typing import Any

from django.db.models import Prefetch
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.filters import (
    BY_NAME,
    DroughtStageFilters,
    WateringDistrictFilters,
    WateringRuleFilters,
)
from properties.http.changes import ChangedRowViewSet, KeptRowViewSet
from properties.http.permissions import Access
from properties.http.preconditions import IF_MATCH, read_revision
from properties.http.quantities import QuantityField
from properties.http.serializers import MeasuredRowSerializer, RowSerializer, StrictSerializer
from properties.http.views import staff_of
from properties.models import DroughtStage, StagePeriod, WateringDistrict, WateringRule
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.selectors.company import the_company
from properties.services.watering_districts import change_district, change_stage
from properties.services.watering_rules import add_rule, change_rule, retire_dated, switch_stage

STAGES_WITH_PERIODS = Prefetch(
    "stages",
    DroughtStage.objects.prefetch_related(
        Prefetch("periods", StagePeriod.objects.filter(is_void=False).order_by("first_date", "id"))
    ),
)
_SERVER_FIELDS = ("created_at", "changed_at", "revision")


class PlainIdField(serializers.PrimaryKeyRelatedField[Any]):
    """A reference to a row that all staff may see."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(pk_field=serializers.UUIDField(), **kwargs)


class StagePeriodSerializer(serializers.ModelSerializer[StagePeriod]):
    class Meta:
        model = StagePeriod
        fields = ("id", "stage", "first_date", "last_date")


class WateringDistrictSerializer(RowSerializer[WateringDistrict]):
    """A district; `active_stage` is that of today, by the company's clock."""

    stage_periods = serializers.SerializerMethodField()
    active_stage = serializers.SerializerMethodField()

    class Meta:
        model = WateringDistrict
        fields = (
            "id", "name", "source", "source_address", "is_retired", "active_stage",
            "stage_periods", *_SERVER_FIELDS,
        )  # fmt: skip
        read_only_fields = _SERVER_FIELDS

    @extend_schema_field(StagePeriodSerializer(many=True))
    def get_stage_periods(self, district: WateringDistrict) -> Any:
        rows = sorted(_periods(district), key=lambda period: (period.first_date, period.pk))
        return self._period_form.to_representation(rows)

    @cached_property
    def _period_form(self) -> Any:
        """Make the form once for all rows of a page."""
        return StagePeriodSerializer(many=True)

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_active_stage(self, district: WateringDistrict) -> str | None:
        for period in _periods(district):
            if period.covers(self._today):
                return str(period.stage_id)
        return None

    @cached_property
    def _today(self) -> date:
        """Read the company's clock once for all rows of a page."""
        return company_today()


class SwitchStageSerializer(StrictSerializer):
    """A stage and its days; no stage switches back to the usual rules."""

    stage = PlainIdField(queryset=DroughtStage.objects.all(), allow_null=True)
    first_date = serializers.DateField()
    last_date = serializers.DateField(required=False, allow_null=True, default=None)


class WateringDistrictViewSet(KeptRowViewSet[WateringDistrict]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = WateringDistrict.objects.prefetch_related(STAGES_WITH_PERIODS)
    serializer_class = WateringDistrictSerializer
    filterset_class = WateringDistrictFilters
    orders = BY_NAME
    change_service = staticmethod(change_district)
    retires_by_change = True

    @extend_schema(request=SwitchStageSerializer, responses=WateringDistrictSerializer)
    @action(detail=True, methods=["post"], url_path="switch-stage")
    def switch_stage(self, request: Request, pk: str) -> Response:
        """Switch a drought stage on from a date on, or back to the usual rules."""
        sent = SwitchStageSerializer(data=request.data)
        district = self.get_object()
        sent.is_valid(raise_exception=True)
        switch_stage(district, actor=staff_of(request), now=timezone.now(), **sent.validated_data)
        return Response(self.get_serializer(self.get_object()).data)


class DroughtStageSerializer(RowSerializer[DroughtStage]):
    district = PlainIdField(queryset=WateringDistrict.objects.all())

    class Meta:
        model = DroughtStage
        fields = ("id", "district", "name", "replaces_usual", "is_retired", *_SERVER_FIELDS)
        read_only_fields = _SERVER_FIELDS
        fixed = ("district",)


class DroughtStageViewSet(KeptRowViewSet[DroughtStage]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = DroughtStage.objects.all()
    serializer_class = DroughtStageSerializer
    filterset_class = DroughtStageFilters
    retires_by_change = True

    def change(self, row: DroughtStage, changes: dict[str, Any], revision: int) -> DroughtStage:
        """Put a stage right, or retire it; all answers follow, of past dates too."""
        return change_stage(
            row, changes, on=company_today(), read_revision=revision,
            actor=staff_of(self.request), now=timezone.now(),
        )  # fmt: skip


_RULE_FIELDS = (
    "name", "first_date", "last_date", "clock", "from_day", "until_day", "addresses",
    "last_digits", "takes_no_number", "property_classes", "only_methods", "exempt_methods",
    "only_waters", "exempt_waters", "weekdays", "hours", "closed_hours", "is_ban", "minutes_cap",
    "depth_cap", "planting_any_days", "planting_alternate_days", "planting_frees_hours",
    "treatment_depth", "treatment_within_h", "test_runs", "test_run_cap_min",
)  # fmt: skip
_OPTIONAL = {"required": False, "allow_null": True}


class _RuleSerializer(MeasuredRowSerializer[WateringRule]):
    stage = PlainIdField(queryset=DroughtStage.objects.all(), **_OPTIONAL)
    depth_cap = QuantityField("depth", source="depth_cap_mm", **_OPTIONAL)
    treatment_depth = QuantityField("depth", source="treatment_depth_mm", **_OPTIONAL)


class WateringRuleSerializer(_RuleSerializer):
    """A rule; what is null or empty limits nothing. Weekdays count from Monday = 0."""

    district = PlainIdField(queryset=WateringDistrict.objects.all())

    class Meta:
        model = WateringRule
        fields = ("id", "district", "stage", *_RULE_FIELDS, *_SERVER_FIELDS)
        read_only_fields = _SERVER_FIELDS
        fixed = ("district",)


class RetireRuleSerializer(StrictSerializer):
    last_date = serializers.DateField(help_text="The last day on which it holds.")


class WateringRuleViewSet(ChangedRowViewSet[WateringRule]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = WateringRule.objects.all()
    serializer_class = WateringRuleSerializer
    filterset_class = WateringRuleFilters
    change_service = staticmethod(change_rule)

    def perform_create(self, serializer: serializers.BaseSerializer[WateringRule]) -> None:
        serializer.instance = add_rule(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )

    @extend_schema(
        request=RetireRuleSerializer, responses=WateringRuleSerializer, parameters=[IF_MATCH]
    )
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Let a rule end on a date, when its makers change or lift it."""
        rule, sent = self.get_object(), RetireRuleSerializer(data=request.data)
        revision = read_revision(request, rule.revision)
        sent.is_valid(raise_exception=True)
        retired = retire_dated(
            rule, read_revision=revision, actor=staff_of(request), now=timezone.now(),
            **sent.validated_data,
        )  # fmt: skip
        return Response(self.get_serializer(retired).data)


def company_today() -> date:
    """Return today by the company's clock."""
    return timezone.now().astimezone(zoneinfo.ZoneInfo(the_company().time_zone)).date()


def _periods(district: WateringDistrict) -> list[StagePeriod]:
    return [
        period
        for stage in district.stages.all()
        for period in stage.periods.all()
        if not period.is_void
    ]
