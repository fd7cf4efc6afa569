"""Where the heads of a zone stand: apart, in narrow strips, near paving."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.api.zone_answers import asked_zone
from audits.domain.placement_checks import Placed, PlacementCheck, PlacementTopic
from audits.selectors.placement import ZonePlacement, zone_placement
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.views import UNITS_PARAMETER, requested_units
from properties.models.staff import ALL_STAFF


class PlacementCheckSerializer(serializers.Serializer[PlacementCheck]):
    topic = serializers.ChoiceField([(topic.value, topic.value) for topic in PlacementTopic])
    verdict = serializers.ChoiceField([(placed.value, placed.value) for placed in Placed])
    sentence = serializers.CharField()
    remedy = serializers.CharField(allow_blank=True)
    head_group = serializers.SerializerMethodField(help_text="Null: the zone as a whole.")

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_head_group(self, check: PlacementCheck) -> Any:
        return None if check.group is None else self.context["groups"][check.group].pk


class ZonePlacementSerializer(serializers.Serializer[ZonePlacement]):
    zone = serializers.UUIDField(source="zone.pk")
    running_pressure = QuantityField(
        "pressure", source="running_kpa", allow_null=True, help_text="By the newest flow check."
    )
    checks = serializers.SerializerMethodField()
    rule = serializers.CharField(source="rule.source")
    least_spray_strip = QuantityField("distance", source="rule.least_spray_strip_m")
    least_gap = QuantityField("distance", source="rule.least_gap_m")
    spacing_tolerance = serializers.FloatField(source="rule.spacing_tolerance")
    caution = serializers.CharField()

    @extend_schema_field(PlacementCheckSerializer(many=True))
    def get_checks(self, placement: ZonePlacement) -> list[Any]:
        context = {**self.context, "groups": placement.groups}
        checks = PlacementCheckSerializer(context=context)
        return [checks.to_representation(check) for check in placement.checks]


class ZonePlacementView(APIView):
    """Whether heads stand as far apart as they throw, and keep from narrow strips and paving."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=ZonePlacementSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        placement = zone_placement(asked_zone(request, pk))
        context = {"units": requested_units(request)}
        return Response(ZonePlacementSerializer(placement, context=context).data)
