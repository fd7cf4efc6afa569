"""What the rows of files mean: which row of ours, what changes, and which rows are alike."""

from __future__ import annotations

from pathlib import Path

import pytest

from properties.models import Controller, Customer, Event, Property, Zone
from properties.services.mail_consent import stop_notices
from tests import cast
from tests.properties import import_files as files
from tests.properties.rule_rows import make_district

pytestmark = pytest.mark.django_db
FLAT = (
    "Customer no,Customer name,Site no,Site name,Street,City,Controller name,Zone no,Zone name,"
    "Heads,Plants,Soil,Sun\n"
)
FLAT_ROWS = [
    "K-1,Ingrid Holm,P-1,Holm garden,4 Kiln Street,Tallgrass,Box,1,Front,spray,cool turf,loam,sun",
    "K-1,Ingrid Holm,P-1,Holm garden,4 Kiln Street,Tallgrass,Box,2,Back,rotor,cool turf,loam,sun",
    "K-2,Tomas Brandt,,,,,,,,,,,",
]  # fmt: skip


@pytest.fixture(autouse=True)
def _company(company):
    cast.make_office()


def flat(*rows):
    return FLAT + "\n".join(rows) + "\n"


def codes(text, kind="customers", **said):
    return files.faults(files.look(text, kind, **said))


def test_one_file_may_have_customer_to_zone_in_each_row():
    sheet = files.bring_in(flat(*FLAT_ROWS), "everything")

    assert sheet.report["by_kind"] == {
        "customers": {"made": 2}, "properties": {"made": 1}, "controllers": {"made": 1},
        "zones": {"made": 2},
    }  # fmt: skip
    assert Zone.objects.get(number=2).controller.property.customer.reference == "K-1"
    before = files.stored()
    assert files.bring_in(flat(*FLAT_ROWS), "everything").report["unchanged"] == 3
    assert files.stored() == before


def test_the_example_comes_in_as_it_is():
    example = Path(__file__).resolve().parents[3] / "fixtures" / "imports" / "everything.csv"

    sheet = files.bring_in(example.read_bytes(), "everything")

    assert (sheet.report["made"], sheet.report["faults"]) == (5, 0)
    assert Property.objects.get(reference="S-101").access_notes == "Gate 4471, dog in the yard"


def test_rows_of_one_file_must_say_the_same_of_an_owner():
    other = FLAT_ROWS[1].replace("Holm garden", "Holm yard")

    assert codes(flat(FLAT_ROWS[0], other), "everything") == [("C3", "contradicts-row")]


def test_a_refused_row_makes_no_owner_for_the_next():
    wrong = FLAT_ROWS[0].replace("loam", "cheese")

    sheet = files.look(flat(wrong, FLAT_ROWS[1]), "everything")
    files.write(sheet, only_good_rows=True)

    assert files.faults(sheet) == [("L2", "not-a-choice")]
    assert (Property.objects.count(), Zone.objects.get().number) == (1, 2)


def test_a_zone_without_its_property_in_the_row_is_refused():
    row = "K-1,Ingrid Holm,,,,,,1,Front,spray,cool turf,loam,sun"

    assert [code for _, code in codes(flat(row), "everything")] == ["owner-missing"]


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("K-9,Other,INGRID@Holm.Example,", ("C2", "alike-stored")),
        ("K-9,Other,,(555) 010 0101", ("D2", "alike-stored")),
        ("K-1,Other,tomas@brandt.example,", ("C2", "alike-stored")),
    ],
)
def test_a_contact_that_a_stored_customer_has_is_refused_unless_both_are_right(row, fault):
    files.bring_in(files.CUSTOMERS)
    text = f"Reference,Name,E-mail,Telephone\n{row}\n"

    assert codes(text) == [fault]
    assert codes(text, takes_alike=True) == []


def test_a_contact_of_an_earlier_row_is_refused_and_names_it():
    text = "Reference,Name,E-mail\nK-1,A,x@y.example\nK-2,B,X@Y.example\n"

    sheet = files.look(text)

    assert files.faults(sheet) == [("C3", "alike-in-file")]
    assert "Row 2 has this contact" in sheet.lines.get(row=3).faults[0]["detail"]


def test_an_address_that_a_stored_property_has_is_refused():
    files.bring_in_all()
    text = files.PROPERTIES.replace("P-1", "P-9").replace("48 Kiln Street", '"48, KILN ST."')

    assert codes(text, "properties") == [("D2", "alike-stored")]


def test_one_row_twice_in_a_file_is_refused():
    assert codes(files.CUSTOMERS + "K-1,Again,,\n") == [("A4", "row-twice")]
    files.bring_in_all()
    assert codes(files.ZONES + files.ZONES.splitlines()[1] + "\n", "zones") == [("A5", "row-twice")]


def test_an_owner_that_nobody_knows_is_named():
    sheet = files.look(files.PROPERTIES, "properties")

    assert files.faults(sheet) == [("B2", "unknown-owner"), ("B3", "unknown-owner")]
    assert "No customer has the reference 'K-1'" in sheet.lines.get(row=2).faults[0]["detail"]


