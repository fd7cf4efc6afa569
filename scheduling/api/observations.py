"""How far a station's observed days go, and to have them fetched now."""

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
from properties.http.views import staff_of
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.jobs import ask_for
from scheduling.models import WeatherStation
from scheduling.selectors.observations import StationObservations, observations_of
from scheduling.services.job_kinds import OBSERVATIONS
from scheduling.services.observation_sources import is_configured, source_of


class StationObservationsSerializer(serializers.Serializer[StationObservations]):
    """The newest days and their age; `problem` tells of the last fetch.

    After a fetch that went well `problem` names the values that were left out.
    """

    is_configured = serializers.SerializerMethodField()
    observed_date = serializers.DateField(
        allow_null=True, help_text="The newest whole day that the station observed."
    )
    newest_date = serializers.DateField(
        allow_null=True, help_text="Likewise, with days that an analysis stands in for."
    )
    age_days = serializers.IntegerField(
        allow_null=True, help_text="Of the observed day: yesterday's is 1."
    )
    is_late = serializers.BooleanField()
    tried_at = serializers.DateTimeField(source="fetch.tried_at", default=None, allow_null=True)
    succeeded_at = serializers.DateTimeField(
        source="fetch.succeeded_at", default=None, allow_null=True
    )
    failures = serializers.IntegerField(source="fetch.failures", default=0)
    problem = serializers.CharField(source="fetch.problem", default="")
    days_added = serializers.IntegerField(source="fetch.days_added", default=0)
    days_corrected = serializers.IntegerField(source="fetch.days_corrected", default=0)
    corrections = serializers.IntegerField(source="fetch.corrections", default=0)

    def get_is_configured(self, observations: StationObservations) -> bool:
        return is_configured()


class StationObservationsView(APIView):
    """How far a station's observed days go, and how fetching them went."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(responses=StationObservationsSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        station = get_object_or_404(WeatherStation, pk=pk)
        found = observations_of(station, now=timezone.now())
        return Response(StationObservationsSerializer(found).data)


class FetchObservationsView(KeyedPosts):
    """Fetch a station's missing and newest days now, in the background."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)
    needs_key = True

    @extend_schema(parameters=[KEY], request=None, responses={202: JobSerializer})
    def post(self, request: Request, pk: UUID) -> Response:
        station = get_object_or_404(WeatherStation, pk=pk)
        source_of(station)  # refuses when there is none
        job = ask_for(OBSERVATIONS, station.pk, asked_by=staff_of(request), now=timezone.now())
        content: dict[str, Any] = JobSerializer(job).data
        return Response(content, status=status.HTTP_202_ACCEPTED)
