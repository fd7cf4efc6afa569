"""Notices to look through and to have tried again; the nights; and how it all stands."""

from __future__ import annotations

from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.idempotency import KEY
from properties.http.permissions import Access
from properties.http.views import ReadViewSet, staff_of
from properties.models.staff import OFFICE_ONLY
from scheduling.api.filters import BY_CREATION, NightRunFilters, NoticeFilters
from scheduling.models import NightRun, NightSlice, Notice
from scheduling.selectors.operation import operation
from scheduling.services.night_runs import run_again
from scheduling.services.notices import pause_notices, resume_notices, try_again


class NoticeSerializer(serializers.ModelSerializer[Notice]):
    subject = serializers.CharField(source="content.subject")
    reason = serializers.JSONField(help_text="Why it was held back or given up: code and detail.")

    class Meta:
        model = Notice
        fields = (
            "id", "key", "issue", "kind", "customer", "staff", "property", "period", "language",
            "subject", "state", "reason", "attempts", "may_be_twice", "message_id", "created_at",
            "sent_at", "sheet_sha256",
        )  # fmt: skip


class NoticeViewSet(ReadViewSet[Notice]):
    """What was said to whom, what is on its way, and what went wrong; the office's alone."""

    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = Notice.objects.all()
    serializer_class = NoticeSerializer
    filterset_class = NoticeFilters
    orders = BY_CREATION
    property_path: ClassVar[str | None] = None

    @extend_schema(request=None, responses=NoticeSerializer)
    @action(detail=True, methods=["post"], url_path="try-again")
    def try_again(self, request: Request, pk: str) -> Response:
        """Queue one anew that was held back or given up."""
        notice = try_again(self.get_object(), actor=staff_of(request), now=timezone.now())
        return Response(self.get_serializer(notice).data)


class SwitchSerializer(serializers.Serializer[Any]):
    notices_paused_at = serializers.DateTimeField(allow_null=True)


class PauseNoticesView(APIView):
    """Let no notice go out until they are resumed; what is queued waits."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)

    @extend_schema(request=None, responses=SwitchSerializer)
    def post(self, request: Request) -> Response:
        company = pause_notices(actor=staff_of(request), now=timezone.now())
        return Response(SwitchSerializer(company).data)


class ResumeNoticesView(APIView):
    """Let notices go out again."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)

    @extend_schema(request=None, responses=SwitchSerializer)
    def post(self, request: Request) -> Response:
        company = resume_notices(actor=staff_of(request), now=timezone.now())
        return Response(SwitchSerializer(company).data)


class NightSliceSerializer(serializers.ModelSerializer[NightSlice]):
    class Meta:
        model = NightSlice
        fields = ("station", "state", "zones", "changed", "days_usual", "seconds", "problem")


class NightRunSerializer(serializers.ModelSerializer[NightRun]):
    """A night with its slices: how far it is, how many zones it looked at, what failed."""

    parts = NightSliceSerializer(many=True)

    class Meta:
        model = NightRun
        fields = ("id", "date", "number", "state", "started_at", "ended_at", "slices", "parts")


class NightRunViewSet(ReadViewSet[NightRun]):
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = NightRun.objects.prefetch_related("parts")
    serializer_class = NightRunSerializer
    filterset_class = NightRunFilters
    property_path: ClassVar[str | None] = None
    keyed_acts = frozenset({"create"})

    @extend_schema(parameters=[KEY], request=None, responses={202: NightRunSerializer})
    def create(self, request: Request) -> Response:
        """Have all zones looked at once more today, in the background."""
        run = run_again(now=timezone.now())
        return Response(self.get_serializer(run).data, status=status.HTTP_202_ACCEPTED)


class StationProblemSerializer(serializers.Serializer[Any]):
    station = serializers.CharField(help_text="Its code.")
    problem = serializers.CharField(help_text="Of the last fetch; empty where none was tried.")


class OperationSerializer(serializers.Serializer[Any]):
    """How the background work stands; ages are in seconds, null where there is nothing."""

    oldest_due_job_s = serializers.FloatField(allow_null=True)
    jobs_due = serializers.IntegerField()
    jobs_parked = serializers.IntegerField()
    last_beat_s = serializers.FloatField(allow_null=True)
    notices = serializers.DictField(child=serializers.IntegerField())
    notices_stopped = serializers.BooleanField()
    mail_taken_today = serializers.IntegerField()
    mail_a_day = serializers.IntegerField()
    last_night = serializers.DateField(allow_null=True)
    last_night_state = serializers.CharField(allow_null=True)
    weather_age_days = serializers.IntegerField(
        allow_null=True,
        help_text="Of the newest whole day of the station in use that is furthest back.",
    )
    observed_age_days = serializers.IntegerField(
        allow_null=True, help_text="Likewise, without days that an analysis stands in for."
    )
    observations_failing = StationProblemSerializer(
        many=True, help_text="Stations whose last fetch of observed days failed, and why."
    )
    forecast_age_s = serializers.FloatField(allow_null=True)
    forecasts_failing = serializers.IntegerField(
        help_text="Stations whose last fetch of a forecast failed."
    )
    stations_without_frost_warning = StationProblemSerializer(
        many=True,
        help_text="Stations whose forecast is missing or too old to tell of frost and heat.",
    )


class OperationView(APIView):
    """How the background work stands: what a monitor asks each few minutes."""

    access = Access(read=OFFICE_ONLY, write=frozenset())

    @extend_schema(responses=OperationSerializer)
    def get(self, request: Request) -> Response:
        return Response(OperationSerializer(operation(timezone.now())).data)
