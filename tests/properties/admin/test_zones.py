from __future__ import annotations

import pytest
from django.contrib.admin.models import LogEntry
from django.db import IntegrityError
from django.test import Client

from properties.models import Controller, Event, HeadGroup, Property, StaffMember, Zone
from properties.services.rows import change_row
from tests import cast
from tests.properties.admin.forms import add_address, address_of, errors_of, filled_form

pytestmark = pytest.mark.django_db


@pytest.fixture
def new_zone(office_pages: Client, garden: Property, controller: Controller) -> dict[str, str]:
    return filled_form(office_pages, add_address(Zone)) | {
        "property": str(garden.pk), "controller": str(controller.pk), "number": "7",
        "name": "Side strip", "area_m2": "48.3", "head_kind": "spray", "plant_type": "cool_turf",
        "soil_texture": "loam", "exposure": "part_shade", "root_depths_mm": "150",
    }  # fmt: skip


def test_adding_a_zone_writes_the_row_and_its_event(
    office_pages: Client, office: StaffMember, new_zone: dict[str, str]
):
    answer = office_pages.post(add_address(Zone), new_zone)

    zone = Zone.objects.get()
    event = Event.objects.get(subject_id=zone.pk)
    assert answer.status_code == 302
    assert (zone.number, zone.area_m2, zone.root_depths_mm) == (7, 48.3, [150.0] * 12)
    assert (zone.created_at, zone.revision) == (cast.NOW, 1)
    assert (event.act, event.actor, event.at) == ("created", office, cast.NOW)
    assert event.after["name"] == "Side strip"


def test_adding_a_zone_with_its_heads_writes_an_event_for_each(
    office_pages: Client, new_zone: dict[str, str]
):
    heads = {
        "head_groups-TOTAL_FORMS": "1", "head_groups-0-kind": "spray", "head_groups-0-count": "6",
        "head_groups-0-rated_flow_l_min": "4.9",
    }  # fmt: skip

    office_pages.post(add_address(Zone), new_zone | heads)

    group = HeadGroup.objects.get()
    assert group.zone == Zone.objects.get()
    assert Event.objects.filter(subject_id=group.pk, act="created").count() == 1


def test_a_zone_on_another_propertys_controller_is_an_error_at_the_controller(
    office_pages: Client, other_garden: Property, new_zone: dict[str, str]
):
    page = office_pages.post(add_address(Zone), new_zone | {"property": str(other_garden.pk)})

    assert "hangs at another property" in errors_of(page)["controller"][0]
    assert not Zone.objects.exists()
    assert not Event.objects.filter(subject_kind="properties.zone").exists()


def test_a_broken_constraint_is_an_error_at_its_field(
    office_pages: Client, new_zone: dict[str, str]
):
    page = office_pages.post(add_address(Zone), new_zone | {"area_m2": "-3", "exposure": ""})

    errors = errors_of(page)
    assert errors["area_m2"][0].startswith("the area in square metres must lie between")
    assert errors["exposure"] == ["give an exposure or a microclimate factor, one of them."]
    assert not Zone.objects.exists()


def test_refused_heads_undo_the_zone_that_was_to_be_added_with_them(
    office_pages: Client, new_zone: dict[str, str], monkeypatch: pytest.MonkeyPatch
):
    heads = {
        "head_groups-TOTAL_FORMS": "1", "head_groups-0-kind": "spray", "head_groups-0-count": "6",
        "head_groups-0-rated_flow_l_min": "4.9",
    }  # fmt: skip

    def refuse(*args: object, **kwargs: object) -> None:
        raise IntegrityError("head group")

    monkeypatch.setattr("properties.http.office_admin.add_row", refuse)
    page = office_pages.post(add_address(Zone), new_zone | heads)

    assert "The database refused this" in errors_of(page)["__all__"][0]
    assert not Zone.objects.exists()


def test_a_change_raises_the_revision_and_writes_only_what_changed(
    office_pages: Client, zone: Zone
):
    form = filled_form(office_pages, address_of(zone)) | {"name": "Lawn by the gate"}

    answer = office_pages.post(address_of(zone), form)

    zone.refresh_from_db()
    event = Event.objects.get(subject_id=zone.pk)
    assert answer.status_code == 302
    assert (zone.name, zone.revision) == ("Lawn by the gate", 2)
    assert (event.before, event.after) == ({"name": "Front lawn"}, {"name": "Lawn by the gate"})


