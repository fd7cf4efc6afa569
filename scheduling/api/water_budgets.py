"""The water budget of a property: what it is granted, and what it is estimated to use."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.permissions import Access
from properties.http.quantities import QuantityField, QuantityListField
from properties.http.serializers import StrictSerializer
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF
from properties.models.water_budgets import BUDGET_SPANS
from properties.selectors.scope import visible_properties
from scheduling.domain.water_budget import WaterBudget, ZoneShare
from scheduling.selectors.water_budgets import BudgetWeather, PropertyBudget, property_budget
from scheduling.selectors.weather_outlook import local_date

FIRST_YEAR: Final = 1950
LAST_YEAR: Final = 2100


class BudgetQuery(StrictSerializer):
    """The year; this one by the clock of the place when absent."""

    year = serializers.IntegerField(required=False, min_value=FIRST_YEAR, max_value=LAST_YEAR)


class BudgetWeatherSerializer(serializers.Serializer[BudgetWeather]):
    """The ET0 and rain that were counted with: of the year itself, or of the usual year."""

    station = serializers.UUIDField(source="station.pk")
    station_code = serializers.CharField(source="station.code")
    is_measured = serializers.BooleanField()
    first_date = serializers.DateField()
    last_date = serializers.DateField()
    years_used = serializers.IntegerField()
    days_filled = serializers.IntegerField(help_text="From neighbours, of a measured year.")
    et0 = QuantityListField("rain", source="year.et0_mm", help_text="January to December.")
    rain = QuantityListField("rain", source="year.rain_mm", help_text="January to December.")


class ZoneShareSerializer(serializers.Serializer[ZoneShare]):
    """What one zone is estimated to use; `share` is the part of all, 0 to 1."""

    zone = serializers.UUIDField(source="zone.key")
    number = serializers.SerializerMethodField()
    name = serializers.SerializerMethodField()
    area = QuantityField("area", source="zone.area_m2")
    is_special = serializers.BooleanField(source="zone.is_special")
    method = serializers.CharField(source="zone.method")
    plant_factor = serializers.FloatField()
    efficiency = serializers.FloatField()
    use = QuantityField("volume", source="use_l")
    share = serializers.FloatField()

    def get_number(self, share: ZoneShare) -> int:
        return int(self._zone(share).number)

    def get_name(self, share: ZoneShare) -> str:
        return str(self._zone(share).name)

    def _zone(self, share: ZoneShare) -> Zone:
        zones: dict[str, Zone] = self.context["zones"]
        return zones[share.zone.key]


class AllowanceSerializer(serializers.Serializer[WaterBudget]):
    """One allowance; `over` is negative where the use keeps under it."""

    id = serializers.UUIDField(source="rule.key")
    name = serializers.CharField(source="rule.name")
    span = serializers.ChoiceField(choices=BUDGET_SPANS, source="rule.span")
    month = serializers.IntegerField(allow_null=True)
    governs = serializers.SerializerMethodField()
    factor = serializers.FloatField(source="rule.factor")
    special_factor = serializers.FloatField(source="rule.special_factor")
    gallons_per_inch_ft2 = serializers.FloatField(
        source="rule.gallons_per_inch_ft2", allow_null=True, help_text="Null: the exact one."
    )
    et0 = QuantityField("rain", source="et0_mm")
    rain_counted = QuantityField("rain", source="rain_counted_mm")
    allowance = QuantityField("volume", source="allowance_l")
    use = QuantityField("volume", source="use_l")
    over = QuantityField("volume", source="over_l")
    over_percent = serializers.FloatField(allow_null=True)
    sentence = serializers.SerializerMethodField()
    zones = ZoneShareSerializer(many=True)

    def get_governs(self, budget: WaterBudget) -> bool:
        return bool(self.context["budget"].governs(budget))

    def get_sentence(self, budget: WaterBudget) -> str:
        return budget.sentence(self.context["units"])


class MissingAreaSerializer(serializers.Serializer[Zone]):
    """A zone that stands on neither side until its area is known."""

    zone = serializers.UUIDField(source="pk")
    number = serializers.IntegerField()
    name = serializers.CharField()


class PropertyBudgetSerializer(serializers.Serializer[PropertyBudget]):
    """The allowances of a property in a year; without any, `sentence` says why and its cure."""

    property = serializers.UUIDField(source="property_.pk")
    year = serializers.IntegerField()
    rules_on = serializers.DateField(help_text="The day by which the rules were chosen.")
    watering_district = serializers.UUIDField(
        source="property_.watering_district_id", allow_null=True
    )
    sentence = serializers.SerializerMethodField()
    weather = BudgetWeatherSerializer(allow_null=True)
    allowances = AllowanceSerializer(source="budgets", many=True)
    without_area = MissingAreaSerializer(source="unmeasured", many=True)
    plan = QuantityField("volume", source="plan_l", allow_null=True)
    plan_sentence = serializers.SerializerMethodField()

    def get_sentence(self, budget: PropertyBudget) -> str:
        return budget.sentence(self.context["units"])

    def get_plan_sentence(self, budget: PropertyBudget) -> str:
        return budget.plan_sentence(self.context["units"])


class PropertyWaterBudgetView(APIView):
    """What a property is granted in a year, and what its zones are estimated to use."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(
        parameters=[
            OpenApiParameter("year", int, description="This year at the place when absent."),
            UNITS_PARAMETER,
        ],
        responses=PropertyBudgetSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        now, visible = timezone.now(), visible_properties(staff_of(request), timezone.now())
        property_ = get_object_or_404(visible.select_related("watering_district"), pk=pk)
        sent = {name: text for name, text in request.query_params.dict().items() if name != "units"}
        query = BudgetQuery(data=sent)
        query.is_valid(raise_exception=True)
        today = local_date(property_, now)
        budget = property_budget(property_, query.validated_data.get("year", today.year), today)
        zones = {str(zone.pk): zone for zone in budget.zones}
        context = {"units": requested_units(request), "budget": budget, "zones": zones}
        return Response(PropertyBudgetSerializer(budget, context=context).data)
