"""Spreadsheets that the office brings in: sent, looked at, and written when it says so."""

from __future__ import annotations

from typing import Any

from django.http import StreamingHttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.pagination import CursorPagination
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.exports import MARK_PARAMETER, CsvRenderer, csv_answer, wants_mark
from properties.api.filters import ImportFilters
from properties.domain.spreadsheet_columns import Kind
from properties.domain.spreadsheet_numbers import DayOrder
from properties.domain.spreadsheet_text import Delimiter, Encoding
from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.serializers import NamedChoiceField, StrictSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models import Import, ImportLine
from properties.models.company import UNIT_SYSTEMS
from properties.models.imports import IMPORT_KINDS, Outcome
from properties.models.staff import OFFICE_ONLY
from properties.selectors.exports import lines_of, report_lines
from properties.selectors.imports import failure_of, progress_of, with_job
from properties.services.import_files import check_sent_bytes
from properties.services.imports import LOOK, WRITE, ask_to_write, cancel_import, keep_import

DECIMALS = [("point", "12.5"), ("comma", "12,5")]
ENCODINGS = [(each.value, each.value) for each in Encoding]
DELIMITERS = [(each.value, each.value) for each in Delimiter]
DAY_ORDERS = [(each.value, each.value) for each in DayOrder]


