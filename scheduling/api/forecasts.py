"""The forecast of a station: to read, and to have it fetched now."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.idempotency import KEY, KeyedPosts
from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.quantities import QuantityField, rounded
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.selectors.company import the_company
from properties.services.jobs import ask_for
from scheduling.models import ForecastDay, WeatherStation
from scheduling.selectors.forecasts import StationForecast, forecast_of
from scheduling.services.forecast_sources import is_configured, source_of
from scheduling.services.job_kinds import FORECAST


class ForecastDaySerializer(serializers.ModelSerializer[ForecastDay]):
    """A day to come; `issued_at` is that of the document which speaks for it."""

    issued_at = serializers.DateTimeField(source="document.issued_at")
    tmin = QuantityField("temperature", source="tmin_c", allow_null=True)
    tmax = QuantityField("temperature", source="tmax_c", allow_null=True)
    rain = QuantityField("rain", source="rain_mm", allow_null=True)
    wind = QuantityField("speed", source="wind_m_s", allow_null=True)
    et0 = QuantityField("rain", source="et0_mm", allow_null=True)
    provider_et0 = QuantityField("rain", source="provider_et0_mm", allow_null=True)

    class Meta:
        model = ForecastDay
        fields = (
            "date", "issued_at", "tmin", "tmax", "rain", "rain_probability_percent",
            "humidity_percent", "wind", "solar_mj_m2", "et0", "provider_et0",
        )  # fmt: skip
        read_only_fields = fields


class StationForecastSerializer(serializers.Serializer[StationForecast]):
    """The days to come and their age; `problem` tells of the last fetch.

    After a fetch that went well `problem` names the values that were left out of the document.
    """

    is_configured = serializers.SerializerMethodField()
    issued_at = serializers.DateTimeField(allow_null=True)
    retrieved_at = serializers.DateTimeField(allow_null=True)
    age_hours = serializers.SerializerMethodField()
    is_stale = serializers.BooleanField()
    tells = serializers.BooleanField(
        help_text="Whether it is young enough for frost and heat to be told by it."
    )
    tried_at = serializers.DateTimeField(source="fetch.tried_at", default=None, allow_null=True)
    succeeded_at = serializers.DateTimeField(
        source="fetch.succeeded_at", default=None, allow_null=True
    )
    failures = serializers.IntegerField(source="fetch.failures", default=0)
    problem = serializers.CharField(source="fetch.problem", default="")
    days = ForecastDaySerializer(many=True)

    def get_is_configured(self, forecast: StationForecast) -> bool:
        return is_configured()

    def get_age_hours(self, forecast: StationForecast) -> float | None:
        return None if forecast.age_hours is None else rounded(forecast.age_hours)


class StationForecastView(APIView):
    """What is forecast at a station, from today on."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=StationForecastSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        station = get_object_or_404(WeatherStation, pk=pk)
        context = {"units": requested_units(request)}
        forecast = forecast_of(station, now=timezone.now())
        return Response(StationForecastSerializer(forecast, context=context).data)


class FetchForecastView(KeyedPosts):
    """Fetch a station's forecast now, in the background."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)
    needs_key = True

    @extend_schema(parameters=[KEY], request=None, responses={202: JobSerializer})
    def post(self, request: Request, pk: UUID) -> Response:
        station = get_object_or_404(WeatherStation, pk=pk)
        source_of(station, time_zone=the_company().time_zone)  # refuses when there is none
        job = ask_for(FORECAST, station.pk, asked_by=staff_of(request), now=timezone.now())
        content: dict[str, Any] = JobSerializer(job).data
        return Response(content, status=status.HTTP_202_ACCEPTED)
