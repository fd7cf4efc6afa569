"""The catch tests of a zone in order, and where they are heading."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.domain.trends import Trend
from audits.selectors.zone_history import ForceOfTest, StatedTest, ZoneHistory, zone_history
from audits.selectors.zones import visible_zones
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import ALL_STAFF


class StatedTestSerializer(serializers.Serializer[StatedTest]):
    test = serializers.UUIDField(source="test.pk")
    visit = serializers.UUIDField(source="test.visit_id")
    taken_at = serializers.DateTimeField(source="test.taken_at")
    state = serializers.ChoiceField(choices=[(each.value, each.value) for each in ForceOfTest])
    is_pooled = serializers.BooleanField(source="test.is_pooled")
    cups = serializers.IntegerField(source="test.cups")
    rate = QuantityField("rate", source="test.rate_mm_h")
    rate_low = QuantityField("rate", source="test.rate_low_mm_h")
    rate_high = QuantityField("rate", source="test.rate_high_mm_h")
    du_lq = serializers.FloatField(source="test.du_lq", allow_null=True)
    supersedes = serializers.UUIDField(source="test.supersedes_id", allow_null=True)
    void_reason = serializers.CharField(source="test.void_reason")


class DuTrendSerializer(serializers.Serializer[Trend]):
    """Change in a year by least squares; null under three tests or 90 days."""

    tests = serializers.IntegerField(source="n")
    span_days = serializers.FloatField()
    per_year = serializers.FloatField(allow_null=True)


class RateTrendSerializer(DuTrendSerializer):
    per_year = QuantityField("rate", allow_null=True)  # type: ignore[assignment]


class TestHistorySerializer(serializers.Serializer[ZoneHistory]):
    zone = serializers.UUIDField(source="zone.pk")
    tests = StatedTestSerializer(many=True)
    rate_trend = RateTrendSerializer()
    du_lq_trend = DuTrendSerializer()


class TestHistoryView(APIView):
    """All catch tests of a zone from the oldest on, each with what it is worth today."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=TestHistorySerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        zone = get_object_or_404(visible_zones(staff_of(request), timezone.now()), pk=pk)
        context = {"units": requested_units(request)}
        return Response(TestHistorySerializer(zone_history(zone), context=context).data)