class HeadingsField(serializers.JSONField):
    """An object of texts, sent as JSON within the form."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(binary=True, **kwargs)

    def to_internal_value(self, data: Any) -> dict[str, str]:
        said = super().to_internal_value(data)
        if not isinstance(said, dict) or not all(isinstance(each, str) for each in said.values()):
            raise serializers.ValidationError('Send an object such as {"Kd-Nr": "Reference"}.')
        return said


class SendImportSerializer(StrictSerializer):
    file = serializers.FileField(max_length=200, allow_empty_file=True, help_text="The CSV file.")
    kind = NamedChoiceField(
        IMPORT_KINDS, help_text="What its rows are; everything: customer to zone in one row."
    )
    units = NamedChoiceField(
        UNIT_SYSTEMS, required=False, help_text="Of quantities whose heading and cell name none."
    )
    headings = HeadingsField(
        required=False,
        help_text="For a heading of the file the one that it stands for, with its unit if any;"
        ' "" for one that is not to be taken.',
    )
    ignores_unknown = serializers.BooleanField(
        required=False, help_text="Columns whose heading nobody knows are left out."
    )
    takes_alike = serializers.BooleanField(
        required=False,
        help_text="New rows whose contact or address another row has are taken all the same.",
    )
    clears_blank = serializers.BooleanField(
        required=False,
        help_text="A blank cell empties the field; else it leaves what is there.",
    )
    encoding = NamedChoiceField(ENCODINGS, required=False, help_text="As the bytes show if absent.")
    delimiter = NamedChoiceField(
        DELIMITERS, required=False, help_text="As the headings show if absent."
    )
    decimal = NamedChoiceField(
        DECIMALS, required=False,
        help_text="What stands before the decimals; a comma where semicolons divide, if absent.",
    )  # fmt: skip
    day_order = NamedChoiceField(
        DAY_ORDERS, required=False, help_text="Of days that do not begin with the year."
    )


class WriteImportSerializer(StrictSerializer):
    only_good_rows = serializers.BooleanField(
        default=False, help_text="Rows with faults are left out; else nothing is written then."
    )


class ImportSerializer(serializers.ModelSerializer[Import]):
    progress = serializers.SerializerMethodField(help_text="Rows looked at, and all rows.")
    failure = serializers.SerializerMethodField(
        help_text="Why the job gave up, and what helps; null in any other state."
    )

    class Meta:
        model = Import
        fields = (
            "id", "kind", "name", "said", "sha256", "size_bytes", "state", "only_good_rows",
            "progress", "failure", "report", "created_at", "looked_at_at", "ended_at", "revision",
        )  # fmt: skip

    def get_progress(self, sheet: Import) -> dict[str, int | None]:
        return progress_of(sheet)

    def get_failure(self, sheet: Import) -> dict[str, Any] | None:
        return failure_of(sheet)


class ImportLineSerializer(serializers.ModelSerializer[ImportLine]):
    class Meta:
        model = ImportLine
        fields = ("row", "outcome", "reference", "changes", "faults")


class ByRow(CursorPagination):
    """The order of the file."""

    ordering = "row"
    page_size = 200
    page_size_query_param = "limit"
    max_page_size = 1000


OUTCOME_PARAMETER = OpenApiParameter(
    "outcome", str, enum=Outcome.values, description="Rows of that outcome alone."
)


class ImportViewSet(ReadViewSet[Import]):
    """Customers, properties, controllers and zones out of CSV files."""

    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = with_job(Import.objects.all(), kinds=(LOOK, WRITE))
    serializer_class = ImportSerializer
    filterset_class = ImportFilters
    unkept_acts = frozenset({"create", "write"})  # they answer with a job, and know a repeat

    def get_parsers(self) -> list[Any]:
        is_form = getattr(self, "action_map", {}).get("post") == "create"
        return [MultiPartParser()] if is_form else super().get_parsers()

    @extend_schema(
        request={"multipart/form-data": SendImportSerializer}, responses={202: JobSerializer}
    )
    def create(self, request: Request) -> Response:
        """Send a file; the job answered looks at it and writes nothing."""
        check_sent_bytes(int(request.META.get("CONTENT_LENGTH") or 0))
        sent = SendImportSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        said = dict(sent.validated_data)
        file, kind = said.pop("file"), Kind(said.pop("kind"))
        _, job = keep_import(
            file.file, kind=kind, name=file.name, said={k: v for k, v in said.items() if v},
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        return Response(JobSerializer(job).data, status=status.HTTP_202_ACCEPTED)

    @extend_schema(request=WriteImportSerializer, responses={202: JobSerializer})
    @action(detail=True, methods=["post"])
    def write(self, request: Request, pk: str) -> Response:
        """Write what the report promises; the whole file, or nothing."""
        sheet = self.get_object()
        sent = WriteImportSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        _, job = ask_to_write(
            sheet, **sent.validated_data, actor=staff_of(request), now=timezone.now()
        )
        return Response(JobSerializer(job).data, status=status.HTTP_202_ACCEPTED)

    @extend_schema(request=None, responses=ImportSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Cancel an import that is not written yet."""
        sheet = cancel_import(self.get_object(), actor=staff_of(request), now=timezone.now())
        return Response(self.get_serializer(sheet).data)

    @extend_schema(parameters=[OUTCOME_PARAMETER], responses=ImportLineSerializer(many=True))
    @action(detail=True, filter_backends=(), pagination_class=ByRow)
    def lines(self, request: Request, pk: str) -> Response:
        """List what each row does or did, and its faults."""
        lines, outcome = lines_of(self.get_object()), request.query_params.get("outcome")
        if outcome is not None and outcome not in Outcome.values:
            raise serializers.ValidationError(
                {"outcome": f"Use one of {', '.join(Outcome.values)}."}
            )
        pages = ByRow()
        page = pages.paginate_queryset(
            lines.filter(outcome=outcome) if outcome else lines, request, view=self
        )
        return pages.get_paginated_response(ImportLineSerializer(page or [], many=True).data)

    @extend_schema(
        parameters=[MARK_PARAMETER],
        responses={(200, "text/csv"): OpenApiTypes.BINARY},
        filters=False,
    )
    @action(detail=True, url_path="report.csv", renderer_classes=[CsvRenderer])
    def report(self, request: Request, pk: str) -> StreamingHttpResponse:
        """Return the report as CSV: a line for each fault, and one for each row without."""
        lines = report_lines(self.get_object(), with_mark=wants_mark(request))
        return csv_answer(lines, "import-report.csv")
