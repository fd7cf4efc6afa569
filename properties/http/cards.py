"""Rows in short, as they stand in the answers about others; no access notes, no contact data but
on the card that is the office's alone.
"""

from __future__ import annotations

from typing import Final

from rest_framework import serializers

from properties.http.expansion import Expansion
from properties.models import Controller, Customer, Property, Zone
from properties.models.staff import OFFICE_ONLY


class CustomerCardSerializer(serializers.ModelSerializer[Customer]):
    class Meta:
        model = Customer
        fields = ("id", "name", "reference", "email", "phone", "language")
        read_only_fields = fields


class PropertyCardSerializer(serializers.ModelSerializer[Property]):
    class Meta:
        model = Property
        fields = (
            "id", "name", "street", "city", "region", "postal_code", "latitude", "longitude",
            "time_zone",
        )  # fmt: skip
        read_only_fields = fields


class ControllerCardSerializer(serializers.ModelSerializer[Controller]):
    class Meta:
        model = Controller
        fields = ("id", "name", "where", "rain_sensor")
        read_only_fields = fields


class ZoneCardSerializer(serializers.ModelSerializer[Zone]):
    class Meta:
        model = Zone
        fields = ("id", "number", "name", "head_kind", "plant_type")
        read_only_fields = fields


PROPERTY: Final = Expansion("property", PropertyCardSerializer)
CUSTOMER: Final = Expansion("customer", CustomerCardSerializer, roles=OFFICE_ONLY)
CONTROLLER: Final = Expansion("controller", ControllerCardSerializer)
ZONE: Final = Expansion("zone", ZoneCardSerializer)
ZONE_PROPERTY: Final = Expansion("zone__property", PropertyCardSerializer)
