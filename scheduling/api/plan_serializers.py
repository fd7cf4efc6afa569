"""How computed plans go out: quantities in the units of the request."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from properties.http.quantities import QuantityField, QuantityListField
from scheduling.domain.run_times import SeasonPlan, ZonePlan
from scheduling.models import WateringPlan
from scheduling.selectors.property_weather import WeatherGaps
from scheduling.selectors.seasons import PropertySeason, ZoneSeasonFacts

MENDED_HELP = "Rate and uniformity were measured before the repair of this day; retest awaited."


class ReasonSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()
    about = serializers.CharField(help_text="Which number of the plan it explains.")


class RainSkipSerializer(serializers.Serializer[Any]):
    """After so much rain at once, skip so many days."""

    rain = QuantityField("rain", source="rain_mm")
    days = serializers.IntegerField()


class DayLimitSerializer(serializers.Serializer[Any]):
    """What one limit lets a watering day give; the least of them decides."""

    code = serializers.CharField()
    net = QuantityField("depth", source="net_mm")
    decides = serializers.BooleanField()


class ZonePlanSerializer(serializers.Serializer[ZonePlan]):
    month = serializers.IntegerField()
    et0_per_day = QuantityField("depth", source="et0_mm_day")
    need_per_day = QuantityField("depth", source="need_mm_day")
    plant_factor = serializers.FloatField(help_text="ET0 x this x quality x site is the need.")
    quality_factor = serializers.FloatField()
    site_factor = serializers.FloatField()
    readily_available = QuantityField("depth", source="raw_mm")
    net_per_watering = QuantityField("depth", source="net_mm")
    days_between = serializers.IntegerField(allow_null=True)
    gaps_days = serializers.ListField(child=serializers.IntegerField())
    weekdays = serializers.ListField(child=serializers.IntegerField(), allow_null=True)
    waterings_per_day = serializers.IntegerField()
    minutes_low = serializers.FloatField(help_text="Net depth over the measured rate, exact.")
    minutes_high = serializers.FloatField(help_text="The same, lengthened for unevenness, exact.")
    minutes = serializers.FloatField(help_text="To set: all cycles of one watering together.")
    cycles = serializers.IntegerField()
    cycle_min = serializers.FloatField()
    soak_min = serializers.FloatField()
    gross_per_watering = QuantityField("depth", source="gross_mm")
    weekly_net = QuantityField("depth", source="weekly_net_mm")
    weekly_gross = QuantityField("depth", source="weekly_gross_mm")
    uneven_loss_per_watering = QuantityField(
        "depth", source="uneven_loss_mm", help_text="Gross less net."
    )
    weekly_uneven_loss = QuantityField("depth", source="weekly_uneven_loss_mm")
    net_of_gaps = QuantityListField(
        "depth", source="gap_nets_mm", help_text="What the plants use over each of the gaps."
    )
    limits = DayLimitSerializer(many=True)
    life = serializers.CharField(source="stage", help_text="What the plants live through.")
    weekly_volume = QuantityField("volume", source="litres_per_week", allow_null=True)
    multiplier = serializers.FloatField()
    multiplier_assumed = serializers.BooleanField()
    estimated = serializers.BooleanField()
    mended_on = serializers.DateField(allow_null=True, help_text=MENDED_HELP)
    repair_first = serializers.BooleanField()
    uncapped_multiplier = serializers.FloatField(help_text="What the uniformity would ask for.")
    weekly_beyond_cap = QuantityField(
        "depth",
        source="beyond_cap_mm_week",
        help_text="Water over that of the plan that making up for the unevenness would cost.",
    )
    weekly_volume_beyond_cap = QuantityField(
        "volume", source="beyond_cap_litres_week", allow_null=True
    )
    rain_skip = RainSkipSerializer(allow_null=True)
    shortfall_per_day = QuantityField("depth", source="shortfall_mm_day")
    reasons = ReasonSerializer(many=True)


class SeasonPlanSerializer(serializers.Serializer[SeasonPlan]):
    months = ZonePlanSerializer(many=True)
    need = QuantityField("depth", source="need_mm")
    net = QuantityField("depth", source="net_mm")
    gross = QuantityField("depth", source="gross_mm")
    shortfall = QuantityField("depth", source="shortfall_mm")
    volume = QuantityField("volume", source="litres", allow_null=True)


class RefusalSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    detail = serializers.CharField()
    remedy = serializers.CharField()


class ZoneSeasonSerializer(serializers.Serializer[ZoneSeasonFacts]):
    zone = serializers.UUIDField(source="zone.pk")
    number = serializers.IntegerField(source="zone.number")
    name = serializers.CharField(source="zone.name")
    by_hand = serializers.SerializerMethodField(help_text="No controller: somebody turns it on.")
    estimated = serializers.BooleanField(
        source="facts.estimated", default=None, allow_null=True,
        help_text="No catch test tells the rate: the heads, the hose or the emitters do.",
    )  # fmt: skip
    test = serializers.UUIDField(source="test.pk", default=None, allow_null=True)
    rate = QuantityField("rate", source="rate_mm_h", allow_null=True)
    found_weekly_min = serializers.FloatField(allow_null=True)
    found_weekly = QuantityField("depth", source="found_weekly_mm", allow_null=True)
    season = SeasonPlanSerializer(source="plan", allow_null=True)
    refusal = RefusalSerializer(allow_null=True)

    def get_by_hand(self, found: ZoneSeasonFacts) -> bool:
        return found.zone.controller_id is None


class WeatherGapsSerializer(serializers.Serializer[WeatherGaps]):
    """Of how many days of the station's newest year the weather was filled in, or is missing."""

    first_date = serializers.DateField()
    last_date = serializers.DateField()
    days_filled = serializers.IntegerField()
    days_missing = serializers.IntegerField()


class UsualYearSerializer(serializers.Serializer[Any]):
    """What the plans stand on."""

    station = serializers.UUIDField(source="station.pk")
    station_name = serializers.CharField(source="station.name")
    first_date = serializers.DateField(source="climate.first_date")
    last_date = serializers.DateField(source="climate.last_date")
    years_used = serializers.IntegerField(source="climate.years_used")
    few_years = serializers.BooleanField(source="climate.few_years")
    newest_year = WeatherGapsSerializer(source="gaps", allow_null=True)


class PropertySeasonSerializer(serializers.Serializer[PropertySeason]):
    property = serializers.UUIDField(source="property_.pk")
    usual_year = UsualYearSerializer(source="*")
    zones = ZoneSeasonSerializer(many=True)
    volume = QuantityField("volume", source="litres", allow_null=True)
    cost = serializers.DecimalField(max_digits=12, decimal_places=2, allow_null=True)
    currency = serializers.SerializerMethodField()

    def get_currency(self, season: PropertySeason) -> str:
        return str(self.context["currency"])


class WateringPlanSerializer(serializers.ModelSerializer[WateringPlan]):
    """A stored revision, metric as it was computed, with the inputs that made it."""

    class Meta:
        model = WateringPlan
        fields = (
            "id", "zone", "number", "station", "test", "is_estimated", "inputs", "months",
            "created_at",
        )  # fmt: skip
