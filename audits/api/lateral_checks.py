"""A lateral checked on the spot: computed, answered, and not stored."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.api.catch_tests import AdviceSerializer
from audits.domain.lateral_checks import LateralCheck, check_lateral
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import StrictSerializer
from properties.http.views import UNITS_PARAMETER, requested_units
from properties.models.staff import ALL_STAFF


class LateralSerializer(StrictSerializer):
    """A level lateral of smooth plastic pipe with equal heads at equal distances."""

    flow = QuantityField("flow", source="flow_l_min", help_text="At the inlet.")
    inside_diameter = QuantityField("depth", source="inside_diameter_mm")
    length = QuantityField("distance", source="length_m")
    outlets = serializers.IntegerField(min_value=1, max_value=10_000)
    design_pressure = QuantityField("pressure", source="design_kpa")


class LateralCheckSerializer(serializers.Serializer[LateralCheck]):
    friction_per_100m = QuantityField("pressure", source="friction_kpa_per_100m")
    loss = QuantityField("pressure", source="loss_kpa")
    velocity = QuantityField("speed", source="velocity_m_s")
    pressure_spread_ok = serializers.BooleanField(source="is_spread_ok")
    advice = AdviceSerializer(many=True)


class LateralChecksView(APIView):
    """Friction, loss and speed in a lateral, and whether its heads are near enough in pressure."""

    access = Access(read=frozenset(), write=ALL_STAFF)
    serializer_class = LateralSerializer

    @extend_schema(
        parameters=[UNITS_PARAMETER], request=LateralSerializer, responses=LateralCheckSerializer
    )
    def post(self, request: Request) -> Response:
        form = LateralSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        check = check_lateral(**form.validated_data)
        context = {"units": requested_units(request)}
        return Response(LateralCheckSerializer(check, context=context).data)
