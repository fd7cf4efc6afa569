"""Treatments that ask something of the water, and what they ask of a zone at a moment."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.api.filters import TreatmentFilters
from audits.domain.treatments import TreatmentEffect
from audits.models import Treatment, Visit
from audits.selectors.treatments import EffectOnZone, conflicting_treatments, effect_on_zone
from audits.services.treatments import call_off_treatment, record_treatment
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import MeasuredRowSerializer, ScopedField
from properties.http.views import UNITS_PARAMETER, RowViewSet, requested_units, staff_of
from properties.models import Property, Zone
from properties.models.staff import ALL_STAFF
from properties.selectors.scope import narrow_to_scope


class TreatmentListSerializer(serializers.ListSerializer[Any]):
    """Looks for the conflicts of a page at once."""

    child: TreatmentSerializer

    def to_representation(self, data: Sequence[Treatment]) -> list[Any]:  # type: ignore[override]
        self.child.conflicts = conflicting_treatments(data)
        return super().to_representation(data)


class TreatmentSerializer(MeasuredRowSerializer[Treatment]):
    conflicts: dict[UUID, list[UUID]] | None = None  # of the page, if it is one of a page

    property: ScopedField[Property] = ScopedField(
        queryset=Property.objects.all(), property_path="pk"
    )
    zone: ScopedField[Zone] = ScopedField(
        queryset=Zone.objects.all(), property_path="property", required=False, allow_null=True,
        help_text="The whole property when absent.",
    )  # fmt: skip
    visit: ScopedField[Visit] = ScopedField(
        queryset=Visit.objects.all(), property_path="property", required=False, allow_null=True,
        help_text="A technician names his own visit; the office may leave it out.",
    )  # fmt: skip
    at_most = QuantityField(
        "depth", source="at_most_mm", required=False, allow_null=True,
        help_text="How much may be watered in, by the label.",
    )  # fmt: skip
    conflicts_with = serializers.SerializerMethodField(
        help_text="Treatments that ask the contrary at the same time; a person settles it."
    )

    class Meta:
        model = Treatment
        list_serializer_class = TreatmentListSerializer
        fields = (
            "id", "property", "zone", "visit", "kind", "label", "applied_at", "until", "at_most",
            "is_called_off", "conflicts_with", "created_at", "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("is_called_off", "created_at", "changed_at", "revision")

    def get_conflicts_with(self, treatment: Treatment) -> list[UUID]:
        conflicts = self.conflicts or conflicting_treatments([treatment])
        return conflicts[treatment.pk]


class TreatmentViewSet(RowViewSet[Treatment]):
    """Treatments are recorded and called off, never edited."""

    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = Treatment.objects.all()
    serializer_class = TreatmentSerializer
    property_path: ClassVar[str | None] = "property"
    filterset_class = TreatmentFilters

    def perform_create(self, serializer: serializers.BaseSerializer[Treatment]) -> None:
        serializer.instance = record_treatment(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"], url_path="call-off")
    def call_off(self, request: Request, pk: str) -> Response:
        """Let it ask nothing more of the water."""
        treatment = call_off_treatment(
            self.get_object(), actor=staff_of(request), now=timezone.now()
        )
        content: dict[str, Any] = self.get_serializer(treatment).data
        return Response(content)


class TreatmentEffectSerializer(serializers.Serializer[EffectOnZone]):
    """What the treatments of a zone ask: water in (at most so much), hold water, or nothing."""

    at = serializers.DateTimeField()
    effect = serializers.ChoiceField(choices=[each.value for each in TreatmentEffect])
    at_most = QuantityField("depth", source="at_most_mm", allow_null=True)
    treatments = serializers.ListField(child=serializers.UUIDField())
    labels = serializers.ListField(child=serializers.CharField(), help_text="What binds over it.")


class TreatmentEffectView(APIView):
    """What the treatments of a zone ask of its water at a moment."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(
        parameters=[
            OpenApiParameter("at", OpenApiTypes.DATETIME, description="Now when absent."),
            UNITS_PARAMETER,
        ],
        responses=TreatmentEffectSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        staff, now = staff_of(request), timezone.now()
        zones = narrow_to_scope(Zone.objects.all(), "property", staff=staff, now=now)
        effect = effect_on_zone(get_object_or_404(zones, pk=pk), _moment(request) or now)
        context = {"units": requested_units(request)}
        content: dict[str, Any] = TreatmentEffectSerializer(effect, context=context).data
        return Response(content)


class _MomentSerializer(serializers.Serializer[Any]):
    at = serializers.DateTimeField(required=False)


def _moment(request: Request) -> Any:
    form = _MomentSerializer(data=request.query_params)
    form.is_valid(raise_exception=True)
    return form.validated_data.get("at")
