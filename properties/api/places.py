"""Customers, their properties, and the controllers there."""

from __future__ import annotations

from typing import ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import (
    MeasuredRowSerializer,
    RowSerializer,
    ScopedField,
    StrictSerializer,
)
from properties.http.views import RowViewSet, staff_of
from properties.models import Controller, Customer, Property, WateringDistrict
from properties.models.customers import MailBlock
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.selectors.company import the_company
from properties.services.backflow_tests import refuse_test_to_come
from properties.services.watering_rules import place_in_district


class CustomerSerializer(RowSerializer[Customer]):
    mail_block = serializers.SerializerMethodField(
        help_text="Why no notice goes out to this client; null if they do."
    )

    class Meta:
        model = Customer
        fields = (
            "id", "name", "relation", "email", "phone", "language", "units", "wants_notices",
            "consent_note", "unsubscribed_at", "mail_block", "reference", "created_at",
            "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("unsubscribed_at", "created_at", "changed_at", "revision")

    @extend_schema_field(
        serializers.ChoiceField(choices=MailBlock.choices, allow_null=True, read_only=True)
    )
    def get_mail_block(self, customer: Customer) -> str | None:
        return customer.mail_block()


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
    watering_district = serializers.PrimaryKeyRelatedField(
        queryset=WateringDistrict.objects.all(), pk_field=serializers.UUIDField(),
        required=False, allow_null=True,
    )  # fmt: skip
    time_zone = serializers.CharField(
        required=False, max_length=64, help_text="IANA name; the company's when absent."
    )

    class Meta:
        model = Property
        fields = (
            "id", "customer", "name", "street", "city", "region", "postal_code", "latitude",
            "longitude", "elevation", "time_zone", "water_source", "static_pressure",
            "available_flow", "meter_error_percent", "water_price_per_m3", "access_notes",
            "animals", "somebody_must_be_home", "may_change_program", "watering_district",
            "property_class", "house_number", "backflow_tested_on", "created_at", "changed_at",
            "revision",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")


class PlaceInDistrictSerializer(StrictSerializer, serializers.ModelSerializer[Property]):
    """What of a property may change here: whose watering rules bind it, what they ask of it, and
    when its backflow assembly was last tested.
    """

    watering_district = serializers.PrimaryKeyRelatedField(
        queryset=WateringDistrict.objects.all(), pk_field=serializers.UUIDField(),
        required=False, allow_null=True,
    )  # fmt: skip
    revision = serializers.IntegerField(
        required=False, min_value=1,
        help_text="The one that was read; a change made since is then not written over.",
    )  # fmt: skip

    class Meta:
        model = Property
        fields = (
            "watering_district", "property_class", "house_number", "backflow_tested_on", "revision",
        )  # fmt: skip


class PropertyViewSet(RowViewSet[Property]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = Property.objects.all()
    serializer_class = PropertySerializer
    property_path: ClassVar[str | None] = "pk"
    filterset_fields = ("customer", "city", "postal_code")

    def perform_create(self, serializer: serializers.BaseSerializer[Property]) -> None:
        if "time_zone" not in serializer.validated_data:
            serializer.validated_data["time_zone"] = the_company().time_zone
        refuse_test_to_come(serializer.validated_data, now=timezone.now())
        super().perform_create(serializer)

    @extend_schema(request=PlaceInDistrictSerializer, responses=PropertySerializer)
    def partial_update(self, request: Request, pk: str) -> Response:
        """Put a property in a watering district, or note its last backflow test."""
        property_ = self.get_object()
        sent = PlaceInDistrictSerializer(data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        changes = dict(sent.validated_data)
        changed = place_in_district(
            property_, changes, read_revision=changes.pop("revision", None),
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        return Response(self.get_serializer(changed).data)


class ControllerSerializer(RowSerializer[Controller]):
    property: ScopedField[Property] = ScopedField(
        queryset=Property.objects.all(), property_path="pk"
    )

    class Meta:
        model = Controller
        fields = (
            "id", "property", "name", "where", "program_count", "starts_per_program",
            "minute_step", "longest_run_min", "can_weekdays", "interval_days", "can_odd_even",
            "most_percent", "percent_step", "rain_sensor", "created_at", "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")


class ControllerViewSet(RowViewSet[Controller]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = Controller.objects.all()
    serializer_class = ControllerSerializer
    property_path: ClassVar[str | None] = "property"
    filterset_fields = ("property",)
