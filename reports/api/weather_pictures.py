"""The weather of a property as a picture."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.views import APIView

from audits.selectors.zones import visible_zones
from properties.http.permissions import Access
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF
from properties.selectors.scope import visible_properties
from reports.pdf.weather_pictures import rain_and_et0_picture, stored_water_picture, svg_of
from reports.selectors.weather_pictures import rain_and_et0_of, stored_water_of
from scheduling.selectors.weather_outlook import local_date

WIDTH: Final = 480.0
HEIGHT: Final = 210.0


class SvgRenderer(BaseRenderer):
    """Lets a caller ask for SVG; the view answers with the bytes by itself."""

    media_type = "image/svg+xml"
    format = "svg"


class WeatherPictureView(APIView):
    """Rain and ET0 of the 60 days up to yesterday, drawn as SVG."""

    access = Access(read=ALL_STAFF, write=frozenset())
    renderer_classes = (JSONRenderer, SvgRenderer)  # problems stay JSON

    @extend_schema(
        parameters=[UNITS_PARAMETER], responses={(200, "image/svg+xml"): OpenApiTypes.BINARY}
    )
    def get(self, request: Request, pk: UUID) -> HttpResponse:
        now = timezone.now()
        property_ = get_object_or_404(visible_properties(staff_of(request), now), pk=pk)
        content = rain_and_et0_of(property_, local_date(property_, now), requested_units(request))
        drawing = rain_and_et0_picture(content, width=WIDTH, height=HEIGHT)
        return _svg(svg_of(drawing, content.title))


class WaterPictureView(APIView):
    """What the roots of a zone held over the 60 days up to yesterday, drawn as SVG."""

    access = Access(read=ALL_STAFF, write=frozenset())
    renderer_classes = (JSONRenderer, SvgRenderer)

    @extend_schema(
        parameters=[UNITS_PARAMETER], responses={(200, "image/svg+xml"): OpenApiTypes.BINARY}
    )
    def get(self, request: Request, pk: UUID) -> HttpResponse:
        now = timezone.now()
        zone: Zone = get_object_or_404(visible_zones(staff_of(request), now), pk=pk)
        content = stored_water_of(zone, local_date(zone.property, now), requested_units(request))
        drawing = stored_water_picture(content, width=WIDTH, height=HEIGHT)
        return _svg(svg_of(drawing, content.title))


def _svg(picture: bytes) -> HttpResponse:
    response = HttpResponse(picture, content_type="image/svg+xml")
    response["Cache-Control"] = "private, no-store"
    return response
