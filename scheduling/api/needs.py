"""Diagnosis and found water with the need of the plants: what the audits alone cannot tell."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.domain.repair_worth import RepairWorth
from audits.http.diagnosis import CauseSerializer, FoundWaterSerializer
from audits.selectors.zones import visible_zones
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF
from properties.selectors.company import the_company
from scheduling.api.plan_serializers import RefusalSerializer
from scheduling.selectors.needs import (
    DiagnosisWithNeed,
    diagnosis_with_need,
    found_water_with_need,
)


class WorthSerializer(serializers.Serializer[RepairWorth]):
    """What one repair by itself saves in a year; null where the evidence cannot tell."""

    du_lq_now = serializers.FloatField(allow_null=True)
    du_lq_after = serializers.FloatField(allow_null=True)
    multiplier_now = serializers.FloatField(allow_null=True)
    multiplier_after = serializers.FloatField(allow_null=True)
    volume_saved = QuantityField("volume", source="litres_saved_per_year", allow_null=True)
    minutes_saved = serializers.FloatField(source="minutes_saved_per_year", allow_null=True)
    money_saved = serializers.SerializerMethodField()

    def get_money_saved(self, worth: RepairWorth) -> str | None:
        money = worth.money_saved_per_year
        return None if money is None else f"{money:.2f}"


class CauseWithWorthSerializer(CauseSerializer):
    worth = WorthSerializer()

    def to_representation(self, pair: Any) -> dict[str, Any]:
        cause, worth = pair
        return {
            **CauseSerializer(cause, context=self.context).data,
            "worth": WorthSerializer(worth, context=self.context).data,
        }


class DiagnosisWithNeedSerializer(serializers.Serializer[DiagnosisWithNeed]):
    """The causes with their worth; without a plan `refusal` says why litres are unknown."""

    zone = serializers.UUIDField(source="diagnosis.zone.pk")
    need_source = serializers.CharField(source="diagnosis.need.source")
    causes = CauseWithWorthSerializer(source="worths", many=True)
    refusal = RefusalSerializer(allow_null=True)
    currency = serializers.SerializerMethodField()

    def get_currency(self, diagnosis: DiagnosisWithNeed) -> str:
        return str(self.context["currency"])


def _zone(request: Request, pk: UUID) -> Zone:
    zone: Zone = get_object_or_404(visible_zones(staff_of(request), timezone.now()), pk=pk)
    return zone


class DiagnosisWithNeedView(APIView):
    """The diagnosis with the need of the usual year, and what each repair is worth.

    `zones/{id}/diagnosis` answers without weather, and says nothing of the program.
    """

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=DiagnosisWithNeedSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        diagnosis = diagnosis_with_need(_zone(request, pk))
        context = {"units": requested_units(request), "currency": the_company().currency}
        return Response(DiagnosisWithNeedSerializer(diagnosis, context=context).data)


class FoundWaterWithNeedView(APIView):
    """The program as found against the need of the usual year, month by month.

    `zones/{id}/found-water` answers without weather, its need null.
    """

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=FoundWaterSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        water = found_water_with_need(_zone(request, pk))
        context = {"units": requested_units(request)}
        return Response(FoundWaterSerializer(water, context=context).data)
