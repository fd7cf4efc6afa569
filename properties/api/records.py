"""The company, its memory and its background work."""

from __future__ import annotations

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.filters import EventFilters, JobFilters
from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.preconditions import (
    IF_MATCH,
    IF_NONE_MATCH,
    etag_of,
    is_known_to,
    read_revision,
)
from properties.http.serializers import RowSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models import Company, Event, Job, Role
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.selectors.company import the_company
from properties.services.job_cancelling import cancel_job
from properties.services.rows import change_held


class CompanySerializer(RowSerializer[Company]):
    class Meta:
        model = Company
        fields = (
            "id", "name", "contact_line", "units", "time_zone", "currency",
            "digging_business_days", "digging_longest_days", "holidays", "leaves_room_for_rain",
            "notices_paused_at", "created_at", "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("id", "notices_paused_at", "created_at", "changed_at", "revision")


@extend_schema(summary="The company of this installation")
class CompanyView(generics.GenericAPIView[Company]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    serializer_class = CompanySerializer

    @extend_schema(parameters=[IF_NONE_MATCH])
    def get(self, request: Request) -> Response:
        return self._answer(the_company())

    @extend_schema(parameters=[IF_MATCH])
    def patch(self, request: Request) -> Response:
        """Change what the company is called, its units, its clock and its defaults."""
        company = the_company()
        revision = read_revision(request, company.revision)
        sent = self.get_serializer(company, data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        changed = change_held(
            company, sent.validated_data, read_revision=revision,
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        return self._answer(changed)

    def _answer(self, company: Company) -> Response:
        content = self.get_serializer(company).data
        etag = etag_of(content, company.units)
        if self.request.method == "GET" and is_known_to(self.request, etag):
            return Response(status=status.HTTP_304_NOT_MODIFIED, headers={"ETag": etag})
        return Response(content, headers={"ETag": etag, "Cache-Control": "private, no-cache"})


class EventSerializer(serializers.ModelSerializer[Event]):
    class Meta:
        model = Event
        fields = (
            "id", "at", "actor", "device", "act", "subject_kind", "subject_id", "before", "after",
        )  # fmt: skip


class EventViewSet(ReadViewSet[Event]):
    access = Access(read=OFFICE_ONLY, write=frozenset())
    queryset = Event.objects.all()
    serializer_class = EventSerializer
    filterset_class = EventFilters


class JobViewSet(ReadViewSet[Job]):
    """Background work: the office sees all of it, a technician what he asked for."""

    access = Access(read=ALL_STAFF, write=frozenset(), acts=(("cancel", ALL_STAFF),))
    queryset = Job.objects.all()
    serializer_class = JobSerializer
    filterset_class = JobFilters

    def get_queryset(self) -> QuerySet[Job]:
        jobs = super().get_queryset()
        if getattr(self, "swagger_fake_view", False):
            return jobs
        staff = staff_of(self.request)
        return jobs if staff.role == Role.OFFICE else jobs.filter(asked_by=staff)

    @extend_schema(request=None, responses=JobSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Call off a job that no worker has begun."""
        job = cancel_job(self.get_object(), actor=staff_of(request), now=timezone.now())
        return Response(self.get_serializer(job).data)
