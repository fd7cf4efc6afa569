"""The water that a zone gets under the program that was found."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.http.diagnosis import FoundWaterSerializer
from audits.selectors.found_water import found_water
from audits.selectors.zones import visible_zones
from properties.http.permissions import Access
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import ALL_STAFF


class FoundWaterView(APIView):
    """Depth and volume under the program as found, in a week and in a year.

    The need of the plants is unknown here (null); `found-water-with-need` compares with it.
    """

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=FoundWaterSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        zone = get_object_or_404(visible_zones(staff_of(request), timezone.now()), pk=pk)
        context = {"units": requested_units(request)}
        return Response(FoundWaterSerializer(found_water(zone), context=context).data)
