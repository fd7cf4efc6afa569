"""The weather of a property: the days that were, the days to come, and what they mean."""

from __future__ import annotations

import math
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import ALL_STAFF
from properties.selectors.scope import visible_properties
from scheduling.domain.gap_filling import Mark
from scheduling.domain.weather_words import Fact
from scheduling.models import ForecastDay
from scheduling.selectors.property_weather import PropertyWeather
from scheduling.selectors.weather import NearStation
from scheduling.selectors.weather_outlook import (
    WeatherOutlook,
    ZoneSoaking,
    local_date,
    weather_outlook,
)

NAMES = {"tmin": "tmin_c", "tmax": "tmax_c", "rain": "rain_mm", "et0": "et0_mm"}
MARK_WORDS = [mark.name.lower() for mark in Mark]


class NearStationSerializer(serializers.Serializer[NearStation]):
    """A station; `effective_distance` counts each 10 m of difference in height as 1 km."""

    id = serializers.UUIDField(source="station.pk")
    code = serializers.CharField(source="station.code")
    name = serializers.CharField(source="station.name")
    distance = QuantityField("distance", source="distance_m")
    effective_distance = QuantityField("distance", source="effective_distance_m")
    last_date = serializers.DateField(allow_null=True)
    is_recent = serializers.BooleanField(
        source="rank.is_recent",
        help_text="At most 30 days behind the newest station within reach; where all are late"
        " alike, `last_date` tells.",
    )
    has_enough_days = serializers.BooleanField(source="rank.has_enough_days")


class MarksSerializer(serializers.Serializer[Any]):
    """Where each value of a day comes from: observed, analysed, filled or gap."""

    tmin = serializers.CharField()
    tmax = serializers.CharField()
    rain = serializers.CharField()
    et0 = serializers.CharField()


class PastDaySerializer(serializers.Serializer[Any]):
    """A day that was; `filled_from` are the codes of the stations that helped out."""

    date = serializers.DateField()
    tmin = QuantityField("temperature", source="tmin_c", allow_null=True)
    tmax = QuantityField("temperature", source="tmax_c", allow_null=True)
    rain = QuantityField("rain", source="rain_mm", allow_null=True)
    et0 = QuantityField("rain", source="et0_mm", allow_null=True)
    marks = MarksSerializer()
    filled_from = serializers.ListField(child=serializers.CharField())


class ComingDaySerializer(serializers.Serializer[ForecastDay]):
    date = serializers.DateField()
    tmin = QuantityField("temperature", source="tmin_c", allow_null=True)
    tmax = QuantityField("temperature", source="tmax_c", allow_null=True)
    rain = QuantityField("rain", source="rain_mm", allow_null=True)
    rain_probability_percent = serializers.FloatField(allow_null=True)
    et0 = QuantityField("rain", source="et0_mm", allow_null=True)


class FactSerializer(serializers.Serializer[Any]):
    """A fact in words of the units that were asked for; numbers that it lacks are null."""

    code = serializers.CharField()
    first_date = serializers.DateField()
    last_date = serializers.DateField(allow_null=True, default=None)
    days = serializers.IntegerField(allow_null=True, default=None)
    temperature = QuantityField("temperature", source="temperature_c", default=None)
    threshold = QuantityField("temperature", source="threshold_c", default=None)
    rain = QuantityField("rain", source="rain_mm", default=None)
    effective_rain = QuantityField("rain", source="effective_mm", default=None)
    resume_date = serializers.DateField(allow_null=True, default=None)
    is_forecast = serializers.BooleanField(default=False)
    days_forecast = serializers.IntegerField(
        default=0, help_text="How many of the days are known by the forecast only."
    )
    days_unknown = serializers.IntegerField(
        default=0, help_text="Days without a value that count as without rain."
    )
    days_watered = serializers.IntegerField(
        default=0, help_text="Days on which a watering, taken from the setting, helped to fill."
    )
    days_unknown_after = serializers.IntegerField(
        default=0, help_text="Days up to yesterday, after the last one told, without a value."
    )
    forecast_rain = QuantityField(
        "rain", source="forecast_mm", default=None, help_text="What of the rain is still to come."
    )
    sentence = serializers.SerializerMethodField()

    def get_sentence(self, fact: Fact) -> str:
        return fact.sentence(self.context["units"])


class ZoneSoakingSerializer(serializers.Serializer[ZoneSoaking]):
    """The rain that refills what the roots of a zone hold; null when there is none."""

    zone = serializers.UUIDField(source="zone.pk")
    number = serializers.IntegerField(source="zone.number")
    name = serializers.CharField(source="zone.name")
    soaking_rain = FactSerializer(source="fact", allow_null=True)
    starts_from = serializers.CharField(
        help_text="account: the zone's own, full on its first day, with the waterings of the"
        " setting. used-up: no setting is known for all its days, so nothing readily available is"
        " taken to be held at first."
    )
    account_since = serializers.DateField(help_text="The first day of that account.")
    setting_since = serializers.DateField(
        allow_null=True, help_text="From here on waterings are known; null: none is."
    )
    assumed_waterings = serializers.IntegerField(
        help_text="Days in the account on which the setting is taken to have run; nobody saw it."
    )


class PropertyWeatherSerializer(serializers.Serializer[WeatherOutlook]):
    """The last 60 days, the forecast, and the facts."""

    station = NearStationSerializer(source="weather.main")
    helpers = NearStationSerializer(source="weather.helpers", many=True)
    days_filled = serializers.IntegerField(source="weather.gaps.days_filled")
    days_missing = serializers.IntegerField(source="weather.gaps.days_missing")
    days = serializers.SerializerMethodField()
    forecast = ComingDaySerializer(many=True)
    hot_from = QuantityField("temperature", source="hot_c", allow_null=True)
    facts = FactSerializer(many=True)
    zones = ZoneSoakingSerializer(source="soakings", many=True)

    @extend_schema_field(PastDaySerializer(many=True))
    def get_days(self, outlook: WeatherOutlook) -> Any:
        days = _past_days(outlook.weather)
        return PastDaySerializer(days, many=True, context=self.context).data


class PropertyWeatherView(APIView):
    """The weather of the last 60 days and of those to come, by the property's best station.

    Where the station lacks a value it is filled from its neighbours, and marked.
    """

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=PropertyWeatherSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        now = timezone.now()
        property_ = get_object_or_404(visible_properties(staff_of(request), now), pk=pk)
        context = {"units": requested_units(request)}
        outlook = weather_outlook(property_, local_date(property_, now))
        return Response(PropertyWeatherSerializer(outlook, context=context).data)


def _past_days(weather: PropertyWeather) -> list[dict[str, Any]]:
    codes = [near.station.code for near in weather.neighbours]
    return [
        {
            "date": str(date),
            **{name: _known(weather.series[name].values[place]) for name in NAMES.values()},
            "marks": {
                word: MARK_WORDS[weather.series[name].marks[place]] for word, name in NAMES.items()
            },
            "filled_from": [
                code
                for index, code in enumerate(codes)
                if any(series.sources[index, place] for series in weather.series.values())
            ],
        }
        for place, date in enumerate(weather.dates)
    ]


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
