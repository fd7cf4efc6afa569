"""The company, its memory and its background work, to read."""

from __future__ import annotations

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers

from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.views import ReadViewSet, staff_of
from properties.models import Company, Event, Job, Role
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.selectors.company import the_company


class CompanySerializer(serializers.ModelSerializer[Company]):
    class Meta:
        model = Company
        fields = ("id", "name", "contact_line", "units", "time_zone", "currency")


@extend_schema(summary="The company of this installation")
class CompanyView(generics.RetrieveAPIView[Company]):
    access = Access(read=ALL_STAFF, write=frozenset())
    serializer_class = CompanySerializer

    def get_object(self) -> Company:
        return the_company()


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
    filterset_fields = ("subject_id", "subject_kind", "actor")


class JobViewSet(ReadViewSet[Job]):
    """Background work: the office sees all of it, a technician what he asked for."""

    access = Access(read=ALL_STAFF, write=frozenset())
    queryset = Job.objects.all()
    serializer_class = JobSerializer
    filterset_fields = ("kind", "state", "subject_id")

    def get_queryset(self) -> QuerySet[Job]:
        jobs = super().get_queryset()
        if getattr(self, "swagger_fake_view", False):
            return jobs
        staff = staff_of(self.request)
        return jobs if staff.role == Role.OFFICE else jobs.filter(asked_by=staff)
