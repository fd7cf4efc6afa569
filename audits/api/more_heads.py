"""More heads on a zone: what each of them would still put out."""

from __future__ import annotations

from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.api.zone_answers import RemarkSerializer, asked_zone
from audits.domain.heads import HEADS
from audits.domain.supply_curve import HeadsOnSupply
from audits.selectors.more_heads import MoreHeads, more_heads
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.views import UNITS_PARAMETER, requested_units
from properties.models.staff import ALL_STAFF

MOST_COUNTS = 20


class HeadsOnSupplySerializer(serializers.Serializer[HeadsOnSupply]):
    heads = serializers.IntegerField()
    working_pressure = QuantityField("pressure", source="working_kpa")
    flow_per_head = QuantityField("flow", source="flow_per_head_l_min")
    flow = QuantityField("flow", source="flow_l_min")
    part_of_now = serializers.FloatField(
        help_text="What each lets out against each of those that are there now."
    )


class MoreHeadsSerializer(serializers.Serializer[MoreHeads]):
    """Empty where the remarks say what is unknown, and what cures it."""

    zone = serializers.UUIDField(source="zone.pk")
    heads_now = serializers.IntegerField()
    flow_check = serializers.UUIDField(source="check.pk", default=None, allow_null=True)
    counts = HeadsOnSupplySerializer(source="rows", many=True)
    remarks = RemarkSerializer(many=True)


class MoreHeadsView(APIView):
    """Flow of each head and working pressure with the heads now and with more, by flow check.

    The newest check counts that has static pressure, running pressure and metered flow.
    """

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(
        parameters=[
            UNITS_PARAMETER,
            OpenApiParameter(
                "heads", str, description="Counts such as 4,5,8; those now and up to four more "
                "when absent.",
            ),
        ],
        responses=MoreHeadsSerializer,
    )  # fmt: skip
    def get(self, request: Request, pk: UUID) -> Response:
        zone = asked_zone(request, pk)
        asked = request.query_params.get("heads")
        answer = more_heads(zone, None if asked is None else _counts(asked))
        context = {"units": requested_units(request)}
        return Response(MoreHeadsSerializer(answer, context=context).data)


def _counts(text: str) -> list[int]:
    words = [word.strip() for word in text.split(",")]
    are_whole = all(word.isascii() and word.isdigit() and len(word) <= 4 for word in words)
    counts = [int(word) for word in words] if are_whole else []
    if not 1 <= len(counts) <= MOST_COUNTS or not all(
        HEADS.low <= count <= HEADS.high for count in counts
    ):
        raise serializers.ValidationError(
            {
                "heads": f"Give up to {MOST_COUNTS} whole numbers from {HEADS.low:g} to "
                f"{HEADS.high:g}, such as 4,5,8."
            }
        )
    return counts
