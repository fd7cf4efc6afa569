"""What to set on a controller: to read, and to have it fitted anew."""

from __future__ import annotations

from datetime import date
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.idempotency import KEY, KeyedPosts
from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.serializers import StrictSerializer
from properties.http.views import UNITS_PARAMETER, ReadViewSet, requested_units, staff_of
from properties.models import Controller, Property
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from scheduling.api.filters import BY_CREATION, ControllerProgramFilters
from scheduling.api.program_tables import (
    DaysSerializer,
    MonthQuery,
    PlainTextRenderer,
    ProgramComparisonSerializer,
    ProgramTableSerializer,
)
from scheduling.domain.controller_year import YearStyle
from scheduling.domain.program_table_text import table_text
from scheduling.models import ControllerProgram
from scheduling.models.programs import ProgramStyle
from scheduling.selectors.program_tables import program_comparison, program_table
from scheduling.selectors.weather_outlook import local_date
from scheduling.services.controller_programs import ask_for_fit


class RunMinutesSerializer(serializers.Serializer[Any]):
    zone = serializers.UUIDField()
    run_min = serializers.IntegerField()


class TypedProgramSerializer(serializers.Serializer[Any]):
    """A program as a person types it in; each start runs its zones one after the other."""

    name = serializers.CharField()
    days = serializers.CharField()
    pattern = DaysSerializer(allow_null=True, default=None)
    starts = serializers.ListField(child=serializers.CharField())
    minutes = RunMinutesSerializer(many=True)


class UnmetSerializer(serializers.Serializer[Any]):
    """What could not be granted, to which zone (none: to all), and what would cure it."""

    zone_id = serializers.UUIDField(allow_null=True)
    code = serializers.CharField()
    sentence = serializers.CharField()
    cure = serializers.CharField()


class FitAskedSerializer(StrictSerializer):
    """What changes from month to month: the days, or the seasonal percentage."""

    style = serializers.ChoiceField(  # type: ignore[assignment]
        ProgramStyle.choices, default=ProgramStyle.DAYS.value
    )


class ControllerProgramSerializer(serializers.ModelSerializer[ControllerProgram]):
    """Of the thirstiest month; `cost` is weighted shortfall and excess [mm a week].

    `gap` is how far from the best it may be. The whole year is in the table.
    """

    programs = TypedProgramSerializer(many=True)
    unmet = UnmetSerializer(many=True)

    class Meta:
        model = ControllerProgram
        fields = (
            "id", "controller", "number", "style", "month", "programs", "unmet", "cost", "gap",
            "inputs", "created_at", "changed_at",
        )  # fmt: skip
        read_only_fields = fields


MONTH_PARAMETER = OpenApiParameter("month", int, description="This month when absent.")


class ControllerProgramViewSet(ReadViewSet[ControllerProgram]):
    """Fitted sets, the newest first; a changed one is a new row."""

    access = Access(read=ALL_STAFF, write=frozenset())
    queryset = ControllerProgram.objects.all()
    serializer_class = ControllerProgramSerializer
    property_path: ClassVar[str | None] = "controller__property"
    filterset_class = ControllerProgramFilters
    orders = BY_CREATION

    def get_queryset(self) -> QuerySet[ControllerProgram]:
        rows = super().get_queryset()
        if self.action == "list":
            return rows.defer("months")
        return rows.select_related("controller__property")

    @extend_schema(
        parameters=[MONTH_PARAMETER, UNITS_PARAMETER],
        responses={
            (200, "application/json"): ProgramTableSerializer,
            (200, "text/plain"): OpenApiTypes.STR,
        },
    )
    @action(detail=True, renderer_classes=[JSONRenderer, PlainTextRenderer])
    def table(self, request: Request, pk: UUID) -> HttpResponse:
        """The programs as a table to type from; `?format=text`, or Accept, gives plain text."""
        row, today = self._row_today()
        units = requested_units(request)
        table = program_table(row, month=self._month(today), on=today, units=units)
        if request.accepted_renderer.format == PlainTextRenderer.format:
            return HttpResponse(table_text(table, units), content_type="text/plain; charset=utf-8")
        return Response(ProgramTableSerializer(table, context={"units": units}).data)

    @extend_schema(
        parameters=[MONTH_PARAMETER, UNITS_PARAMETER], responses=ProgramComparisonSerializer
    )
    @action(detail=True)
    def changes(self, request: Request, pk: UUID) -> Response:
        """What to change on the controller, against the setting that runs now."""
        row, today = self._row_today()
        units = requested_units(request)
        found = program_comparison(row, month=self._month(today), units=units)
        return Response(ProgramComparisonSerializer(found).data)

    def _row_today(self) -> tuple[ControllerProgram, date]:
        row = self.get_object()
        return row, local_date(row.controller.property, timezone.now())

    def _month(self, today: date) -> int:
        others = ("units", "format")
        sent = {
            name: text for name, text in self.request.query_params.items() if name not in others
        }
        query = MonthQuery(data=sent)
        query.is_valid(raise_exception=True)
        return int(query.validated_data.get("month", today.month))


class FitProgramsView(KeyedPosts):
    """Fit the year of one controller by itself, in the background."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)
    needs_key = True

    @extend_schema(parameters=[KEY], request=FitAskedSerializer, responses={202: JobSerializer})
    def post(self, request: Request, pk: UUID) -> Response:
        return _ask(request, get_object_or_404(Controller, pk=pk))


class FitPropertyView(KeyedPosts):
    """Fit the year of all controllers of a property, never together beyond its supply."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)
    needs_key = True

    @extend_schema(parameters=[KEY], request=FitAskedSerializer, responses={202: JobSerializer})
    def post(self, request: Request, pk: UUID) -> Response:
        return _ask(request, get_object_or_404(Property, pk=pk))


def _ask(request: Request, subject: Controller | Property) -> Response:
    sent = FitAskedSerializer(data=request.data)
    sent.is_valid(raise_exception=True)
    style, now = YearStyle(sent.validated_data["style"]), timezone.now()
    job = ask_for_fit(subject, style, actor=staff_of(request), now=now)
    content: dict[str, Any] = JobSerializer(job).data
    return Response(content, status=status.HTTP_202_ACCEPTED)
