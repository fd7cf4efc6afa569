"""Flow checks: what the meter and the gauge showed, and where the water went."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any, ClassVar
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from audits.api.filters import ReadingFilters
from audits.domain.flow_checks import Share
from audits.models import FlowCheck, Visit
from audits.selectors.flow_checks import WaterAccount, water_accounts
from audits.services.flow_checks import record_flow_check
from properties.domain.units import dimension
from properties.http.permissions import Access
from properties.http.quantities import QuantityField, quantity, rounded
from properties.http.serializers import MeasuredRowSerializer, ScopedField
from properties.http.views import RowViewSet, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF


class ShareSerializer(serializers.Serializer[Share]):
    """A part of the metered water as a fraction, and what it lies between."""

    value = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()


class WaterAccountSerializer(serializers.Serializer[WaterAccount]):
    """Where the metered water went; null is unknown."""

    nozzle_flow = serializers.SerializerMethodField(
        help_text="Of the zone's heads at the running pressure."
    )
    leak_share = serializers.SerializerMethodField(
        help_text="What of the metered water does not come out of the nozzles."
    )
    caught_share = serializers.SerializerMethodField(
        help_text="What of the metered water falls on the zone by its ruling catch test."
    )
    remarks = serializers.ListField(
        child=serializers.CharField(), help_text="Why something is unknown, and what cures it."
    )

    @extend_schema_field(QuantityField("flow", allow_null=True))
    def get_nozzle_flow(self, account: WaterAccount) -> dict[str, Any] | None:
        return quantity(account.nozzle_flow_l_min, dimension("flow"), self.context["units"])

    @extend_schema_field(ShareSerializer(allow_null=True))
    def get_leak_share(self, account: WaterAccount) -> dict[str, float] | None:
        return _share(account.leak)

    @extend_schema_field(ShareSerializer(allow_null=True))
    def get_caught_share(self, account: WaterAccount) -> dict[str, float] | None:
        return _share(account.caught)


class FlowCheckListSerializer(serializers.ListSerializer[Any]):
    """Computes the accounts of a page at once."""

    child: FlowCheckSerializer

    def to_representation(self, data: Sequence[FlowCheck]) -> list[Any]:  # type: ignore[override]
        self.child.accounts = water_accounts(data)
        return super().to_representation(data)


class FlowCheckSerializer(MeasuredRowSerializer[FlowCheck]):
    accounts: dict[UUID, WaterAccount] | None = None  # of the page, if it is one of a page
    domain_names: ClassVar[dict[str, str]] = {
        "before_l": "meter_before",
        "after_l": "meter_after",
        "minutes": "run_min",
    }

    visit: ScopedField[Visit] = ScopedField(
        queryset=Visit.objects.select_related("property"), property_path="property"
    )
    zone: ScopedField[Zone] = ScopedField(queryset=Zone.objects.all(), property_path="property")
    taken_at = serializers.DateTimeField(required=False, help_text="Now when absent.")
    meter_before = QuantityField("volume", source="meter_before_l", required=False, allow_null=True)
    meter_after = QuantityField("volume", source="meter_after_l", required=False, allow_null=True)
    register = QuantityField(
        "volume", source="register_l", required=False, allow_null=True,
        help_text="Where the meter comes round to zero, if it may have done so.",
    )  # fmt: skip
    static_pressure = QuantityField(
        "pressure", source="static_kpa", required=False, allow_null=True,
        help_text="All water shut; the property's holds when absent.",
    )  # fmt: skip
    running_pressure = QuantityField(
        "pressure", source="running_kpa", required=False, allow_null=True
    )
    flow = QuantityField("flow", source="flow_l_min", read_only=True, allow_null=True)
    water = serializers.SerializerMethodField()

    class Meta:
        model = FlowCheck
        list_serializer_class = FlowCheckListSerializer
        fields = (
            "id", "visit", "zone", "tap", "taken_at", "meter_before", "meter_after", "register",
            "run_min", "static_pressure", "running_pressure", "has_pump", "flow", "water",
            "created_at",
        )  # fmt: skip
        read_only_fields = ("created_at",)

    @extend_schema_field(WaterAccountSerializer)
    def get_water(self, check: FlowCheck) -> dict[str, Any]:
        accounts = self.accounts or water_accounts([check])
        return self._account_form.to_representation(accounts[check.pk])

    @cached_property
    def _account_form(self) -> WaterAccountSerializer:
        """Make the form once for all rows of a page."""
        return WaterAccountSerializer(context=self.context)


class FlowCheckViewSet(RowViewSet[FlowCheck]):
    """Flow checks are facts: recorded once, never edited."""

    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = FlowCheck.objects.select_related("zone__property").prefetch_related(
        "zone__head_groups"
    )
    serializer_class = FlowCheckSerializer
    property_path: ClassVar[str | None] = "visit__property"
    filterset_class = ReadingFilters

    def perform_create(self, serializer: serializers.BaseSerializer[FlowCheck]) -> None:
        serializer.instance = record_flow_check(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )


def _share(share: Share | None) -> dict[str, float] | None:
    if share is None:
        return None
    return {
        "value": rounded(share.value), "low": rounded(share.low), "high": rounded(share.high),
    }  # fmt: skip
