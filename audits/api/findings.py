"""What was found to be wrong."""

from __future__ import annotations

from typing import ClassVar

from django.utils import timezone
from rest_framework import serializers

from audits.api.filters import FindingFilters
from audits.models import Finding, Visit
from audits.services.findings import record_finding
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer, ScopedField
from properties.http.views import RowViewSet, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF


class FindingSerializer(RowSerializer[Finding]):
    visit: ScopedField[Visit] = ScopedField(queryset=Visit.objects.all(), property_path="property")
    zone: ScopedField[Zone] = ScopedField(
        queryset=Zone.objects.all(), property_path="property", required=False, allow_null=True
    )
    seen_at = serializers.DateTimeField(required=False, help_text="Now when absent.")

    class Meta:
        model = Finding
        fields = (
            "id", "visit", "zone", "fault", "severity", "count", "where", "note",
            "mended_on_the_spot", "seen_at", "ticket", "created_at",
        )  # fmt: skip
        read_only_fields = ("ticket", "created_at")
        extra_kwargs = {"count": {"min_value": 1}}


class FindingViewSet(RowViewSet[Finding]):
    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = Finding.objects.all()
    serializer_class = FindingSerializer
    property_path: ClassVar[str | None] = "visit__property"
    filterset_class = FindingFilters

    def perform_create(self, serializer: serializers.BaseSerializer[Finding]) -> None:
        serializer.instance = record_finding(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
