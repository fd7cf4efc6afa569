"""Weather stations and their days."""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.changes import KeptRowViewSet
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import MeasuredRowSerializer, StrictSerializer
from properties.http.views import UNITS_PARAMETER, ReadViewSet, staff_of
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from scheduling.api.climate_serializers import UsualYearOfStationSerializer
from scheduling.api.filters import (
    WEATHER_DAY_ORDERS,
    WEATHER_STATION_ORDERS,
    WeatherDayFilters,
    WeatherStationFilters,
)
from scheduling.models import WeatherDay, WeatherStation
from scheduling.selectors.weather import usual_year_of
from scheduling.services.stations import change_station
from scheduling.services.weather import add_weather_day

LONGEST_SPAN_DAYS: Final = 366


class WeatherStationSerializer(MeasuredRowSerializer[WeatherStation]):
    elevation = QuantityField("elevation", source="elevation_m")
    anemometer_height = QuantityField("distance", source="anemometer_height_m", required=False)

    class Meta:
        model = WeatherStation
        fields = (
            "id", "code", "name", "latitude", "longitude", "elevation", "anemometer_height",
            "is_coastal", "retired_at", "created_at", "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("retired_at", "created_at", "changed_at", "revision")
        fixed = ("code",)


class WeatherDaySerializer(StrictSerializer, serializers.ModelSerializer[WeatherDay]):
    station = serializers.PrimaryKeyRelatedField(
        queryset=WeatherStation.objects.all(), pk_field=serializers.UUIDField()
    )
    tmin = QuantityField("temperature", source="tmin_c", required=False, allow_null=True)
    tmax = QuantityField("temperature", source="tmax_c", required=False, allow_null=True)
    rain = QuantityField("rain", source="rain_mm", required=False, allow_null=True)
    dew_point = QuantityField("temperature", source="dew_point_c", required=False, allow_null=True)
    wind = QuantityField(
        "speed", source="wind_m_s", required=False, allow_null=True,
        help_text="Mean of the day at the height of the station's anemometer.",
    )  # fmt: skip
    et0 = QuantityField("rain", source="et0_mm", read_only=True, allow_null=True)
    analysed = serializers.SerializerMethodField(
        help_text="Values that a model's analysis stands in for, until the station's own come."
    )

    class Meta:
        model = WeatherDay
        fields = (
            "id", "station", "date", "tmin", "tmax", "rain", "dew_point", "humidity_min_percent",
            "humidity_max_percent", "humidity_percent", "wind", "solar_mj_m2", "et0", "et0_method",
            "analysed",
        )  # fmt: skip
        read_only_fields = ("et0_method",)

    def get_analysed(self, day: WeatherDay) -> list[str]:
        sources = {field.source: name for name, field in self.fields.items()}
        return [sources[name] for name in day.analysed_names()]

    def get_validators(self) -> list[Any]:
        return []


class SpanSerializer(serializers.Serializer[Any]):
    """A first and a last day, at most a year apart."""

    first = serializers.DateField()
    last = serializers.DateField()

    def validate(self, attrs: dict[str, dt.date]) -> dict[str, dt.date]:
        if not 0 <= (attrs["last"] - attrs["first"]).days < LONGEST_SPAN_DAYS:
            raise serializers.ValidationError(
                {"last": f"Give a day from the first one to {LONGEST_SPAN_DAYS - 1} days after it."}
            )
        return attrs


class WeatherStationViewSet(KeptRowViewSet[WeatherStation]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = WeatherStation.objects.all()
    serializer_class = WeatherStationSerializer
    filterset_class = WeatherStationFilters
    orders = WEATHER_STATION_ORDERS
    change_service = staticmethod(change_station)

    @extend_schema(responses=UsualYearOfStationSerializer)
    @action(detail=True)
    def climate(self, request: Request, pk: str) -> Response:
        """The usual year, by month and by day."""
        months, days = usual_year_of(self.get_object())
        content = UsualYearOfStationSerializer(
            {"months": months, "days": days}, context=self.get_serializer_context()
        )
        return Response(content.data)

    @extend_schema(
        parameters=[
            OpenApiParameter("first", dt.date, required=True),
            OpenApiParameter("last", dt.date, required=True),
            UNITS_PARAMETER,
        ],
        responses=WeatherDaySerializer(many=True),
        filters=False,
    )
    @action(detail=True, pagination_class=None)
    def weather(self, request: Request, pk: str) -> Response:
        """The stored days from `first` to `last` in their order, at most a year of them."""
        station = self.get_object()
        span = SpanSerializer(data=request.query_params)
        span.is_valid(raise_exception=True)
        days = station.days.filter(
            date__range=(span.validated_data["first"], span.validated_data["last"])
        )
        content = WeatherDaySerializer(
            days.order_by("date"), many=True, context=self.get_serializer_context()
        )
        return Response(content.data)


class WeatherDayViewSet(mixins.CreateModelMixin, ReadViewSet[WeatherDay]):
    """Days come from station files; a single one can be put in by hand where a file lacks it."""

    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = WeatherDay.objects.all()
    serializer_class = WeatherDaySerializer
    filterset_class = WeatherDayFilters
    orders = WEATHER_DAY_ORDERS

    def perform_create(self, serializer: serializers.BaseSerializer[WeatherDay]) -> None:
        serializer.instance = add_weather_day(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
