"""The columns of each kind of file, in the order in which they are exported."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Final

from properties.domain.spreadsheet_columns import PARTS, Column, Kind, Takes

_customer = partial(Column, Kind.CUSTOMERS)
_property = partial(Column, Kind.PROPERTIES)
_controller = partial(Column, Kind.CONTROLLERS)
_zone = partial(Column, Kind.ZONES)
_WHOLE, _NUMBER, _YES_NO, _CHOICE = Takes.WHOLE, Takes.NUMBER, Takes.YES_NO, Takes.CHOICE
_OWN: Final = "no, number, id, code, ref, key"
_OF_PROPERTY: Final = (
    "property, property no, property number, property id, property code, property ref, site,"
    " site reference, site no, site number, site id, site code"
)

_CUSTOMERS: Final = (
    _customer("reference", "Reference", words=_OWN, is_needed=True),
    _customer("name", "Name", words="full name, contact, contact name", is_needed=True),
    _customer("relation", "Relation", _CHOICE, words="owner or tenant, role"),
    _customer("email", "E-mail", words="email, mail, email address, e mail address, mail address"),
    _customer("phone", "Telephone", words="phone, tel, phone number, telephone number, mobile"),
    _customer("language", "Language", _CHOICE),
    _customer("units", "Units", _CHOICE, words="unit system"),
    _customer("wants_notices", "Wants notices", _YES_NO, words="notices, agreed to notices"),
    _customer("consent_note", "Consent note", words="consent, how agreed"),
)
_PROPERTIES: Final = (
    _property("reference", "Reference", words=_OWN, is_needed=True),
    _property(
        "customer", "Customer reference", Takes.OWNER, is_needed=True,
        words="customer no, customer number, customer id, customer code, customer ref, client,"
        " client reference, client no, client number, client id, client code, account,"
        " account reference, account no, account number, account id",
    ),
    _property("name", "Name", words="title", is_needed=True),
    _property(
        "street", "Street", is_needed=True,
        words="address, street address, address 1, address line 1, street and number",
    ),
    _property("city", "City", words="town, place", is_needed=True),
    _property("region", "Region", words="state, province, county"),
    _property("postal_code", "Postal code", words="zip, zip code, postcode, post code"),
    _property("latitude", "Latitude", _NUMBER, words="lat"),
    _property("longitude", "Longitude", _NUMBER, words="lon, lng, long"),
    _property(
        "elevation", "Elevation", Takes.QUANTITY, field="elevation_m", dimension="elevation",
        words="altitude, height above sea level",
    ),
    _property("time_zone", "Time zone", words="timezone"),
    _property("water_source", "Water source", _CHOICE, words="water, source of water"),
    _property(
        "static_pressure", "Static pressure", Takes.QUANTITY, words="pressure, water pressure",
        field="static_pressure_kpa", dimension="pressure",
    ),
    _property(
        "available_flow", "Available flow", Takes.QUANTITY, words="flow",
        field="available_flow_l_min", dimension="flow",
    ),
    _property("meter_error_percent", "Meter error percent", _NUMBER, words="meter error"),
    _property("water_price_per_m3", "Water price per m3", Takes.MONEY),
    _property(
        "access_notes", "Access notes", words="access, gate code, gate, notes, how to get in"
    ),
    _property("animals", "Animals", words="dog, dogs, pets"),
    _property("somebody_must_be_home", "Somebody must be home", _YES_NO, words="must be home"),
    _property("may_change_program", "May change program", _YES_NO),
    _property("watering_district", "Watering district", Takes.OWNER, words="district"),
    _property("property_class", "Property class", _CHOICE, words="class, kind of property"),
    _property("house_number", "House number", words="house no"),
    _property(
        "backflow_tested_on", "Backflow tested on", Takes.DATE,
        words="backflow test, last backflow test",
    ),
)  # fmt: skip
_CONTROLLERS: Final = (
    _controller("reference", "Reference", words=_OWN),
    _controller(
        "property", "Property reference", Takes.OWNER, words=_OF_PROPERTY, is_needed=True
    ),
    _controller("name", "Name", words="controller, clock, timer", is_needed=True),
    _controller("where", "Where", words="location, where it hangs"),
    _controller("program_count", "Programs", _WHOLE, words="number of programs"),
    _controller("starts_per_program", "Starts per program", _WHOLE, words="starts, start times"),
    _controller("minute_step", "Minute step", _WHOLE),
    _controller("longest_run_min", "Longest run min", _WHOLE, words="longest run"),
    _controller("can_weekdays", "Can weekdays", _YES_NO, words="weekdays"),
    _controller("interval_days", "Interval days", _WHOLE, words="longest interval"),
    _controller("can_odd_even", "Can odd even", _YES_NO, words="odd even"),
    _controller("most_percent", "Most percent", _WHOLE, words="highest seasonal percent"),
    _controller("percent_step", "Percent step", _WHOLE),
    _controller("rain_sensor", "Rain sensor", _CHOICE),
)  # fmt: skip
_ZONES: Final = (
    _zone("reference", "Reference", words="id, code, ref, key"),
    _zone("property", "Property reference", Takes.OWNER, words=_OF_PROPERTY, is_needed=True),
    _zone(
        "controller", "Controller", Takes.OWNER,
        words="controller name, clock, clock name, timer, timer name",
    ),
    _zone("number", "Number", _WHOLE, words="no, zone, station, valve", is_needed=True),
    _zone("name", "Name", words="title, description", is_needed=True),
    _zone("area", "Area", Takes.QUANTITY, field="area_m2", dimension="area", words="size"),
    _zone("head_kind", "Head kind", _CHOICE, words="heads, head type, sprinklers", is_needed=True),
    _zone(
        "head_spacing", "Head spacing", Takes.QUANTITY, field="head_spacing_m",
        dimension="distance", words="spacing",
    ),
    _zone(
        "strip_width", "Strip width", Takes.QUANTITY, field="strip_width_m", dimension="distance"
    ),
    _zone("is_bounded_by_paving", "Bounded by paving", _YES_NO),
    _zone(
        "least_paving_gap", "Least paving gap", Takes.QUANTITY, field="least_paving_gap_m",
        dimension="distance",
    ),
    _zone("plant_type", "Plant type", _CHOICE, words="plants, planting", is_needed=True),
    _zone("plant_factor", "Plant factor", _NUMBER),
    _zone("plant_factors", "Plant factors by month", Takes.MONTHS),
    _zone("water_use", "Water use", _CHOICE),
    _zone("density_factor", "Density factor", _NUMBER),
    _zone("is_special_landscape", "Special landscape", _YES_NO),
    _zone("planting_date", "Planting date", Takes.DATE, words="planted, planted on"),
    _zone("dormant_from", "Dormant from"),
    _zone("dormant_until", "Dormant until"),
    _zone("overseeded_from", "Overseeded from"),
    _zone("overseeded_until", "Overseeded until"),
    _zone("quality_factor", "Quality factor", _NUMBER),
    _zone("soil_texture", "Soil texture", _CHOICE, words="soil, soil type", is_needed=True),
    _zone("slope_percent", "Slope percent", _NUMBER, words="slope"),
    _zone("exposure", "Exposure", _CHOICE, words="sun, shade"),
    _zone("microclimate_factor", "Microclimate factor", _NUMBER),
    _zone(
        "root_depths", "Root depth", Takes.MONTHS, field="root_depths_mm", dimension="depth",
        words="rooting depth, root depths",
    ),
    _zone("allowed_depletion", "Allowed depletion", _NUMBER),
    _zone(
        "available_water_per_m", "Available water per metre", Takes.QUANTITY,
        field="available_mm_m", dimension="depth", words="available water per meter",
    ),
    _zone("intake", "Intake", Takes.QUANTITY, field="intake_mm_h", dimension="rate"),
    _zone(
        "accumulation", "Accumulation", Takes.QUANTITY, field="accumulation_mm", dimension="depth"
    ),
    _zone("min_days_between", "Shortest days between", _WHOLE),
    _zone("max_days_between", "Longest days between", _WHOLE),
    _zone("is_active", "Active", _YES_NO, words="in use"),
)  # fmt: skip

COLUMNS: Final[dict[Kind, tuple[Column, ...]]] = {
    Kind.CUSTOMERS: _CUSTOMERS,
    Kind.PROPERTIES: _PROPERTIES,
    Kind.CONTROLLERS: _CONTROLLERS,
    Kind.ZONES: _ZONES,
}
OWNERS: Final[dict[Kind, tuple[str, ...]]] = {
    Kind.CUSTOMERS: (),
    Kind.PROPERTIES: ("customer",),
    Kind.CONTROLLERS: ("property",),
    Kind.ZONES: ("property", "controller"),
}
"""Columns that name the row which owns this one; where all stand in one row, nobody needs them."""


def parts_of(kind: Kind) -> tuple[Kind, ...]:
    """Return the kinds of rows that a row of the file makes, owners first."""
    return PARTS if kind is Kind.EVERYTHING else (kind,)


def columns_of(kind: Kind) -> tuple[Column, ...]:
    """Return the columns that a file of a kind may have."""
    if kind is not Kind.EVERYTHING:
        return COLUMNS[kind]
    return tuple(
        replace(column, is_needed=column.is_needed and part is Kind.CUSTOMERS)
        for part in PARTS
        for column in COLUMNS[part]
        if column.name not in OWNERS[part]
    )
