"""Causes and found water as they go out: shared with the app that knows the need."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from audits.domain.diagnosis import Cause, Evidence, Repair
from audits.domain.water_record import MonthAgainstNeed
from audits.http.program_remarks import ProgramRemarkSerializer
from audits.selectors.diagnosis import ZoneDiagnosis
from audits.selectors.found_water import FoundWater
from properties.domain.units import DIMENSIONS
from properties.http.quantities import QuantityField, quantity, rounded


class EvidenceSerializer(serializers.Serializer[Evidence]):
    """One sign; number and limit carry a unit, which is "ratio" or "count" for bare numbers."""

    code = serializers.CharField()
    sentence = serializers.CharField()
    number = serializers.SerializerMethodField()
    limit = serializers.SerializerMethodField()

    def get_number(self, evidence: Evidence) -> dict[str, Any] | None:
        return self._with_unit(evidence.number, evidence.quantity)

    def get_limit(self, evidence: Evidence) -> dict[str, Any] | None:
        return self._with_unit(evidence.limit, evidence.quantity)

    def _with_unit(self, value: float | None, of: str) -> dict[str, Any] | None:
        if value is None or of not in DIMENSIONS:
            return None if value is None else {"value": rounded(value), "unit": of}
        return quantity(value, DIMENSIONS[of], self.context["units"])


class RepairSerializer(serializers.Serializer[Repair]):
    code = serializers.CharField()
    sentence = serializers.CharField()
    parts = serializers.ListField(child=serializers.CharField())


class CauseSerializer(serializers.Serializer[Cause]):
    """A likely cause; its strength ranks it among the others and is no exact probability."""

    kind = serializers.CharField()
    strength = serializers.SerializerMethodField()
    evidence = EvidenceSerializer(many=True)
    against = EvidenceSerializer(many=True)
    repair = RepairSerializer()

    def get_strength(self, cause: Cause) -> float:
        return round(cause.strength, 3)


class DiagnosisSerializer(serializers.Serializer[ZoneDiagnosis]):
    zone = serializers.UUIDField(source="zone.pk")
    need_source = serializers.CharField(
        source="need.source", default=None, allow_null=True, help_text="Null: the need is unknown."
    )
    causes = CauseSerializer(many=True)


class FoundMonthSerializer(serializers.Serializer[MonthAgainstNeed]):
    """One month: a mean week as found and as needed; null is unknown.

    `needed_weekly` is what the plants need, `gross_needed_weekly` what must be put down for it.
    What is found was put down: difference, ratio and verdict compare it with the second.
    """

    month = serializers.IntegerField()
    found_weekly = QuantityField("depth", source="found_mm", allow_null=True)
    needed_weekly = QuantityField("depth", source="needed_mm", allow_null=True)
    gross_needed_weekly = QuantityField("depth", source="gross_needed_mm", allow_null=True)
    difference = QuantityField("depth", source="difference_mm", allow_null=True)
    ratio = serializers.FloatField(allow_null=True)
    verdict = serializers.CharField()


class FoundWaterSerializer(serializers.Serializer[FoundWater]):
    """The program as found, in a week and in a year; null is unknown and never zero.

    `multiplier` is how many times the need must be put down because the water falls unevenly: the
    gross need, with which what is found is compared.
    """

    zone = serializers.UUIDField(source="zone.pk")
    test = serializers.UUIDField(source="test.pk", default=None, allow_null=True)
    rate = QuantityField("rate", source="rate_mm_h", allow_null=True)
    found_weekly_min = serializers.FloatField(source="weekly_min", allow_null=True)
    found_weekly = QuantityField("depth", source="weekly_mm", allow_null=True)
    found_per_year = QuantityField("depth", source="against_need.found_mm_year", allow_null=True)
    needed_per_year = QuantityField("depth", source="against_need.needed_mm_year", allow_null=True)
    gross_needed_per_year = QuantityField(
        "depth", source="against_need.gross_needed_mm_year", allow_null=True
    )
    found_volume_per_year = QuantityField(
        "volume", source="against_need.found_l_year", allow_null=True
    )
    needed_volume_per_year = QuantityField(
        "volume", source="against_need.needed_l_year", allow_null=True
    )
    gross_needed_volume_per_year = QuantityField(
        "volume", source="against_need.gross_needed_l_year", allow_null=True
    )
    volume_difference_per_year = QuantityField(
        "volume", source="against_need.difference_l_year", allow_null=True,
        help_text="Found less gross need; below zero is too little.",
    )  # fmt: skip
    multiplier = serializers.FloatField(source="against_need.multiplier", allow_null=True)
    need_source = serializers.CharField(
        source="against_need.need_source", allow_null=True, help_text="Null: the need is unknown."
    )
    verdict = serializers.CharField(source="against_need.verdict")
    worst_month = serializers.IntegerField(source="against_need.worst_month", allow_null=True)
    months = FoundMonthSerializer(source="against_need.months", many=True)
    remarks = ProgramRemarkSerializer(many=True)
