"""The running plan: water or none on each of the next days, and why."""

from __future__ import annotations

import datetime as dt
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.selectors.zones import visible_zones
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models import Property, Zone
from properties.models.staff import ALL_STAFF
from properties.selectors.scope import visible_properties
from scheduling.api.plan_serializers import (
    MENDED_HELP,
    ReasonSerializer,
    RefusalSerializer,
)
from scheduling.domain.running_plan import RunningDay
from scheduling.domain.running_start import StartState
from scheduling.selectors.running_plans import (
    PropertyRunningPlan,
    WaterIn,
    ZoneRunningPlan,
    property_running_plan,
    zone_running_plan,
)


class StartStateSerializer(serializers.Serializer[StartState]):
    """What the roots hold this morning, and how sure that is; waterings before it were not seen."""

    stored = QuantityField("depth", source="stored_mm", help_text="Counted from wilting.")
    limit = QuantityField("depth", source="limit_mm")
    capacity = QuantityField("depth", source="capacity_mm")
    reset_on = serializers.DateField(
        allow_null=True, help_text="The newest day on which rain alone filled the roots."
    )
    days = serializers.IntegerField(help_text="How long the account is since then.")
    days_usual = serializers.IntegerField(help_text="Days since then that nobody has weather for.")
    assumed_waterings = serializers.IntegerField(
        help_text="Days since then on which the controller's setting is taken to have run."
    )
    is_assumed = serializers.BooleanField()


class RunningDaySerializer(serializers.Serializer[RunningDay]):
    """Minutes and cycles are of one watering, depths of the whole day."""

    date = serializers.DateField()
    water = serializers.BooleanField(source="is_watered")
    waterings = serializers.IntegerField()
    minutes = serializers.FloatField()
    cycles = serializers.IntegerField()
    cycle_min = serializers.FloatField()
    soak_min = serializers.FloatField()
    net = QuantityField("depth", source="net_mm")
    gross = QuantityField("depth", source="gross_mm")
    volume = QuantityField("volume", source="litres", allow_null=True)
    et0 = QuantityField("depth", source="et0_mm")
    need = QuantityField("depth", source="need_mm")
    is_forecast = serializers.BooleanField(help_text="ET0 is forecast, else that of the usual day.")
    forecast_rain = QuantityField(
        "rain", source="forecast_rain_mm", allow_null=True, help_text="It never fills the store."
    )
    stored_before = QuantityField("depth", source="stored_before_mm")
    stored_after = QuantityField("depth", source="stored_after_mm")
    deficit = QuantityField("depth", source="deficit_mm", help_text="Need that is not met.")
    limit = QuantityField("depth", source="limit_mm")
    capacity = QuantityField("depth", source="capacity_mm")
    life = serializers.CharField(source="stage")
    labels = serializers.ListField(child=serializers.CharField())
    reasons = ReasonSerializer(many=True)


class WaterInSerializer(serializers.Serializer[WaterIn]):
    """A treatment to be watered in, and what the rules of the district let it have on any day."""

    treatment = serializers.UUIDField(source="treatment.pk")
    product_label = serializers.CharField(source="treatment.label")
    applied_at = serializers.DateTimeField(source="treatment.applied_at")
    until = serializers.DateTimeField(source="treatment.until")
    at_most = QuantityField("depth", source="treatment.at_most_mm", help_text="By its label.")
    rule_at_most = QuantityField(
        "depth", source="limits.rule.at_most_mm", default=None, allow_null=True
    )
    rule_within_hours = serializers.FloatField(
        source="limits.rule.within_h", default=None, allow_null=True
    )
    rule_source = serializers.CharField(source="limits.rule.source", default=None, allow_null=True)
    rule_days = serializers.SerializerMethodField(
        help_text="Days that the rules open for it alone."
    )
    reason = ReasonSerializer()

    def get_rule_days(self, found: WaterIn) -> list[dt.date]:
        return sorted(found.limits.relieved or ())


