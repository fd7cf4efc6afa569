"""What should run: a zone's plan, a property's season, and the stored revisions."""

from __future__ import annotations

from typing import Any, ClassVar
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.idempotency import KEY, KeyedPosts
from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.views import UNITS_PARAMETER, ReadViewSet, requested_units, staff_of
from properties.models import Property, Zone
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.selectors.company import the_company
from properties.selectors.scope import narrow_to_scope, visible_properties
from properties.services.jobs import ask_for
from scheduling.api.filters import BY_CREATION, WateringPlanFilters
from scheduling.api.plan_differences import RevisionDifferenceSerializer
from scheduling.api.plan_serializers import (
    PropertySeasonSerializer,
    WateringPlanSerializer,
    ZonePlanSerializer,
    ZoneSeasonSerializer,
)
from scheduling.domain.climate import Climate
from scheduling.models import WateringPlan, WeatherStation
from scheduling.selectors.plan_differences import revision_difference
from scheduling.selectors.seasons import ZoneSeasonFacts, property_season, zone_season
from scheduling.selectors.weather_outlook import local_date
from scheduling.services.job_kinds import PLANS_OF_PROPERTY


def _property(request: Request, pk: UUID) -> Property:
    staff = staff_of(request)
    property_: Property = get_object_or_404(visible_properties(staff, timezone.now()), pk=pk)
    return property_


def _zone(request: Request, pk: UUID) -> Zone:
    zones = Zone.objects.select_related("property", "controller").prefetch_related("head_groups")
    staff = staff_of(request)
    zone: Zone = get_object_or_404(
        narrow_to_scope(zones, "property", staff=staff, now=timezone.now()), pk=pk
    )
    return zone


def _season_today(request: Request, pk: UUID) -> tuple[WeatherStation, Climate, ZoneSeasonFacts]:
    zone = _zone(request, pk)
    return zone_season(zone, local_date(zone.property, timezone.now()))


class ZonePlanView(APIView):
    """The plan of one zone for one month of the usual year, computed now."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(
        parameters=[OpenApiParameter("month", int, required=True), UNITS_PARAMETER],
        responses=ZonePlanSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        month = serializers.IntegerField(min_value=1, max_value=12)
        try:
            number = month.run_validation(request.query_params.get("month", None))
        except serializers.ValidationError as error:
            raise serializers.ValidationError({"month": error.detail}) from error
        _, _, facts = _season_today(request, pk)
        assert facts.plan is not None
        context = {"units": requested_units(request)}
        return Response(ZonePlanSerializer(facts.plan.months[number - 1], context=context).data)


class ZoneSeasonView(APIView):
    """The twelve months of one zone, computed now."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=ZoneSeasonSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        _, _, facts = _season_today(request, pk)
        context = {"units": requested_units(request)}
        return Response(ZoneSeasonSerializer(facts, context=context).data)


class PropertySeasonView(APIView):
    """The twelve months of all zones of a property; a zone without a plan says why."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=PropertySeasonSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        property_ = _property(request, pk)
        season = property_season(property_, local_date(property_, timezone.now()))
        context = {"units": requested_units(request), "currency": the_company().currency}
        return Response(PropertySeasonSerializer(season, context=context).data)


class StorePlansView(KeyedPosts):
    """Plan all zones of a property anew, in the background."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)
    needs_key = True

    @extend_schema(parameters=[KEY], request=None, responses={202: JobSerializer})
    def post(self, request: Request, pk: UUID) -> Response:
        property_ = _property(request, pk)
        job = ask_for(
            PLANS_OF_PROPERTY, property_.pk, asked_by=staff_of(request), now=timezone.now()
        )
        content: dict[str, Any] = JobSerializer(job).data
        return Response(content, status=status.HTTP_202_ACCEPTED)


class WateringPlanViewSet(ReadViewSet[WateringPlan]):
    access = Access(read=ALL_STAFF, write=frozenset())
    queryset = WateringPlan.objects.all()
    serializer_class = WateringPlanSerializer
    property_path: ClassVar[str | None] = "zone__property"
    filterset_class = WateringPlanFilters
    orders = BY_CREATION

    @extend_schema(parameters=[UNITS_PARAMETER], responses=RevisionDifferenceSerializer)
    @action(detail=True)
    def difference(self, request: Request, pk: str) -> Response:
        """Say what this revision changes against the one before, and which inputs changed."""
        context = {"units": requested_units(request)}
        found = revision_difference(self.get_object())
        return Response(RevisionDifferenceSerializer(found, context=context).data)
