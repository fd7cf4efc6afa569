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


class ReplayedVariantSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    zones = ReplayedZoneSerializer(many=True)
    difference = DifferenceSerializer(allow_null=True)


class ReplayAnswerSerializer(serializers.Serializer[Any]):
    """Past years once more; the lists of a zone go by `weather.years`."""

    weather = ReplayWeatherSerializer()
    picked_years = PickedYearsSerializer()
    notes = NoteSerializer(many=True)
    variants = ReplayedVariantSerializer(many=True)
