"""Sprinklers on hoses, position by position."""

from __future__ import annotations

from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.api.zone_answers import RemarkSerializer, asked_zone
from audits.domain.point_sources import WANTED_MM
from audits.selectors.hose_positions import USUAL_DEPTH_MM, HoseWater, PositionWater, hose_water
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import StrictSerializer
from properties.http.views import UNITS_PARAMETER, requested_units
from properties.models.staff import ALL_STAFF


class DepthQuery(StrictSerializer):
    depth_mm = serializers.FloatField(
        default=USUAL_DEPTH_MM, min_value=WANTED_MM.low, max_value=WANTED_MM.high
    )
    units = serializers.CharField(required=False)


class PositionWaterSerializer(serializers.Serializer[PositionWater]):
    """One position; null is unknown, and the remarks say why and what cures it."""

    head_group = serializers.UUIDField(source="group.pk")
    position = serializers.CharField(source="group.position")
    tap = serializers.CharField(source="group.tap")
    sprinklers = serializers.IntegerField(
        source="group.count", help_text="In tandem on one tap at this position."
    )
    working_pressure = QuantityField(
        "pressure", source="flow.working_kpa", default=None, allow_null=True
    )
    flow_each = QuantityField("flow", source="flow.flow_l_min", default=None, allow_null=True)
    flow_alone = QuantityField("flow", source="flow.alone_l_min", default=None, allow_null=True)
    part_of_alone = serializers.FloatField(
        source="flow.part_of_alone", default=None, allow_null=True,
        help_text="What each puts out against one alone on the tap.",
    )  # fmt: skip
    rate = QuantityField("rate", source="rate_mm_h", allow_null=True)
    minutes = serializers.FloatField(allow_null=True, help_text="For the depth asked.")
    remarks = RemarkSerializer(many=True)


class HoseWaterSerializer(serializers.Serializer[HoseWater]):
    zone = serializers.UUIDField(source="zone.pk")
    depth = QuantityField("depth", source="depth_mm")
    positions = PositionWaterSerializer(many=True)


class HosePositionsView(APIView):
    """What the taps give the sprinklers at each position of a zone, and the minutes for a depth.

    The supply of a tap is known by the newest flow check on it, in whichever zone it was made.
    """

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(
        parameters=[
            UNITS_PARAMETER,
            OpenApiParameter("depth_mm", float, description="Wanted depth [mm]; 10 when absent."),
        ],
        responses=HoseWaterSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        zone = asked_zone(request, pk)
        query = DepthQuery(data=request.query_params.dict())
        query.is_valid(raise_exception=True)
        water = hose_water(zone, query.validated_data["depth_mm"])
        context = {"units": requested_units(request)}
        return Response(HoseWaterSerializer(water, context=context).data)
