"""A symptom with the water record of its zone: what the audits alone cannot tell."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.domain.supply import Supply
from audits.domain.water_record import WaterRecord
from audits.http.symptoms import WaterVerdictSerializer
from audits.selectors.symptoms import visible_symptoms
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import ALL_STAFF
from scheduling.api.water_accounts import UnscoredSerializer
from scheduling.selectors.symptoms import SymptomWater, symptom_with_record

SUPPLIES: Final = [(each.value, each.value) for each in Supply]


class WaterRecordSerializer(serializers.Serializer[WaterRecord]):
    """Sums over the days of the record; null where the rain of too many days is unknown."""

    days = serializers.IntegerField()
    applied = QuantityField(
        "depth", source="applied_mm", help_text="Of the watering, what reached the roots (net)."
    )
    need = QuantityField("depth", source="need_mm")
    effective_rain = QuantityField("depth", source="effective_rain_mm", allow_null=True)
    drainage = QuantityField("depth", source="drainage_mm", allow_null=True)
    stress_days = serializers.IntegerField(allow_null=True)
    supply = serializers.ChoiceField(choices=SUPPLIES)


class SymptomWithRecordSerializer(serializers.Serializer[SymptomWater]):
    """What the water of the weeks before says of a symptom: never a diagnosis.

    The record is made from the settings of the controller, not from waterings that anybody saw.
    Without one it is null, and `record_unknown` says why. `found_verdict` tells how the program
    that ran on the day stands to the need of its month.
    """

    symptom = serializers.UUIDField(source="symptom.pk")
    zone = serializers.UUIDField(source="symptom.zone_id")
    kind = serializers.CharField(source="symptom.kind")
    spot = serializers.CharField(source="symptom.spot")
    seen_at = serializers.DateTimeField(source="symptom.seen_at")
    first_date = serializers.DateField()
    last_date = serializers.DateField()
    record = WaterRecordSerializer(allow_null=True)
    record_unknown = UnscoredSerializer(source="unknown", allow_null=True)
    found_verdict = serializers.ChoiceField(choices=SUPPLIES)
    water = WaterVerdictSerializer(source="verdict")


class SymptomWithRecordView(APIView):
    """A symptom judged by the water of the four weeks before it was seen.

    `symptoms/{id}` judges by the cups alone.
    """

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=SymptomWithRecordSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        symptoms = visible_symptoms(staff_of(request), timezone.now())
        found = symptom_with_record(get_object_or_404(symptoms, pk=pk))
        context = {"units": requested_units(request)}
        return Response(SymptomWithRecordSerializer(found, context=context).data)
