"""The company's rows as CSV files, which an import reads back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from django.http import StreamingHttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.views import APIView

from properties.domain.spreadsheet_columns import Kind
from properties.http.permissions import Access
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import OFFICE_ONLY
from properties.selectors.exports import exported_lines
from properties.services.exports import note_export

MARK_PARAMETER = OpenApiParameter(
    "mark", str, enum=["yes", "no"],
    description="Whether a byte order mark comes first, by which some spreadsheets know UTF-8.",
)  # fmt: skip


class CsvRenderer(BaseRenderer):
    """Lets a caller ask for `text/csv`; the view streams its own bytes."""

    media_type = "text/csv"
    format = "csv"


def wants_mark(request: Request) -> bool:
    """Return whether the byte order mark was asked for."""
    return request.query_params.get("mark") == "yes"


def csv_answer(lines: Iterator[bytes], name: str) -> StreamingHttpResponse:
    """Return a CSV file that is sent line by line and kept by nobody on the way."""
    return StreamingHttpResponse(
        lines,
        content_type="text/csv; charset=utf-8",
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            "Cache-Control": "private, no-store",
        },
    )


class ExportView(APIView):
    """All rows of a kind that are in use; access notes and gate codes are in them."""

    access = Access(read=OFFICE_ONLY, write=frozenset())
    renderer_classes = [CsvRenderer]
    kind: ClassVar[Kind] = Kind.CUSTOMERS

    @extend_schema(
        parameters=[UNITS_PARAMETER, MARK_PARAMETER],
        responses={(200, "text/csv"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request) -> StreamingHttpResponse:
        """Return the rows as CSV with the headings that an import knows; who took them is kept."""
        system = requested_units(request)
        note_export(self.kind, actor=staff_of(request), now=timezone.now())
        lines = exported_lines(self.kind, system=system, with_mark=wants_mark(request))
        return csv_answer(lines, f"{self.kind}.csv")


class ExportCustomersView(ExportView):
    kind = Kind.CUSTOMERS


class ExportPropertiesView(ExportView):
    kind = Kind.PROPERTIES


class ExportControllersView(ExportView):
    kind = Kind.CONTROLLERS


class ExportZonesView(ExportView):
    kind = Kind.ZONES
