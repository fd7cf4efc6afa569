"""What to set on a controller: to read, and to have it fitted anew."""

from __future__ import annotations

from typing import Any, ClassVar
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.views import ReadViewSet, staff_of
from properties.models import Controller
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.jobs import ask_for
from scheduling.models import ControllerProgram
from scheduling.services.job_kinds import FIT_PROGRAMS


class RunMinutesSerializer(serializers.Serializer[Any]):
    zone = serializers.UUIDField()
    run_min = serializers.IntegerField()


class TypedProgramSerializer(serializers.Serializer[Any]):
    """A program as a person types it in; each start runs its zones one after the other."""

    name = serializers.CharField()
    days = serializers.CharField()
    starts = serializers.ListField(child=serializers.CharField())
    minutes = RunMinutesSerializer(many=True)


class UnmetSerializer(serializers.Serializer[Any]):
    """What could not be granted, to which zone (none: to all), and what would cure it."""

    zone_id = serializers.UUIDField(allow_null=True)
    code = serializers.CharField()
    sentence = serializers.CharField()
    cure = serializers.CharField()


class ControllerProgramSerializer(serializers.ModelSerializer[ControllerProgram]):
    """`cost` is weighted shortfall and excess [mm a week], `gap` how far from best it may be."""

    programs = TypedProgramSerializer(many=True)
    unmet = UnmetSerializer(many=True)

    class Meta:
        model = ControllerProgram
        fields = (
            "id", "controller", "number", "month", "programs", "unmet", "cost", "gap", "inputs",
            "created_at",
        )  # fmt: skip
        read_only_fields = fields


class ControllerProgramViewSet(ReadViewSet[ControllerProgram]):
    """Fitted sets, the newest first; a changed one is a new row."""

    access = Access(read=ALL_STAFF, write=frozenset())
    queryset = ControllerProgram.objects.all()
    serializer_class = ControllerProgramSerializer
    property_path: ClassVar[str | None] = "controller__property"
    filterset_fields = ("controller",)


class FitProgramsView(APIView):
    """Fit the programs of a controller for this month, in the background."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)

    @extend_schema(request=None, responses={202: JobSerializer})
    def post(self, request: Request, pk: UUID) -> Response:
        controller = get_object_or_404(Controller, pk=pk)
        now, staff = timezone.now(), staff_of(request)
        job = ask_for(FIT_PROGRAMS, controller.pk, asked_by=staff, now=now)
        content: dict[str, Any] = JobSerializer(job).data
        return Response(content, status=status.HTTP_202_ACCEPTED)
