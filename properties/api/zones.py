"""Zones and the heads in them."""

from __future__ import annotations

from typing import ClassVar

from django.utils import timezone
from rest_framework import serializers

from properties.api.filters import ZONE_ORDERS, HeadGroupFilters, ZoneFilters
from properties.http.bulk import MakesManyRows
from properties.http.cards import CONTROLLER, PROPERTY
from properties.http.changes import KeptRowViewSet
from properties.http.expansion import ExpandedField
from properties.http.permissions import Access
from properties.http.quantities import EnteredList, QuantityField, QuantityListField
from properties.http.serializers import MeasuredRowSerializer, ScopedField
from properties.http.views import staff_of
from properties.models import Controller, HeadGroup, Property, Zone
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.models.zones import MONTHS
from properties.services.zones import add_zone, change_zone

EXPANSIONS = {"controller": CONTROLLER, "property": PROPERTY}


class ZoneSerializer(MeasuredRowSerializer[Zone]):
    expanded = ExpandedField(EXPANSIONS)
    property: ScopedField[Property] = ScopedField(
        queryset=Property.objects.all(), property_path="pk"
    )
    controller: ScopedField[Controller] = ScopedField(
        queryset=Controller.objects.all(), property_path="property", required=False, allow_null=True
    )
    area = QuantityField("area", source="area_m2", required=False, allow_null=True)
    head_spacing = QuantityField(
        "distance", source="head_spacing_m", required=False, allow_null=True
    )
    strip_width = QuantityField("distance", source="strip_width_m", required=False, allow_null=True)
    least_paving_gap = QuantityField(
        "distance", source="least_paving_gap_m", required=False, allow_null=True
    )
    root_depths = QuantityListField(
        "depth", source="root_depths_mm", most=MONTHS, required=False, allow_null=True,
        help_text="One depth for the whole year, or twelve from January to December.",
    )  # fmt: skip
    available_water_per_m = QuantityField(
        "depth", source="available_mm_m", required=False, allow_null=True
    )
    plant_factors = serializers.ListField(
        child=serializers.FloatField(min_value=0.05, max_value=1.5),
        min_length=MONTHS, max_length=MONTHS, required=False, allow_null=True,
        help_text="January to December.",
    )  # fmt: skip
    intake = QuantityField("rate", source="intake_mm_h", required=False, allow_null=True)
    accumulation = QuantityField("depth", source="accumulation_mm", required=False, allow_null=True)

    class Meta:
        model = Zone
        fields = (
            "id", "property", "controller", "reference", "number", "name", "area", "head_kind",
            "head_spacing",
            "strip_width", "is_bounded_by_paving", "least_paving_gap", "plant_type",
            "plant_factor", "plant_factors", "water_use", "density_factor",
            "is_special_landscape", "planting_date",
            "dormant_from", "dormant_until", "overseeded_from", "overseeded_until",
            "quality_factor", "soil_texture", "slope_percent", "exposure",
            "microclimate_factor", "root_depths", "allowed_depletion", "available_water_per_m",
            "intake", "accumulation", "min_days_between", "max_days_between", "is_active",
            "created_at", "changed_at", "revision", "expanded",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")
        fixed = ("property", "is_active")

    def validate_root_depths(self, depths: EnteredList | None) -> EnteredList | None:
        if depths is None or len(depths) == MONTHS:
            return depths
        if len(depths) != 1:
            raise serializers.ValidationError({"values": "Send one depth or twelve."})
        return EnteredList(list(depths) * MONTHS, depths.entered)


class ZoneViewSet(MakesManyRows[Zone], KeptRowViewSet[Zone]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = Zone.objects.all()
    serializer_class = ZoneSerializer
    property_path: ClassVar[str | None] = "property"
    filterset_class = ZoneFilters
    expansions = EXPANSIONS
    orders = ZONE_ORDERS
    change_service = staticmethod(change_zone)

    def perform_create(self, serializer: serializers.BaseSerializer[Zone]) -> None:
        serializer.instance = add_zone(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )


class HeadGroupSerializer(MeasuredRowSerializer[HeadGroup]):
    zone: ScopedField[Zone] = ScopedField(queryset=Zone.objects.all(), property_path="property")
    rated_flow = QuantityField("flow", source="rated_flow_l_min")
    rated_pressure = QuantityField(
        "pressure", source="rated_pressure_kpa", required=False, allow_null=True
    )
    throw = QuantityField("distance", source="throw_m", required=False, allow_null=True)
    emitter_spacing = QuantityField(
        "distance", source="emitter_spacing_m", required=False, allow_null=True
    )
    lateral_spacing = QuantityField(
        "distance", source="lateral_spacing_m", required=False, allow_null=True
    )

    wetted_area = QuantityField(
        "area", source="wetted_area_m2", required=False, allow_null=True,
        help_text="What one sprinkler on a hose wets from its place.",
    )  # fmt: skip

    class Meta:
        model = HeadGroup
        fields = (
            "id", "zone", "name", "kind", "count", "rated_flow", "rated_pressure", "arc_deg",
            "throw", "emitter_spacing", "lateral_spacing", "wetted_part", "position",
            "tap", "wetted_area", "retired_at", "created_at", "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("retired_at", "created_at", "changed_at", "revision")
        fixed = ("zone",)


class HeadGroupViewSet(MakesManyRows[HeadGroup], KeptRowViewSet[HeadGroup]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = HeadGroup.of_all_times.all()
    serializer_class = HeadGroupSerializer
    property_path: ClassVar[str | None] = "zone__property"
    filterset_class = HeadGroupFilters
