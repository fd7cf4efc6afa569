"""Which column of ours a heading is, and when two addresses are one."""

from __future__ import annotations

import pytest

from properties.domain.errors import InvalidInputError
from properties.domain.spreadsheet_alike import address_key, mail_key, phone_key, plain_words
from properties.domain.spreadsheet_columns import Kind
from properties.domain.spreadsheet_files import heading_of, unit_of
from properties.domain.spreadsheet_headings import column_headed, known_headings, read_headings
from properties.domain.spreadsheet_kinds import COLUMNS, columns_of


def headed(heading, kind=Kind.ZONES):
    found = column_headed(heading, kind)
    return found and (found[0].name, found[1])


def read(cells, kind=Kind.CUSTOMERS, **said):
    usual = {"said": {}, "ignores_unknown": False, "system": None}
    return read_headings(cells, kind, **{**usual, **said})


@pytest.mark.parametrize(
    ("heading", "meant"),
    [
        ("Area (sq ft)", ("area", "ft2")), ("AREA [m²]", ("area", "m2")), ("area", ("area", None)),
        ("Zone #", ("number", None)), ("Head-Type", ("head_kind", None)),
        ("Root depth, in.", ("root_depths", "in")), ("Intake in/h", ("intake", "in/h")),
        ("Spacing ft", ("head_spacing", "ft")), ("Área", ("area", None)),
        ("Area (psi)", None), ("Shoe size", None), ("", None),
    ],
)  # fmt: skip
def test_headings_are_known_without_case_accents_and_signs(heading, meant):
    assert headed(heading) == meant


def test_a_heading_of_many_kinds_must_say_of_which():
    everything = Kind.EVERYTHING

    assert headed("Name", everything) is None
    assert headed("Customer name", everything) == ("name", None)
    assert headed("Zone name", everything) == ("name", None)
    assert headed("Gate code", everything) == ("access_notes", None)
    assert headed("Property reference", everything) == ("reference", None)


@pytest.mark.parametrize("kind", list(Kind))
def test_every_column_is_known_by_its_own_heading_in_both_systems(kind):
    for column in columns_of(kind):
        for system in ("us", "metric"):
            heading = heading_of(column, unit_of(column, system))
            if kind is Kind.EVERYTHING:
                heading = f"{str(column.of).replace('ies', 'y').rstrip('s')} {heading}"
            found, unit = column_headed(heading, kind)
            assert (found.of, found.name) == (column.of, column.name)
            assert unit == unit_of(column, system)


@pytest.mark.parametrize("kind", list(COLUMNS))
def test_no_heading_stands_for_two_columns_of_a_kind(kind):
    headings = [heading for column in columns_of(kind) for heading in column.headings()]
    assert len(headings) == len(set(headings)) <= len(known_headings(kind))


def test_the_office_says_what_a_heading_stands_for():
    found = read(["Kd-Nr", "Name", "Shoe size"], said={"kd-nr": "Reference", "Shoe size": ""})

    assert [(place.index, place.column.name) for place in found.places] == [
        (0, "reference"), (1, "name"),
    ]  # fmt: skip
    assert found.ignored == (2,)


def test_what_nobody_knows_is_named_and_left_out_only_when_the_office_says_so():
    cells = ["Reference", "Name", "Shoe size", "Hat"]
    with pytest.raises(InvalidInputError, match="Shoe size, Hat") as refusal:
        read(cells)

    assert refusal.value.code == "heading-unknown"
    assert read(cells, ignores_unknown=True).ignored == (2, 3)


def test_a_missing_heading_is_named():
    with pytest.raises(InvalidInputError, match="no heading for: Reference, Name") as refusal:
        read(["E-mail"])

    assert refusal.value.code == "heading-missing"


def test_units_come_from_the_heading_and_else_from_the_system():
    cells = ["Property no", "No", "Name", "Heads", "Plants", "Soil", "Area", "Spacing (m)"]

    us = read(cells, Kind.ZONES, system="us").places
    unsaid = read(cells, Kind.ZONES).places

    assert [place.unit for place in us[-2:]] == ["ft2", "m"]
    assert [place.unit for place in unsaid[-2:]] == [None, "m"]


def test_too_many_columns_are_refused():
    with pytest.raises(InvalidInputError, match="more than 200 columns"):
        read(["Reference", "Name", *[""] * 200])


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("48 Kiln Street", "48 KILN ST."), ("12 North Oak Avenue, Apt 4", "12 N. Oak Ave #4"),
        ("7 St. Mary Road", "7 Saint Mary rd"), ("9 O'Hara Blvd", "9 OHara Boulevard"),
        ("5 Señor Court", "5 Senor Ct"),
    ],
)  # fmt: skip
def test_two_spellings_of_an_address_are_alike(one, other):
    assert address_key(one, "Tallgrass") == address_key(other, " tallgrass ")


def test_two_addresses_are_not_alike():
    keys = {
        address_key(street, city)
        for street, city in [
            ("48 Kiln Street", "Tallgrass"), ("49 Kiln Street", "Tallgrass"),
            ("48 Kiln Street", "Millpond"), ("48 Kiln Lane", "Tallgrass"),
            ("48 N Kiln Street", "Tallgrass"), ("48 Kiln Street Apt 2", "Tallgrass"),
        ]
    }  # fmt: skip
    assert len(keys) == 6
    assert address_key("48 Kiln Street", "") == ""


def test_contacts_are_alike_without_case_and_signs():
    assert mail_key(" Ingrid@Holm.Example ") == "ingrid@holm.example"
    assert phone_key("+1 (785) 555-0101") == phone_key("785.555.0101") == "7855550101"
    assert phone_key("ext. 12") == ""
    assert plain_words("Größe_Nr. #1") == "grosse nr number 1"
