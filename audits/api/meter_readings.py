"""Readings of a property's water meter."""

from __future__ import annotations

from typing import ClassVar

from django.utils import timezone
from rest_framework import serializers

from audits.api.filters import METER_READING_ORDERS, MeterReadingFilters
from audits.models import MeterReading, Visit
from audits.services.meter_readings import record_meter_reading
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import MeasuredRowSerializer, ScopedField
from properties.http.views import RowViewSet, staff_of
from properties.models import Property
from properties.models.staff import ALL_STAFF


class MeterReadingSerializer(MeasuredRowSerializer[MeterReading]):
    property: ScopedField[Property] = ScopedField(
        queryset=Property.objects.all(), property_path="pk"
    )
    visit: ScopedField[Visit] = ScopedField(
        queryset=Visit.objects.all(), property_path="property", required=False, allow_null=True,
        help_text="A technician names his own visit; the office may leave it out.",
    )  # fmt: skip
    read_at = serializers.DateTimeField(required=False, help_text="Now when absent.")
    reading = QuantityField("volume", source="reading_l")

    class Meta:
        model = MeterReading
        fields = (
            "id", "property", "visit", "read_at", "reading", "meter_changed", "note", "created_at",
        )  # fmt: skip
        read_only_fields = ("created_at",)


class MeterReadingViewSet(RowViewSet[MeterReading]):
    """Meter readings are facts: recorded once, never edited."""

    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = MeterReading.objects.all()
    serializer_class = MeterReadingSerializer
    property_path: ClassVar[str | None] = "property"
    filterset_class = MeterReadingFilters
    orders = METER_READING_ORDERS

    def perform_create(self, serializer: serializers.BaseSerializer[MeterReading]) -> None:
        serializer.instance = record_meter_reading(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
