"""How the difference between two revisions of a plan goes out."""

from __future__ import annotations

import re
from typing import Any, Final

from rest_framework import serializers

from properties.domain.units import dimension
from properties.http.quantities import quantity
from scheduling.domain.plan_causes import Cause, Change
from scheduling.domain.plan_differences import MonthDifference
from scheduling.selectors.plan_differences import RevisionDifference

_METRIC: Final = re.compile(r"_mm(_h)?$")  # the quantity has its own unit


class ChangeSerializer(serializers.Serializer[Change]):
    """One number before and after; a physical one is a quantity in the units of the request."""

    name = serializers.SerializerMethodField()
    month = serializers.IntegerField(allow_null=True)
    before = serializers.SerializerMethodField()
    after = serializers.SerializerMethodField()

    def get_name(self, change: Change) -> str:
        return _METRIC.sub("", change.name) if change.of else change.name

    def get_before(self, change: Change) -> Any:
        return self._shown(change.before, change.of)

    def get_after(self, change: Change) -> Any:
        return self._shown(change.after, change.of)

    def _shown(self, value: Any, of: str) -> Any:
        if isinstance(value, list):
            return [self._shown(each, of) for each in value]
        return quantity(value, dimension(of), self.context["units"]) if of else value


class MonthDifferenceSerializer(serializers.Serializer[MonthDifference]):
    month = serializers.IntegerField()
    sentence = serializers.CharField()
    changes = ChangeSerializer(many=True)


class PlanCauseSerializer(serializers.Serializer[Cause]):
    """Inputs of one kind that changed between the two."""

    code = serializers.CharField()
    sentence = serializers.CharField()
    changes = ChangeSerializer(many=True)


class RevisionDifferenceSerializer(serializers.Serializer[RevisionDifference]):
    """What a revision changes against the one before; of a first plan there is nothing to say."""

    plan = serializers.UUIDField(source="plan.pk")
    number = serializers.IntegerField(source="plan.number")
    before = serializers.UUIDField(source="before.pk", default=None, allow_null=True)
    months = MonthDifferenceSerializer(source="difference.months", many=True, default=())
    causes = PlanCauseSerializer(source="difference.causes", many=True, default=())