class ZoneRunningPlanSerializer(serializers.Serializer[ZoneRunningPlan]):
    zone = serializers.UUIDField(source="zone.pk")
    number = serializers.IntegerField(source="zone.number")
    name = serializers.CharField(source="zone.name")
    by_hand = serializers.SerializerMethodField(help_text="No controller: somebody turns it on.")
    estimated = serializers.BooleanField(source="plan.is_estimated", default=None, allow_null=True)
    multiplier = serializers.FloatField(
        source="plan.margin.multiplier", default=None, allow_null=True
    )
    multiplier_assumed = serializers.BooleanField(
        source="plan.margin.assumed", default=None, allow_null=True
    )
    repair_first = serializers.BooleanField(
        source="plan.margin.repair_first", default=None, allow_null=True
    )
    mended_on = serializers.DateField(
        source="facts.mended_on", default=None, allow_null=True, help_text=MENDED_HELP
    )
    setting_since = serializers.DateField(
        allow_null=True, help_text="From when a setting is known; before it no watering is assumed."
    )
    start = StartStateSerializer(source="plan.start", default=None, allow_null=True)
    days = RunningDaySerializer(source="plan.days", many=True, default=())
    net = QuantityField("depth", source="plan.net_mm", default=None, allow_null=True)
    gross = QuantityField("depth", source="plan.gross_mm", default=None, allow_null=True)
    volume = QuantityField("volume", source="plan.litres", default=None, allow_null=True)
    deficit = QuantityField(
        "depth", source="plan.deficit_mm", default=None, allow_null=True,
        help_text="Need of all days that is not met; the days say why.",
    )  # fmt: skip
    reasons = ReasonSerializer(
        source="plan.reasons", many=True, default=(), help_text="What all the minutes stand on."
    )
    water_ins = WaterInSerializer(many=True)
    refusal = RefusalSerializer(allow_null=True)

    def get_by_hand(self, found: ZoneRunningPlan) -> bool:
        return found.zone.controller_id is None


class RunningWeatherSerializer(serializers.Serializer[PropertyRunningPlan]):
    """What the plans stand on; without a forecast its age is null and it is stale."""

    station = serializers.UUIDField(source="station.pk")
    station_name = serializers.CharField(source="station.name")
    days_filled = serializers.IntegerField(
        source="weather.gaps.days_filled", help_text="Days with weather of a neighbouring station."
    )
    days_missing = serializers.IntegerField(source="weather.gaps.days_missing")
    forecast_issued_at = serializers.DateTimeField(source="forecast.issued_at", allow_null=True)
    forecast_age_hours = serializers.FloatField(source="forecast.age_hours", allow_null=True)
    forecast_is_stale = serializers.BooleanField(source="forecast.is_stale")


class PropertyRunningPlanSerializer(serializers.Serializer[PropertyRunningPlan]):
    property = serializers.UUIDField(source="property_.pk")
    weather = RunningWeatherSerializer(source="*")
    zones = ZoneRunningPlanSerializer(many=True)


def _answer(request: Request, found: PropertyRunningPlan) -> Response:
    context: dict[str, Any] = {"units": requested_units(request)}
    return Response(PropertyRunningPlanSerializer(found, context=context).data)


class ZoneRunningPlanView(APIView):
    """The next fourteen days of one zone, computed now."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=PropertyRunningPlanSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        now = timezone.now()
        zone: Zone = get_object_or_404(visible_zones(staff_of(request), now), pk=pk)
        return _answer(request, zone_running_plan(zone, now))


class PropertyRunningPlanView(APIView):
    """The next fourteen days of all zones of a property; a zone without a plan says why."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=PropertyRunningPlanSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        now = timezone.now()
        found = visible_properties(staff_of(request), now)
        property_: Property = get_object_or_404(found, pk=pk)
        return _answer(request, property_running_plan(property_, now))
