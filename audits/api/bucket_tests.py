"""Bucket tests: a volume against a watch."""

from __future__ import annotations

from typing import ClassVar

from django.utils import timezone
from rest_framework import serializers

from audits.api.filters import ReadingFilters
from audits.models import BucketTest, Visit
from audits.services.bucket_tests import record_bucket_test
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import MeasuredRowSerializer, ScopedField
from properties.http.views import RowViewSet, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF


class BucketTestSerializer(MeasuredRowSerializer[BucketTest]):
    visit: ScopedField[Visit] = ScopedField(queryset=Visit.objects.all(), property_path="property")
    zone: ScopedField[Zone] = ScopedField(queryset=Zone.objects.all(), property_path="property")
    taken_at = serializers.DateTimeField(required=False, help_text="Now when absent.")
    volume = QuantityField("volume", source="volume_l")
    flow = QuantityField("flow", source="flow_l_min", read_only=True)

    class Meta:
        model = BucketTest
        fields = ("id", "visit", "zone", "taken_at", "volume", "seconds", "flow", "created_at")
        read_only_fields = ("created_at",)


class BucketTestViewSet(RowViewSet[BucketTest]):
    """Bucket tests are facts: recorded once, never edited."""

    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = BucketTest.objects.all()
    serializer_class = BucketTestSerializer
    property_path: ClassVar[str | None] = "visit__property"
    filterset_class = ReadingFilters

    def perform_create(self, serializer: serializers.BaseSerializer[BucketTest]) -> None:
        serializer.instance = record_bucket_test(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
