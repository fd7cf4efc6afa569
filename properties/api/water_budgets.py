"""What districts grant a landscape: kept by the office, read by all staff."""

from __future__ import annotations

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.watering_rules import REVISION_HELP, PlainIdField, RetireRuleSerializer
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer
from properties.http.views import RowViewSet, staff_of
from properties.models import WaterBudget, WateringDistrict
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.water_budgets import change_budget
from properties.services.watering_rules import retire_dated

_SERVER_FIELDS = ("created_at", "changed_at", "revision")
_BUDGET_FIELDS = (
    "name", "source", "span", "property_classes", "factor", "special_factor", "rain_part",
    "gallons_per_inch_ft2", "overhead_efficiency", "drip_efficiency", "first_date", "last_date",
)  # fmt: skip


class WaterBudgetSerializer(RowSerializer[WaterBudget]):
    """An allowance; classes that are empty name every class, no constant is the exact one."""

    district = PlainIdField(queryset=WateringDistrict.objects.all())

    class Meta:
        model = WaterBudget
        fields = ("id", "district", *_BUDGET_FIELDS, *_SERVER_FIELDS)
        read_only_fields = _SERVER_FIELDS


class ChangeBudgetSerializer(RowSerializer[WaterBudget]):
    """What of an allowance may change: all but whose it is."""

    id = None  # type: ignore[assignment]
    revision = serializers.IntegerField(required=False, min_value=1, help_text=REVISION_HELP)

    class Meta:
        model = WaterBudget
        fields = (*_BUDGET_FIELDS, "revision")


class WaterBudgetViewSet(RowViewSet[WaterBudget]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = WaterBudget.objects.all()
    serializer_class = WaterBudgetSerializer
    filterset_fields = ("district", "span")

    @extend_schema(request=ChangeBudgetSerializer, responses=WaterBudgetSerializer)
    def partial_update(self, request: Request, pk: str) -> Response:
        """Put right an allowance that was entered wrongly; all answers follow."""
        budget, sent = self.get_object(), ChangeBudgetSerializer(data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        changes = dict(sent.validated_data)
        changed = change_budget(
            budget, changes, read_revision=changes.pop("revision", None),
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        return Response(self.get_serializer(changed).data)

    @extend_schema(request=RetireRuleSerializer, responses=WaterBudgetSerializer)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Let an allowance end on a date, when its makers change or lift it."""
        budget, sent = self.get_object(), RetireRuleSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        retired = retire_dated(
            budget, actor=staff_of(request), now=timezone.now(), **sent.validated_data
        )
        return Response(self.get_serializer(retired).data)
