"""Customers, their properties, and the controllers there."""

from __future__ import annotations

from typing import ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.api.filters import (
    BY_NAME,
    CUSTOMER_ORDERS,
    PROPERTY_ORDERS,
    ControllerFilters,
    CustomerFilters,
    PropertyFilters,
)
from properties.http.cards import CUSTOMER
from properties.http.changes import KeptRowViewSet
from properties.http.expansion import ExpandedField
from properties.http.permissions import Access
from properties.http.preconditions import IF_MATCH, read_revision
from properties.http.quantities import QuantityField
from properties.http.serializers import (
    MeasuredRowSerializer,
    RowSerializer,
    ScopedField,
    StrictSerializer,
)
from properties.http.views import staff_of
from properties.models import Controller, Customer, ErasureReason, Property, WateringDistrict
from properties.models.customers import MailBlock
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.erasure import erase_customer
from properties.services.mail_consent import change_customer
from properties.services.places import add_property, change_property

PROPERTY_EXPANSIONS = {"customer": CUSTOMER}


class CustomerSerializer(RowSerializer[Customer]):
    mail_block = serializers.SerializerMethodField(
        help_text="Why no notice goes out to this client; null if they do."
    )

    class Meta:
        model = Customer
        fields = (
            "id", "name", "relation", "email", "phone", "language", "units", "wants_notices",
            "consent_note", "unsubscribed_at", "mail_block", "reference", "erased_at",
            "retired_at", "created_at", "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = (
            "unsubscribed_at", "erased_at", "retired_at", "created_at", "changed_at", "revision",
        )  # fmt: skip

    @extend_schema_field(
        serializers.ChoiceField(choices=MailBlock.choices, allow_null=True, read_only=True)
    )
    def get_mail_block(self, customer: Customer) -> str | None:
        return customer.mail_block()


class EraseSerializer(StrictSerializer):
    reason = serializers.ChoiceField(choices=ErasureReason.choices)


class CustomerViewSet(KeptRowViewSet[Customer]):
    """Clients; contact data is the office's alone."""

    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = Customer.objects.all()
    serializer_class = CustomerSerializer
    filterset_class = CustomerFilters
    orders = CUSTOMER_ORDERS
    change_service = staticmethod(change_customer)

    @extend_schema(request=EraseSerializer, parameters=[IF_MATCH], responses=CustomerSerializer)
    @action(detail=True, methods=["post"])
    def erase(self, request: Request, pk: str) -> Response:
        """Erase a client for good: contact, notes, pictures and documents go, measurements stay."""
        customer = self.get_object()
        revision = read_revision(request, customer.revision)
        sent = EraseSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        erased = erase_customer(
            customer, reason=ErasureReason(sent.validated_data["reason"]), read_revision=revision,
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        return self.answer_with(erased)


class PropertySerializer(MeasuredRowSerializer[Property]):
    expanded = ExpandedField(PROPERTY_EXPANSIONS)
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
            "id", "customer", "reference", "name", "street", "city", "region", "postal_code",
            "latitude",
            "longitude", "elevation", "time_zone", "water_source", "static_pressure",
            "available_flow", "meter_error_percent", "water_price_per_m3", "access_notes",
            "animals", "somebody_must_be_home", "may_change_program", "watering_district",
            "property_class", "house_number", "backflow_tested_on", "retired_at", "created_at",
            "changed_at", "revision", "expanded",
        )  # fmt: skip
        read_only_fields = ("retired_at", "created_at", "changed_at", "revision")


class PropertyViewSet(KeptRowViewSet[Property]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = Property.objects.all()
    serializer_class = PropertySerializer
    property_path: ClassVar[str | None] = "pk"
    filterset_class = PropertyFilters
    expansions = PROPERTY_EXPANSIONS
    orders = PROPERTY_ORDERS
    change_service = staticmethod(change_property)

    def perform_create(self, serializer: serializers.BaseSerializer[Property]) -> None:
        serializer.instance = add_property(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )


class ControllerSerializer(RowSerializer[Controller]):
    property: ScopedField[Property] = ScopedField(
        queryset=Property.objects.all(), property_path="pk"
    )

    class Meta:
        model = Controller
        fields = (
            "id", "property", "reference", "name", "where", "program_count", "starts_per_program",
            "minute_step", "longest_run_min", "can_weekdays", "interval_days", "can_odd_even",
            "most_percent", "percent_step", "rain_sensor", "retired_at", "created_at", "changed_at",
            "revision",
        )  # fmt: skip
        read_only_fields = ("retired_at", "created_at", "changed_at", "revision")
        fixed = ("property",)


class ControllerViewSet(KeptRowViewSet[Controller]):
    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = Controller.objects.all()
    serializer_class = ControllerSerializer
    property_path: ClassVar[str | None] = "property"
    filterset_class = ControllerFilters
    orders = BY_NAME
