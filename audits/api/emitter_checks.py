"""Recording and reading what single emitters drip."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from audits.api.catch_tests import AdviceSerializer
from audits.api.filters import ReadingFilters
from audits.models import EmitterCheck, EmitterReading, Visit
from audits.selectors.emitter_checks import advice_of_emitters, rated_emitter_flow_l_min
from audits.services.emitter_checks import EmitterCatch, record_emitter_check
from properties.domain.units import dimension
from properties.http.permissions import Access
from properties.http.quantities import QuantityField, QuantityListField, quantity, take_entered
from properties.http.serializers import ClientIdField, ScopedField, StrictSerializer
from properties.http.views import RowViewSet, made_from, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF

MOST_EMITTERS = 500


class RecordEmitterCheckSerializer(StrictSerializer):
    """Emitters as the technician caught them: volumes with one time, or flows."""

    id = ClientIdField(required=False)
    visit: ScopedField[Visit] = ScopedField(
        queryset=Visit.objects.select_related("property"), property_path="property"
    )
    zone: ScopedField[Zone] = ScopedField(queryset=Zone.objects.all(), property_path="property")
    taken_at = serializers.DateTimeField(required=False, help_text="Now when absent.")
    volumes = QuantityListField(
        "catch_volume", source="volumes_ml", most=MOST_EMITTERS, required=False,
        help_text="Of each emitter; 0 where nothing drips.",
    )  # fmt: skip
    catch_s = serializers.FloatField(
        required=False, help_text="How long each emitter was caught [s]."
    )
    flows = QuantityListField("flow", source="flows_l_min", most=MOST_EMITTERS, required=False)
    running_pressure = QuantityField(
        "pressure", source="running_kpa", required=False, allow_null=True,
        help_text="Behind the regulator, while the zone runs.",
    )  # fmt: skip
    has_pump = serializers.BooleanField(default=False)


class EmitterReadingSerializer(serializers.ModelSerializer[EmitterReading]):
    volume = QuantityField("catch_volume", source="volume_ml", read_only=True, allow_null=True)
    flow = QuantityField("flow", source="flow_l_min", read_only=True)

    class Meta:
        model = EmitterReading
        fields = ("number", "volume", "flow")


class EmitterCheckSerializer(serializers.ModelSerializer[EmitterCheck]):
    """A check as it is given back; `domain_names` says under which name each value was sent."""

    domain_names: ClassVar[dict[str, str]] = {
        "volumes_ml": "volumes",
        "flows_l_min": "flows",
        "emitter_flows_l_min": "flows",
    }

    running_pressure = QuantityField(
        "pressure", source="running_kpa", read_only=True, allow_null=True
    )
    mean_flow = QuantityField("flow", source="mean_flow_l_min", read_only=True)
    rated_flow = serializers.SerializerMethodField(
        help_text="Mean catalogue flow of the zone's emitters; null is unknown."
    )
    readings = EmitterReadingSerializer(many=True, read_only=True)
    as_entered = serializers.SerializerMethodField()
    advice = serializers.SerializerMethodField()

    class Meta:
        model = EmitterCheck
        fields = (
            "id", "visit", "zone", "taken_at", "catch_s", "running_pressure", "has_pump",
            "emitters", "dry_emitters", "mean_flow", "rated_flow", "emission_uniformity",
            "readings", "as_entered", "advice", "created_at",
        )  # fmt: skip

    @extend_schema_field(QuantityField("flow", allow_null=True))
    def get_rated_flow(self, check: EmitterCheck) -> dict[str, Any] | None:
        rated = rated_emitter_flow_l_min(check.zone)
        return quantity(rated, dimension("flow"), self.context["units"])

    def get_as_entered(self, check: EmitterCheck) -> dict[str, Any]:
        """Return the readings under the names and in the units in which they were sent."""
        sent = {"volumes": "volumes_ml", "flows": "flows_l_min"}
        entered = check.entered
        return {name: entered[source] for name, source in sent.items() if source in entered}

    @extend_schema_field(AdviceSerializer(many=True))
    def get_advice(self, check: EmitterCheck) -> list[dict[str, str]]:
        told: list[dict[str, str]] = self._advice_form.to_representation(
            list(advice_of_emitters(check))
        )
        return told

    @cached_property
    def _advice_form(self) -> Any:
        """Make the form once for all rows of a page."""
        return AdviceSerializer(many=True)


@made_from(RecordEmitterCheckSerializer, EmitterCheckSerializer)
class EmitterCheckViewSet(RowViewSet[EmitterCheck]):
    """Checks of emitters are facts: recorded once, never edited; the newest one counts."""

    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = EmitterCheck.objects.select_related("zone").prefetch_related(
        "readings", "zone__head_groups"
    )
    serializer_class = EmitterCheckSerializer
    made_from = RecordEmitterCheckSerializer
    property_path: ClassVar[str | None] = "zone__property"
    filterset_class = ReadingFilters

    def perform_create(self, serializer: serializers.BaseSerializer[Any]) -> None:
        values, catch = _split(serializer.validated_data)
        serializer.instance = record_emitter_check(
            values, catch, actor=staff_of(self.request), now=timezone.now()
        )


def _split(values: dict[str, Any]) -> tuple[dict[str, Any], EmitterCatch]:
    """Part what was sent into the row's own values and the catch."""
    entered = take_entered(values)
    names = ("volumes_ml", "catch_s", "flows_l_min")
    catch = {name: values.pop(name) for name in names if name in values}
    return {**values, "entered": entered}, EmitterCatch(**catch)