def test_a_controller_of_another_property_is_no_controller_of_this_zone():
    files.bring_in_all()

    assert codes(files.ZONES.replace("P-2,Porch", "P-2,Garage"), "zones") == [
        ("B4", "unknown-owner")
    ]


def test_a_zone_stays_at_its_property_and_may_change_its_controller():
    files.bring_in_all()
    head = "Reference,Property no,Controller,No,Name,Heads,Plants,Soil,Exposure\n"
    zone = Zone.objects.get(name="Lawn")
    row = f"id:{zone.pk},P-2,Shed,1,Lawn,rotor,warm turf,sandy loam,full sun\n"
    cast.make_controller(Property.objects.get(reference="P-2"), name="Shed")

    assert files.bring_in(head + row, "zones").report["changed"] == 1
    zone.refresh_from_db()
    assert zone.controller.name == "Shed"
    assert ("B2", "stays") in codes(head + row.replace("P-2,Shed", "P-1,Garage"), "zones")


def test_a_number_that_another_zone_has_is_refused():
    files.bring_in_all()
    zone = Zone.objects.get(name="Back lawn")
    head = "Reference,Property no,Controller,No,Name,Heads,Plants,Soil,Exposure\n"
    rest = "Lawn,rotor,cool turf,loam,full sun\n"

    assert codes(f"{head}id:{zone.pk},P-1,Garage,1,{rest}", "zones") == [("D2", "place-taken")]


def test_a_property_may_get_another_customer():
    files.bring_in_all()

    files.bring_in(files.PROPERTIES.replace("P-2,K-2", "P-2,K-1"), "properties")

    assert Property.objects.get(reference="P-2").customer.reference == "K-1"


def test_what_is_retired_is_neither_changed_nor_built_on():
    files.bring_in_all()
    Customer.objects.filter(reference="K-1").update(retired_at=cast.NOW)

    assert codes(files.CUSTOMERS) == []
    assert codes(files.CUSTOMERS.replace("Ingrid Holm", "Ingrid H.")) == [("A2", "retired")]
    new = files.PROPERTIES.replace("P-1", "P-9").replace("48 Kiln", "50 Kiln")
    assert codes(new, "properties") == [("B2", "owner-retired")]


def test_a_client_who_stopped_the_notices_is_not_signed_on_again():
    text = "Reference,Name,E-mail,Wants notices\nK-1,Ingrid,ingrid@holm.example,yes\n"
    files.bring_in(text)
    stop_notices(Customer.objects.get().pk, now=cast.NOW)

    assert codes(text) == [("D2", "unsubscribed")]


def test_another_address_forgets_that_the_old_one_was_refused():
    files.bring_in(files.CUSTOMERS)
    Customer.objects.filter(reference="K-1").update(refused_address_sha256="x")

    sheet = files.bring_in(files.CUSTOMERS.replace("ingrid@", "i.holm@"))

    assert Customer.objects.get(reference="K-1").refused_address_sha256 == ""
    assert sheet.lines.get(row=2).changes == ["email"]


def test_a_district_is_known_by_its_name():
    district = make_district()
    files.bring_in(files.CUSTOMERS)
    text = files.PROPERTIES.replace("Pressure (psi)", "District")

    good = text.replace(",58", f",{district.name.upper()}").replace(",64", ",")
    files.bring_in(good, "properties")

    assert Property.objects.get(reference="P-1").watering_district == district
    assert codes(text.replace(",58", ",Nowhere").replace(",64", ","), "properties") == [
        ("F2", "unknown-district")
    ]


def test_a_rule_of_two_cells_is_told_once_and_not_where_one_is_wrong_already():
    files.bring_in_all()
    head = "Property no,No,Name,Heads,Plants,Soil,Exposure,Microclimate factor\n"
    row = "P-1,{},Lawn,rotor,cool turf,loam,{},{}\n"

    assert codes(head + row.format(7, "", ""), "zones") == [("G2", "against-a-rule")]
    assert codes(head + row.format(7, "", "warm"), "zones") == [("H2", "not-a-number")]
    assert codes(head + row.format(7, "", "9"), "zones") == [("H2", "out-of-range")]


def test_cells_under_no_heading_and_short_rows_lose_nothing():
    assert codes("Reference,Name,\nK-1,A,,,\nK-2,B\nK-3,C,,x\n") == [("D4", "no-heading")]


def test_a_test_still_to_come_is_refused():
    files.bring_in(files.CUSTOMERS)
    text = files.PROPERTIES.replace("Pressure (psi)", "Backflow tested on")

    assert codes(text.replace(",58", ",2027-01-01").replace(",64", ","), "properties") == [
        ("F2", "day-to-come")
    ]


def test_events_of_a_change_name_who_asked():
    files.bring_in(files.CUSTOMERS)
    files.bring_in(files.CUSTOMERS.replace("555-010-0101", "555-010-0177"))

    event = Event.objects.get(act="changed by import")
    assert event.actor is not None
    assert event.after == {"phone": "(not kept)"}
    assert not Controller.objects.exists()
