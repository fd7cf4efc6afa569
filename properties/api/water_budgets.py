"""What districts grant a landscape: kept by the office, read by all staff."""

from __future__ import annotations

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.filters import WaterBudgetFilters
from properties.api.watering_rules import PlainIdField, RetireRuleSerializer
from properties.http.changes import ChangedRowViewSet
from properties.http.permissions import Access
from properties.http.preconditions import IF_MATCH, read_revision
from properties.http.serializers import RowSerializer
from properties.http.views import staff_of
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
        fixed = ("district",)


class WaterBudgetViewSet(ChangedRowViewSet[WaterBudget]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = WaterBudget.objects.all()
    serializer_class = WaterBudgetSerializer
    filterset_class = WaterBudgetFilters
    change_service = staticmethod(change_budget)

    @extend_schema(
        request=RetireRuleSerializer, responses=WaterBudgetSerializer, parameters=[IF_MATCH]
    )
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Let an allowance end on a date, when its makers change or lift it."""
        budget, sent = self.get_object(), RetireRuleSerializer(data=request.data)
        revision = read_revision(request, budget.revision)
        sent.is_valid(raise_exception=True)
        retired = retire_dated(
            budget, read_revision=revision, actor=staff_of(request), now=timezone.now(),
            **sent.validated_data,
        )  # fmt: skip
        return Response(self.get_serializer(retired).data)
