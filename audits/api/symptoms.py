"""What is seen on plants and ground, with what the water says of it: never a diagnosis."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any, ClassVar
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from audits.api.filters import SymptomFilters
from audits.domain.symptoms import WaterVerdict
from audits.http.symptoms import WaterVerdictSerializer
from audits.models import PlantSymptom, Visit
from audits.selectors.symptoms import water_verdicts
from audits.services.symptoms import record_symptom
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer, ScopedField
from properties.http.views import RowViewSet, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF


class SymptomListSerializer(serializers.ListSerializer[Any]):
    """Judges the symptoms of a page at once."""

    child: SymptomSerializer

    def to_representation(self, data: Sequence[PlantSymptom]) -> list[Any]:  # type: ignore[override]
        self.child.verdicts = water_verdicts(data)
        return super().to_representation(data)


class SymptomSerializer(RowSerializer[PlantSymptom]):
    verdicts: dict[UUID, WaterVerdict] | None = None  # of the page, if it is one of a page

    visit: ScopedField[Visit] = ScopedField(queryset=Visit.objects.all(), property_path="property")
    zone: ScopedField[Zone] = ScopedField(queryset=Zone.objects.all(), property_path="property")
    seen_at = serializers.DateTimeField(required=False, help_text="Now when absent.")
    water = serializers.SerializerMethodField()

    class Meta:
        model = PlantSymptom
        list_serializer_class = SymptomListSerializer
        fields = ("id", "visit", "zone", "kind", "spot", "note", "seen_at", "water", "created_at")
        read_only_fields = ("created_at",)

    @extend_schema_field(WaterVerdictSerializer)
    def get_water(self, symptom: PlantSymptom) -> dict[str, Any]:
        verdicts = self.verdicts or water_verdicts([symptom])
        return self._verdict_form.to_representation(verdicts[symptom.pk])

    @cached_property
    def _verdict_form(self) -> WaterVerdictSerializer:
        """Make the form once for all rows of a page."""
        return WaterVerdictSerializer()


class SymptomViewSet(RowViewSet[PlantSymptom]):
    """Symptoms are facts: recorded once, never edited.

    The water of the weeks before is unknown here; `symptoms/{id}/with-record` judges by it too.
    """

    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = PlantSymptom.objects.all()
    serializer_class = SymptomSerializer
    property_path: ClassVar[str | None] = "visit__property"
    filterset_class = SymptomFilters

    def perform_create(self, serializer: serializers.BaseSerializer[PlantSymptom]) -> None:
        serializer.instance = record_symptom(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
