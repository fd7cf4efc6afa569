"""Weather stations and their days."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from rest_framework import mixins, serializers

from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import MeasuredRowSerializer, StrictSerializer
from properties.http.views import ReadViewSet, RowViewSet, staff_of
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from scheduling.models import WeatherDay, WeatherStation
from scheduling.services.weather import add_weather_day


class WeatherStationSerializer(MeasuredRowSerializer[WeatherStation]):
    elevation = QuantityField("elevation", source="elevation_m")

    class Meta:
        model = WeatherStation
        fields = (
            "id", "code", "name", "latitude", "longitude", "elevation", "created_at", "changed_at",
            "revision",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")


class WeatherStationViewSet(RowViewSet[WeatherStation]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = WeatherStation.objects.all()
    serializer_class = WeatherStationSerializer
    filterset_fields = ("code",)


class WeatherDaySerializer(StrictSerializer, serializers.ModelSerializer[WeatherDay]):
    station = serializers.PrimaryKeyRelatedField(
        queryset=WeatherStation.objects.all(), pk_field=serializers.UUIDField()
    )
    tmin = QuantityField("temperature", source="tmin_c", required=False, allow_null=True)
    tmax = QuantityField("temperature", source="tmax_c", required=False, allow_null=True)
    rain = QuantityField("rain", source="rain_mm", required=False, allow_null=True)
    et0 = QuantityField("rain", source="et0_mm", read_only=True)

    class Meta:
        model = WeatherDay
        fields = ("id", "station", "date", "tmin", "tmax", "rain", "et0")

    def get_validators(self) -> list[Any]:
        return []


class WeatherDayViewSet(mixins.CreateModelMixin, ReadViewSet[WeatherDay]):
    """Days come from station files; a single one can be put in by hand where a file lacks it."""

    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = WeatherDay.objects.all()
    serializer_class = WeatherDaySerializer
    filterset_fields = {"station": ["exact"], "date": ["exact", "gte", "lte"]}

    def perform_create(self, serializer: serializers.BaseSerializer[WeatherDay]) -> None:
        serializer.instance = add_weather_day(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
