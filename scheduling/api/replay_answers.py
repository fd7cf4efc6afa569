"""The stored answer of a replay, in the units of the request."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from properties.http.quantities import QuantityField, QuantityListField


class _NumbersField(serializers.ListField):
    """One number for each year or month; null where there is none."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(child=serializers.FloatField(allow_null=True), **kwargs)


class _CountsField(serializers.ListField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(child=serializers.IntegerField(), **kwargs)


class NoteSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()


class YearLeftOutSerializer(serializers.Serializer[Any]):
    year = serializers.IntegerField()
    days_missing = serializers.IntegerField()


class ReplayWeatherSerializer(serializers.Serializer[Any]):
    station = serializers.CharField()
    years = _CountsField()
    years_left_out = YearLeftOutSerializer(many=True)
    days_filled = serializers.IntegerField(help_text="Days with weather of a neighbour.")
    days_usual = serializers.IntegerField(help_text="Days on which the usual need stands in.")
    resting_months = _CountsField(help_text="Months in which nothing runs.")


class PickedYearsSerializer(serializers.Serializer[Any]):
    """By need less effective rain."""

    dry = serializers.IntegerField()
    median = serializers.IntegerField()
    wet = serializers.IntegerField()


class ZoneProblemSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    field = serializers.CharField(allow_blank=True)
    detail = serializers.CharField()
    remedy = serializers.CharField()


class ZonePeriodsSerializer(serializers.Serializer[Any]):
    """One value for each period in every list."""

    need = QuantityListField("depth", source="need_mm")
    gross = QuantityListField("depth", source="gross_mm")
    runoff = QuantityListField("depth", source="runoff_mm", help_text="Net depth.")
    drained = QuantityListField("depth", source="drained_mm", help_text="Of irrigation.")
    deficit = QuantityListField("depth", source="deficit_mm", help_text="Need that was not met.")
    watering_days = _CountsField()
    stress_days = _CountsField(help_text="Growing days on which the need was not met.")
    dry_days = _CountsField(help_text="Growing days that end below the readily available water.")
    litres = QuantityListField("volume", allow_null=True, help_text="Gross; null without an area.")


class ZoneMonthsSerializer(ZonePeriodsSerializer):
    """January to December of one year."""

    year = serializers.IntegerField()


class ZoneYearsSerializer(ZonePeriodsSerializer):
    effective_rain = QuantityListField("depth", source="effective_rain_mm")
    net = QuantityListField("depth", source="net_mm")
    uneven_loss = QuantityListField("depth", source="uneven_loss_mm", help_text="Gross less net.")
    drained_rain = QuantityListField("depth", source="drained_rain_mm")
    net_litres = QuantityListField("volume", allow_null=True)
    adequacy = _NumbersField()
    excess = _NumbersField()
    scheduling_efficiency = _NumbersField()
    money = _NumbersField(allow_null=True, help_text="Null without a price of water.")


class ReplayedZoneSerializer(serializers.Serializer[Any]):
    zone = serializers.UUIDField()
    number = serializers.IntegerField()
    problem = ZoneProblemSerializer(allow_null=True, help_text="Why it could not be replayed so.")
    area = QuantityField("area", source="area_m2", default=None, allow_null=True)
    net_fraction = serializers.FloatField(default=None, allow_null=True)
    years = ZoneYearsSerializer(default=None, allow_null=True)
    months = ZoneMonthsSerializer(many=True, default=list)


class IntervalSerializer(serializers.Serializer[Any]):
    """Of the litres of one coming year, in nine of ten cases; and what makes it so wide."""

    low = QuantityField("volume", source="litres_low")
    high = QuantityField("volume", source="litres_high")
    years_half = QuantityField(
        "volume", allow_null=True, help_text="By the spread from year to year; null of one year."
    )
    rates_low = QuantityField("volume", help_text="By the intervals of the rates, downwards.")
    rates_high = QuantityField("volume")
    zones_unmeasured = serializers.IntegerField(help_text="Their error of rate is not in it.")
    sentence = serializers.CharField()


class DifferencePartSerializer(serializers.Serializer[Any]):
    """Some of the zones; within its interval lie nine of ten coming years."""

    zones = serializers.ListField(child=serializers.UUIDField())
    litres = QuantityField("volume")
    low = QuantityField("volume", source="litres_low")
    high = QuantityField("volume", source="litres_high")


class DifferencePartsSerializer(serializers.Serializer[Any]):
    """Apart, for a thirsty zone hides what another wastes; null where there is no such zone."""

    less = DifferencePartSerializer(default=None, allow_null=True)
    more = DifferencePartSerializer(default=None, allow_null=True)


class DifferenceSerializer(serializers.Serializer[Any]):
    """This variant less the first, in a mean year: below 0 it takes, or harms, less."""

    litres = QuantityField("volume")
    litres_low = QuantityField("volume", help_text="In the year in which it is lowest.")
    litres_high = QuantityField("volume")
    percent = serializers.FloatField(allow_null=True)
    stress_days = serializers.FloatField(help_text="Of a mean zone.")
    money = serializers.FloatField(allow_null=True)
    zones = serializers.IntegerField(help_text="So many zones could be replayed both ways.")
    sentence = serializers.CharField()
    interval = IntervalSerializer(default=None, allow_null=True)
    parts = DifferencePartsSerializer(default=None, allow_null=True)


class PropertyPeriodSerializer(serializers.Serializer[Any]):
    """All zones of the summary as one; days of a mean zone."""

    litres = QuantityField("volume", help_text="Gross.")
    runoff = QuantityField("volume", source="runoff_l", help_text="Net.")
    drained = QuantityField("volume", source="drained_l", help_text="Of irrigation, net.")
    stress_days = serializers.FloatField()
    dry_days = serializers.FloatField()
    adequacy = serializers.FloatField(allow_null=True, help_text="Weighted by need.")
    excess = serializers.FloatField(allow_null=True, help_text="Weighted by net water.")
    money = serializers.FloatField(allow_null=True, help_text="Null without a price of water.")


class ReplaySummarySerializer(serializers.Serializer[Any]):
    """Over the zones that every variant could replay, so that variants stand side by side."""

    zones = serializers.IntegerField()
    mean_year = PropertyPeriodSerializer()
    dry_year = PropertyPeriodSerializer()
    median_year = PropertyPeriodSerializer()
    wet_year = PropertyPeriodSerializer()


class ReplayedVariantSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    base = serializers.CharField(default="")
    notes = NoteSerializer(many=True, default=list, help_text="Which rules were kept.")
    summary = ReplaySummarySerializer(
        default=None, allow_null=True, help_text="Null without areas."
    )
    zones = ReplayedZoneSerializer(many=True)
    difference = DifferenceSerializer(allow_null=True)


class ReplayAnswerSerializer(serializers.Serializer[Any]):
    """Past years once more; the lists of a zone go by `weather.years`."""

    weather = ReplayWeatherSerializer()
    picked_years = PickedYearsSerializer()
    notes = NoteSerializer(many=True)
    variants = ReplayedVariantSerializer(many=True)