def test_saving_an_untouched_form_writes_nothing(office_pages: Client, zone: Zone):
    Zone.objects.update(area_m2=48.309580800000006, root_depths_mm=[355.59999999999997] * 12)
    cast.make_heads(zone, rated_flow_l_min=4.921035319200001)
    form = filled_form(office_pages, address_of(zone))

    answer = office_pages.post(address_of(zone), form)

    zone.refresh_from_db()
    assert answer.status_code == 302
    assert (zone.area_m2, zone.revision) == (48.309580800000006, 1)
    assert not Event.objects.exists()


def test_a_stale_form_is_refused_and_writes_nothing(
    office_pages: Client, office: StaffMember, zone: Zone
):
    form = filled_form(office_pages, address_of(zone)) | {"name": "Mine"}
    change_row(zone, {"name": "Theirs"}, actor=office, now=cast.NOW)

    page = office_pages.post(address_of(zone), form)

    assert errors_of(page)["__all__"] == [
        "Somebody else changed this in the meantime: it is at revision 2 now. Read it again, then "
        "repeat your change."
    ]
    assert Zone.objects.get().name == "Theirs"
    assert Event.objects.filter(subject_id=zone.pk).count() == 1


def test_a_form_without_its_revision_is_refused(office_pages: Client, zone: Zone):
    form = filled_form(office_pages, address_of(zone)) | {"name": "Mine"}
    del form["read_revision"]

    page = office_pages.post(address_of(zone), form)

    assert "__all__" in errors_of(page)
    assert Zone.objects.get().name == "Front lawn"


def test_a_stale_head_group_undoes_the_change_of_its_zone(
    office_pages: Client, office: StaffMember, zone: Zone
):
    heads = cast.make_heads(zone)
    form = filled_form(office_pages, address_of(zone))
    form |= {"name": "Mine", "head_groups-0-count": "11"}
    change_row(heads, {"count": 12}, actor=office, now=cast.NOW)

    page = office_pages.post(address_of(zone), form)

    assert "Somebody else changed this" in errors_of(page)["__all__"][0]
    assert (Zone.objects.get().name, HeadGroup.objects.get().count) == ("Front lawn", 12)


def test_a_changed_number_loses_what_was_entered_and_others_keep_it(
    office_pages: Client, zone: Zone
):
    area, depth = {"value": 2000, "unit": "ft2"}, {"value": 0.5, "unit": "in"}
    Zone.objects.update(entered={"area_m2": area, "accumulation_mm": depth}, accumulation_mm=12.7)
    assert b"Area: 2000 ft2; Accumulation: 0.5 in" in office_pages.get(address_of(zone)).content
    form = filled_form(office_pages, address_of(zone)) | {"area_m2": "190"}

    office_pages.post(address_of(zone), form)

    zone.refresh_from_db()
    assert (zone.area_m2, zone.entered) == (190.0, {"accumulation_mm": depth})


@pytest.mark.parametrize("depths", ["150, deep", "150, 160", "nan"])
def test_root_depths_that_are_not_one_or_twelve_numbers_are_an_error(
    office_pages: Client, zone: Zone, depths: str
):
    form = filled_form(office_pages, address_of(zone)) | {"root_depths_mm": depths}

    assert "root_depths_mm" in errors_of(office_pages.post(address_of(zone), form))


def test_a_zone_cannot_be_moved_to_another_property(
    office_pages: Client, zone: Zone, other_garden: Property
):
    elsewhere = cast.make_controller(other_garden)
    form = filled_form(office_pages, address_of(zone))

    office_pages.post(address_of(zone), form | {"property": str(other_garden.pk)})
    page = office_pages.post(address_of(zone), form | {"controller": str(elsewhere.pk)})

    assert "controller" in errors_of(page)
    zone.refresh_from_db()
    assert zone.property != other_garden


def test_units_stand_in_the_labels(office_pages: Client, zone: Zone):
    page = office_pages.get(address_of(zone)).content.decode()

    for label in ("Area [m2]", "Intake [mm/h]", "Rated flow [L/min]", "Rated pressure [kPa]"):
        assert label in page


def test_zones_are_found_by_the_name_of_their_property(office_pages: Client, zone: Zone):
    found = office_pages.get("/admin/properties/zone/?q=Holm")
    missed = office_pages.get("/admin/properties/zone/?q=Brandt")

    assert found.context["cl"].result_count == 1
    assert missed.context["cl"].result_count == 0


def test_the_pages_keep_no_second_log(office_pages: Client, zone: Zone):
    form = filled_form(office_pages, address_of(zone)) | {"name": "Lawn by the gate"}

    office_pages.post(address_of(zone), form)
    history = office_pages.get(address_of(zone).replace("change", "history"), follow=True)

    assert not LogEntry.objects.exists()
    assert history.context["cl"].result_count == 1
