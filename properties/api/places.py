"""Customers, their properties, and the controllers there."""

from __future__ import annotations

from typing import ClassVar

from rest_framework import serializers

from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import MeasuredRowSerializer, RowSerializer, ScopedField
from properties.http.views import RowViewSet
from properties.models import Controller, Customer, Property
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.selectors.company import the_company


class CustomerSerializer(RowSerializer[Customer]):
    class Meta:
        model = Customer
        fields = (
            "id", "name", "relation", "email", "phone", "language", "units", "wants_notices",
            "reference", "created_at", "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")


class CustomerViewSet(RowViewSet[Customer]):
    """Clients; contact data is the office's alone."""

    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = Customer.objects.all()
    serializer_class = CustomerSerializer
    filterset_fields = ("reference", "email")


class PropertySerializer(MeasuredRowSerializer[Property]):
    customer: ScopedField[Customer] = ScopedField(
        queryset=Customer.objects.all(), property_path="properties"
    )
    elevation = QuantityField("elevation", source="elevation_m", required=False, allow_null=True)
    static_pressure = QuantityField(
        "pressure", source="static_pressure_kpa", required=False, allow_null=True
    )
    available_flow = QuantityField(
        "flow", source="available_flow_l_min", required=False, allow_null=True
    )
    time_zone = serializers.CharField(
        required=False, max_length=64, help_text="IANA name; the company's when absent."
    )

    class Meta:
        model = Property
        fields = (
            "id", "customer", "name", "street", "city", "region", "postal_code", "latitude",
            "longitude", "elevation", "time_zone", "water_source", "static_pressure",
            "available_flow", "meter_error_percent", "water_price_per_m3", "access_notes",
            "animals", "somebody_must_be_home", "may_change_program", "created_at", "changed_at",
            "revision",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")


class PropertyViewSet(RowViewSet[Property]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = Property.objects.all()
    serializer_class = PropertySerializer
    property_path: ClassVar[str | None] = "pk"
    filterset_fields = ("customer", "city", "postal_code")

    def perform_create(self, serializer: serializers.BaseSerializer[Property]) -> None:
        if "time_zone" not in serializer.validated_data:
            serializer.validated_data["time_zone"] = the_company().time_zone
        super().perform_create(serializer)


class ControllerSerializer(RowSerializer[Controller]):
    property: ScopedField[Property] = ScopedField(
        queryset=Property.objects.all(), property_path="pk"
    )

    class Meta:
        model = Controller
        fields = (
            "id", "property", "name", "where", "program_count", "starts_per_program",
            "minute_step", "longest_run_min", "rain_sensor", "created_at", "changed_at",
            "revision",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")


class ControllerViewSet(RowViewSet[Controller]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = Controller.objects.all()
    serializer_class = ControllerSerializer
    property_path: ClassVar[str | None] = "property"
    filterset_fields = ("property",)
