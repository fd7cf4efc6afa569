"""How a station's temperature-only ET0 was brought to its fuller one: to read, and to fit anew."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.idempotency import KEY, KeyedPosts
from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.views import staff_of
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.jobs import ask_for
from scheduling.models import StationCalibration, WeatherStation
from scheduling.selectors.calibrations import calibration_of
from scheduling.services.job_kinds import CALIBRATE_STATION


class CalibrationSerializer(serializers.ModelSerializer[StationCalibration]):
    """Calibrated ET0 = offset + slope x Hargreaves ET0; errors are in mm a day."""

    class Meta:
        model = StationCalibration
        fields = (
            "station", "slope", "offset_mm", "days", "first_date", "last_date", "months",
            "bias_before_mm", "rmse_before_mm", "rmse_after_mm", "computed_at",
        )  # fmt: skip
        read_only_fields = fields


class StationCalibrationView(KeyedPosts):
    """The calibration of a station, and having it fitted to all its days in the background."""

    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    needs_key = True

    @extend_schema(responses=CalibrationSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        station = get_object_or_404(WeatherStation, pk=pk)
        return Response(CalibrationSerializer(calibration_of(station)).data)

    @extend_schema(parameters=[KEY], request=None, responses={202: JobSerializer})
    def post(self, request: Request, pk: UUID) -> Response:
        station = get_object_or_404(WeatherStation, pk=pk)
        now, staff = timezone.now(), staff_of(request)
        job = ask_for(CALIBRATE_STATION, station.pk, asked_by=staff, now=now)
        content: dict[str, Any] = JobSerializer(job).data
        return Response(content, status=status.HTTP_202_ACCEPTED)
