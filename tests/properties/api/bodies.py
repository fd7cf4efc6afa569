"""What a client sends to create each kind of row, whole and valid."""

from __future__ import annotations

from typing import Any

from properties.models import Controller, Customer, Property, Zone

API = "/api/v1"


def psi(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "psi"}


def client() -> dict[str, Any]:
    return {"name": "Tomas Brandt", "email": "tomas@brandt.example", "reference": "C-9"}


def property_of(customer: Customer) -> dict[str, Any]:
    return {
        "customer": str(customer.pk), "name": "Brandt yard", "street": "3 Mill Lane",
        "city": "Tallgrass", "latitude": 40.4, "longitude": -101.7,
        "elevation": {"value": 3517, "unit": "ft"}, "static_pressure": psi(60.5),
        "available_flow": {"value": 12, "unit": "gpm"}, "water_price_per_m3": "1.2500",
    }  # fmt: skip


def controller_at(property_: Property) -> dict[str, Any]:
    return {"property": str(property_.pk), "name": "Shed", "minute_step": 5}


def zone_on(controller: Controller) -> dict[str, Any]:
    return {
        "property": str(controller.property_id), "controller": str(controller.pk), "number": 7,
        "name": "Back lawn", "area": {"value": 2150, "unit": "ft2"}, "head_kind": "rotor",
        "plant_type": "cool_turf", "soil_texture": "clay_loam", "exposure": "part_shade",
        "root_depths": {"unit": "in", "values": [6]}, "intake": {"value": 0.2, "unit": "in/h"},
        "available_water_per_m": {"value": 170, "unit": "mm"},
        "accumulation": {"value": 0.25, "unit": "in"},
    }  # fmt: skip


def heads_in(zone: Zone) -> dict[str, Any]:
    return {
        "zone": str(zone.pk), "kind": "rotor", "count": 6, "arc_deg": 180,
        "rated_flow": {"value": 2.5, "unit": "gpm"}, "rated_pressure": psi(45),
        "throw": {"value": 35, "unit": "ft"},
    }  # fmt: skip


def member() -> dict[str, Any]:
    return {"email": "nils@meadowlark.example", "name": "Nils", "role": "technician"}
