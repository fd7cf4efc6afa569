"""What was seen after a repair, as it is sent and as it is given back."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from audits.domain.before_after import Change
from audits.models import CatchTest, FlowCheck, Photo, TicketProof, Visit
from audits.selectors.tickets import change_between
from properties.http.quantities import QuantityField
from properties.http.serializers import RowSerializer, ScopedField


class SideSerializer(serializers.Serializer[Any]):
    """One of the two tests: its rate with the 90 % interval, and its uniformity."""

    rate = QuantityField("rate", source="rate_mm_h", read_only=True)
    rate_low = QuantityField("rate", source="rate_low_mm_h", read_only=True)
    rate_high = QuantityField("rate", source="rate_high_mm_h", read_only=True)
    du_lq = serializers.FloatField(allow_null=True, read_only=True)


class RateChangeSerializer(serializers.Serializer[Any]):
    """The mean change at the same places, after less before, and its 90 % interval."""

    value = QuantityField("rate", read_only=True)
    low = QuantityField("rate", read_only=True, allow_null=True)
    high = QuantityField("rate", read_only=True, allow_null=True)


class UniformityChangeSerializer(serializers.Serializer[Any]):
    """The change of the low-quarter uniformity, and its 90 % interval where the cups bear one."""

    value = serializers.FloatField(read_only=True)
    low = serializers.FloatField(read_only=True, allow_null=True)
    high = serializers.FloatField(read_only=True, allow_null=True)


class BeforeAfterSerializer(serializers.Serializer[Any]):
    before = SideSerializer()
    after = SideSerializer()
    rate_change = RateChangeSerializer()
    du_lq_change = UniformityChangeSerializer(allow_null=True)


class TicketProofSerializer(RowSerializer[TicketProof]):
    visit: ScopedField[Visit] = ScopedField(queryset=Visit.objects.all(), property_path="property")
    test_before: ScopedField[CatchTest] = ScopedField(
        queryset=CatchTest.objects.all(), property_path="zone__property", required=False
    )
    test_after: ScopedField[CatchTest] = ScopedField(
        queryset=CatchTest.objects.all(), property_path="zone__property", required=False
    )
    flow_check: ScopedField[FlowCheck] = ScopedField(
        queryset=FlowCheck.objects.all(), property_path="zone__property", required=False
    )
    photo: ScopedField[Photo] = ScopedField(
        queryset=Photo.objects.defer("jpeg"), property_path="visit__property", required=False
    )
    seen_at = serializers.DateTimeField(
        required=False, help_text="Of a function check; now when absent. Other kinds tell it."
    )
    before_after = serializers.SerializerMethodField()

    class Meta:
        model = TicketProof
        fields = (
            "id", "visit", "kind", "fault_is_gone", "test_before", "test_after", "flow_check",
            "photo", "note", "seen_at", "before_after", "created_at",
        )  # fmt: skip
        read_only_fields = ("created_at",)
        extra_kwargs = {"fault_is_gone": {"required": True}}

    @extend_schema_field(BeforeAfterSerializer(allow_null=True))
    def get_before_after(self, proof: TicketProof) -> dict[str, Any] | None:
        """Tell both tests of a paired retest side by side; it rules nothing."""
        if proof.test_before is None or proof.test_after is None:
            return None
        change = change_between(proof.test_before, proof.test_after)
        du_lq_change = change.du_lq_change
        sides = {
            "before": proof.test_before,
            "after": proof.test_after,
            "rate_change": _spread(change.rate_change_mm_h),
            "du_lq_change": _spread(du_lq_change) if du_lq_change else None,
        }
        return dict(BeforeAfterSerializer(sides, context=self.context).data)


def _spread(change: Change) -> dict[str, float | None]:
    low, high = change.interval or (None, None)
    return {"value": change.value, "low": low, "high": high}
