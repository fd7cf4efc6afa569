"""What likely ails a zone."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.http.diagnosis import DiagnosisSerializer
from audits.selectors.diagnosis import zone_diagnosis
from audits.selectors.zones import visible_zones
from properties.http.permissions import Access
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import ALL_STAFF


class ZoneDiagnosisView(APIView):
    """The likely causes of what ails a zone, from its tests, heads, checks and findings.

    The need of the plants is unknown here; `diagnosis-with-need` judges the program too.
    """

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=DiagnosisSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        zone = get_object_or_404(visible_zones(staff_of(request), timezone.now()), pk=pk)
        context = {"units": requested_units(request)}
        return Response(DiagnosisSerializer(zone_diagnosis(zone), context=context).data)
