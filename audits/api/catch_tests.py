"""Recording and reading catch tests."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from audits.api.filters import CATCH_TEST_ORDERS, CatchTestFilters
from audits.domain.catch_advice import Advice
from audits.domain.catch_cups import CupShape
from audits.domain.uniformity import run_time_multiplier
from audits.models import CatchTest, CupReading, Visit
from audits.selectors.catch_tests import advice_of, result_of
from audits.services.catch_tests import Catch, record_catch_test
from audits.services.void_tests import void_test
from properties.http.cards import ZONE, ZONE_PROPERTY
from properties.http.expansion import ExpandedField
from properties.http.permissions import Access
from properties.http.quantities import QuantityField, QuantityListField, take_entered
from properties.http.serializers import ClientIdField, ScopedField, StrictSerializer
from properties.http.views import RowViewSet, made_from, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF

CATCH_FIELDS = (
    "run_min", "cup_shape", "depths_mm", "volumes_ml", "pooled_depth_mm", "pooled_volume_ml",
    "pooled_cups", "throat_areas_cm2",
)  # fmt: skip

EXPANSIONS = {"zone": ZONE, "property": ZONE_PROPERTY}


class PositionSerializer(StrictSerializer):
    """Where a cup stood, from a corner of the zone that the technician chose."""

    x = QuantityField("distance", source="x_m")
    y = QuantityField("distance", source="y_m")


class RecordCatchTestSerializer(StrictSerializer):
    """A test as the technician read it: one of depths, volumes, pooled depth, pooled volume."""

    id = ClientIdField(required=False)
    visit: ScopedField[Visit] = ScopedField(queryset=Visit.objects.all(), property_path="property")
    zone: ScopedField[Zone] = ScopedField(queryset=Zone.objects.all(), property_path="property")
    taken_at = serializers.DateTimeField(required=False, help_text="Now when absent.")
    run_min = serializers.FloatField(help_text="How long the zone ran [min].")
    cup_shape = serializers.ChoiceField(choices=[(shape.value, shape.value) for shape in CupShape])
    depths = QuantityListField("catch_depth", source="depths_mm", most=500, required=False)
    volumes = QuantityListField("catch_volume", source="volumes_ml", most=500, required=False)
    pooled_depth = QuantityField("catch_depth", source="pooled_depth_mm", required=False)
    pooled_volume = QuantityField("catch_volume", source="pooled_volume_ml", required=False)
    pooled_cups = serializers.IntegerField(required=False)
    throat_areas = QuantityListField(
        "throat_area", source="throat_areas_cm2", most=500, required=False,
        help_text="One area for all cups, or one for each.",
    )  # fmt: skip
    positions = PositionSerializer(many=True, required=False)
    wind = QuantityField("speed", source="wind_m_s", required=False, allow_null=True)
    cups_level = serializers.BooleanField(default=True)
    before_mending = serializers.BooleanField(
        default=False, help_text="Something was mended after this test, at the same visit."
    )
    supersedes: ScopedField[CatchTest] = ScopedField(
        queryset=CatchTest.objects.all(), property_path="zone__property", required=False,
        allow_null=True, help_text="The earlier test of the zone that this one replaces.",
    )  # fmt: skip


class VoidSerializer(StrictSerializer):
    reason = serializers.CharField(max_length=500, help_text="Why the test counts no more.")


class CupReadingSerializer(serializers.ModelSerializer[CupReading]):
    depth = QuantityField("catch_depth", source="depth_mm", read_only=True)
    x = QuantityField("distance", source="x_m", read_only=True, allow_null=True)
    y = QuantityField("distance", source="y_m", read_only=True, allow_null=True)

    class Meta:
        model = CupReading
        fields = ("number", "depth", "x", "y")


class AdviceSerializer(serializers.Serializer[Advice]):
    code = serializers.CharField()
    sentence = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]


class CatchTestSerializer(serializers.ModelSerializer[CatchTest]):
    """A test as it is given back; `domain_names` says under which name each value was sent."""

    expanded = ExpandedField(EXPANSIONS)

    domain_names: ClassVar[dict[str, str]] = {
        "depths_mm": "depths",
        "volumes_ml": "volumes",
        "pooled_depth_mm": "pooled_depth",
        "pooled_volume_ml": "pooled_volume",
        "throat_areas_cm2": "throat_areas",
        "throat_area_cm2": "throat_areas",
        "duration_min": "run_min",
        "cups": "pooled_cups",
    }

    mean_depth = QuantityField("catch_depth", source="mean_depth_mm", read_only=True)
    rate = QuantityField("rate", source="rate_mm_h", read_only=True)
    rate_low = QuantityField("rate", source="rate_low_mm_h", read_only=True)
    rate_high = QuantityField("rate", source="rate_high_mm_h", read_only=True)
    wind = QuantityField("speed", source="wind_m_s", read_only=True, allow_null=True)
    readings = CupReadingSerializer(many=True, read_only=True)
    run_time_multiplier = serializers.SerializerMethodField()
    cups_for_quarter = serializers.SerializerMethodField(
        help_text="How many cups would tell the rate within 25 %, nine times of ten."
    )
    cups_for_tenth = serializers.SerializerMethodField(help_text="The same within 10 %.")
    as_entered = serializers.SerializerMethodField()
    advice = serializers.SerializerMethodField()

    class Meta:
        model = CatchTest
        fields = (
            "id", "visit", "zone", "taken_at", "run_min", "is_pooled", "cups", "cup_shape", "wind",
            "cups_level", "before_mending", "mean_depth", "rate", "rate_low", "rate_high", "du_lq",
            "du_lh", "cu", "run_time_multiplier", "cups_for_quarter", "cups_for_tenth",
            "supersedes", "voided_at", "void_reason", "readings", "as_entered", "advice",
            "created_at", "expanded",
        )  # fmt: skip

    def get_as_entered(self, test: CatchTest) -> dict[str, Any]:
        """Return the readings under the names and in the units in which they were sent."""
        return {
            name: test.entered[source]
            for name, source in self._inputs.items()
            if source in test.entered
        }

    @cached_property
    def _inputs(self) -> dict[str, str]:
        """Return under which name each reading was sent, once for all rows of a page."""
        inputs = RecordCatchTestSerializer().fields
        return {name: str(field.source) for name, field in inputs.items() if name != "wind"}

    def get_run_time_multiplier(self, test: CatchTest) -> float | None:
        return None if test.du_lq is None else float(run_time_multiplier(test.du_lq))

    def get_cups_for_quarter(self, test: CatchTest) -> int:
        return result_of(test).cups_for(0.25)

    def get_cups_for_tenth(self, test: CatchTest) -> int:
        return result_of(test).cups_for(0.10)

    def get_advice(self, test: CatchTest) -> list[dict[str, str]]:
        told: list[dict[str, str]] = self._advice_form.to_representation(list(advice_of(test)))
        return told

    @cached_property
    def _advice_form(self) -> Any:
        """Make the form once for all rows of a page."""
        return AdviceSerializer(many=True)


@made_from(RecordCatchTestSerializer, CatchTestSerializer)
class CatchTestViewSet(RowViewSet[CatchTest]):
    """Catch tests are facts: recorded once, never edited, but superseded or voided."""

    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = CatchTest.objects.select_related("zone", "visit").prefetch_related("readings")
    serializer_class = CatchTestSerializer
    made_from = RecordCatchTestSerializer
    property_path: ClassVar[str | None] = "zone__property"
    filterset_class = CatchTestFilters
    expansions = EXPANSIONS
    orders = CATCH_TEST_ORDERS

    def perform_create(self, serializer: serializers.BaseSerializer[Any]) -> None:
        values, catch, positions = _split(serializer.validated_data)
        actor, now = staff_of(self.request), timezone.now()
        serializer.instance = record_catch_test(
            values, catch, positions_m=positions, actor=actor, now=now
        )

    @extend_schema(request=VoidSerializer, responses=CatchTestSerializer)
    @action(detail=True, methods=["post"])
    def void(self, request: Request, pk: str) -> Response:
        """Take a test out of force, with a reason; the test before it rules again."""
        test = self.get_object()
        form = VoidSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        voided = void_test(
            test, form.validated_data["reason"], actor=staff_of(request), now=timezone.now()
        )
        return Response(self.get_serializer(voided).data)


def _split(values: dict[str, Any]) -> tuple[dict[str, Any], Catch, list[tuple[float, float]]]:
    """Part what was sent into the row's own values, the catch, and the cups' places."""
    positions = [
        (float(place["x_m"]), float(place["y_m"])) for place in values.pop("positions", [])
    ]
    entered = take_entered(values)
    catch = {name: values.pop(name) for name in CATCH_FIELDS if name in values}
    catch["cup_shape"] = CupShape(catch["cup_shape"])
    return {**values, "entered": entered}, Catch(**catch), positions
