"""Station files: sent in by the office, read in the background, with the report of each."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.serializers import NamedChoiceField, StrictSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models.staff import OFFICE_ONLY
from scheduling.api.filters import WeatherFileFilters
from scheduling.domain.station_values import Layout
from scheduling.models import WeatherFile
from scheduling.models.weather_files import LAYOUTS, UNITS
from scheduling.selectors.weather_files import failure_of, state_of, with_job
from scheduling.services.job_kinds import WEATHER_FILE
from scheduling.services.weather_files import check_sent_bytes, counts_of, keep_weather_file


class SendWeatherFileSerializer(StrictSerializer):
    file = serializers.FileField(
        max_length=200, allow_empty_file=True, help_text="A daily station file, plain or gzip."
    )
    layout = NamedChoiceField(
        LAYOUTS, required=False, allow_blank=True, help_text="As the first line shows when absent."
    )
    units = NamedChoiceField(
        UNITS,
        required=False,
        allow_blank=True,
        help_text="For an ordered file, which does not say.",
    )


class WeatherFileSerializer(serializers.ModelSerializer[WeatherFile]):
    state = serializers.SerializerMethodField(
        help_text="waiting, reading, read, refused (as a whole), or failed: its job gave up."
    )
    failure = serializers.SerializerMethodField(
        help_text="Why the job gave up, and what helps; null in any other state."
    )
    counts = serializers.SerializerMethodField(
        help_text="The numbers of the report, or the refusal of the whole file."
    )

    class Meta:
        model = WeatherFile
        fields = (
            "id", "name", "layout", "units", "sha256", "size_bytes", "state", "failure", "counts",
            "created_at", "read_at",
        )  # fmt: skip

    def get_state(self, file: WeatherFile) -> str:
        return state_of(file)

    def get_failure(self, file: WeatherFile) -> dict[str, Any] | None:
        return failure_of(file)

    def get_counts(self, file: WeatherFile) -> dict[str, Any]:
        return counts_of(file)


class WeatherFileReportSerializer(WeatherFileSerializer):
    class Meta:
        model = WeatherFile
        fields = (*WeatherFileSerializer.Meta.fields, "report")


class WeatherFileViewSet(ReadViewSet[WeatherFile]):
    """Daily weather as public station files; the days go to the stations that are registered."""

    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = with_job(WeatherFile.objects.all(), kind=WEATHER_FILE)
    serializer_class = WeatherFileSerializer
    parser_classes = (MultiPartParser,)
    unkept_acts = frozenset({"create"})  # the same file is the same row
    filterset_class = WeatherFileFilters

    def get_serializer_class(self) -> type[serializers.BaseSerializer[WeatherFile]]:
        return WeatherFileReportSerializer if self.action == "retrieve" else WeatherFileSerializer

    @extend_schema(
        request={"multipart/form-data": SendWeatherFileSerializer},
        responses={202: JobSerializer, 200: WeatherFileReportSerializer},
    )
    def create(self, request: Request) -> Response:
        """Send a file; its days are stored by the job answered, whose subject is the file.

        The same file again is the same row: 200 and its report once it was read, unless there is
        reason to read it anew (it was refused, or named stations that nobody had registered).
        """
        check_sent_bytes(int(request.META.get("CONTENT_LENGTH") or 0))
        sent = SendWeatherFileSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        said = sent.validated_data
        file, job = keep_weather_file(
            said["file"].file, name=said["file"].name,
            layout=Layout(said["layout"]) if said.get("layout") else None,
            units=said.get("units") or None, actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        if job is None:
            return Response(WeatherFileReportSerializer(file).data)
        return Response(JobSerializer(job).data, status=status.HTTP_202_ACCEPTED)
