"""Adding and changing rows: whole, remembered, never overwritten, never half-done."""

from __future__ import annotations

import datetime as dt
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Controller, Customer, Event, Property, Zone
from properties.services import rows
from properties.services.rows import add_row, change_row
from properties.services.zones import add_zone
from tests import cast

NOW = cast.NOW
LATER = NOW + dt.timedelta(hours=1)
CLIENT = {"name": "Ingrid Holm", "email": "ingrid@holm.example", "phone": "555-0100"}


def add_client(office, **changes):
    return add_row(Customer, {**CLIENT, **changes}, actor=office, now=NOW)


def test_an_added_row_is_stored_with_its_moments_and_first_revision(office):
    added = add_client(office)

    stored = Customer.objects.get()
    assert stored == added
    assert (stored.created_at, stored.changed_at, stored.revision) == (NOW, NOW, 1)


def test_an_added_row_is_remembered_without_personal_values(office):
    added = add_client(office, reference="C-7", relation="tenant")

    event = Event.objects.get(subject_id=added.pk)
    assert (event.act, event.actor, event.at) == ("created", office, NOW)
    assert event.subject_kind == "properties.customer"
    assert event.before == {}
    assert event.after["relation"] == "tenant"
    assert event.after["reference"] == "(not kept)"
    assert event.after["name"] == event.after["email"] == event.after["phone"] == "(not kept)"
    for private in CLIENT.values():
        assert private not in str(event.after)


def test_an_absent_personal_value_is_seen_to_be_absent(office):
    event = Event.objects.get(subject_id=add_client(office, phone="").pk)

    assert event.after["phone"] == ""


def test_an_act_may_have_its_own_name(office):
    added = add_row(Customer, CLIENT, actor=None, now=NOW, act="imported")

    event = Event.objects.get(subject_id=added.pk)
    assert (event.act, event.actor) == ("imported", None)


def test_the_caller_chooses_the_id(office):
    chosen = uuid4()

    assert add_client(office, id=chosen).pk == chosen


def test_a_taken_id_is_refused_and_overwrites_nothing(office):
    first = add_client(office)

    with pytest.raises(RefusedError) as refused:
        add_client(office, id=first.pk, name="Impostor")

    assert (refused.value.code, refused.value.field) == ("id-taken", "id")
    assert Customer.objects.get().name == "Ingrid Holm"
    assert Event.objects.filter(subject_id=first.pk).count() == 1


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"name": ""}, "name"), ({"email": "no"}, "email"), ({"relation": "aunt"}, "relation")],
)
def test_a_row_is_checked_before_it_is_stored(office, wrong, field):
    with pytest.raises(ValidationError) as refused:
        add_client(office, **wrong)

    assert field in refused.value.message_dict
    assert not Customer.objects.exists()
    assert not Event.objects.filter(subject_kind="properties.customer").exists()


def test_constraints_are_refused_in_words_that_begin_with_the_field(garden, office):
    wrong = {"property": garden, "name": "Shed", "minute_step": 99}

    with pytest.raises(ValidationError) as refused:
        add_row(Controller, wrong, actor=office, now=NOW)

    assert refused.value.messages == ["minute_step: the minute step must lie between 1 and 30."]


def test_without_an_event_there_is_no_row(office, monkeypatch):
    def broken(*_, **__):
        raise ZeroDivisionError

    monkeypatch.setattr(rows, "record_event", broken)

    with pytest.raises(ZeroDivisionError):
        add_client(office)
    assert not Customer.objects.exists()


def test_a_change_is_stored_at_the_next_revision_and_remembered(office):
    client = add_client(office, relation="tenant")

    changed = change_row(client, {"relation": "owner"}, actor=office, now=LATER)

    stored = Customer.objects.get()
    assert (stored.relation, stored.revision) == ("owner", 2)
    assert (stored.created_at, stored.changed_at) == (NOW, LATER)
    assert changed.revision == 2
    event = Event.objects.get(act="changed")
    assert (event.before, event.after) == ({"relation": "tenant"}, {"relation": "owner"})
    assert (event.actor, event.at, event.subject_id) == (office, LATER, client.pk)


def test_a_change_of_a_personal_value_is_remembered_without_the_value(office):
    client = add_client(office)

    change_row(client, {"phone": "555-0199", "email": ""}, actor=office, now=LATER)

    event = Event.objects.get(act="changed")
    assert event.before == {"phone": "(not kept)", "email": "(not kept)"}
    assert event.after == {"phone": "(not kept)", "email": ""}


def test_fields_that_were_not_named_stay_as_others_left_them(office):
    client = add_client(office)
    Customer.objects.update(reference="set elsewhere")

    change_row(client, {"units": "metric"}, actor=office, now=LATER)

    assert Customer.objects.get().reference == "set elsewhere"


def test_a_lost_update_is_refused(office):
    client = add_client(office)
    mine, theirs = Customer.objects.get(pk=client.pk), Customer.objects.get(pk=client.pk)
    change_row(theirs, {"reference": "theirs"}, actor=office, now=LATER)

    with pytest.raises(RefusedError) as refused:
        change_row(mine, {"reference": "mine"}, actor=office, now=LATER)

    assert refused.value.code == "changed-meanwhile"
    assert Customer.objects.get().reference == "theirs"
    assert Event.objects.filter(act="changed").count() == 1


def test_a_change_is_checked_before_it_is_stored(office):
    client = add_client(office)

    with pytest.raises(ValidationError):
        change_row(client, {"units": "cubits"}, actor=office, now=LATER)

    assert Customer.objects.get().revision == 1


# What was entered


@pytest.fixture
def measured(office):
    entered = {
        "static_pressure_kpa": {"value": 60, "unit": "psi"},
        "elevation_m": {"value": 300, "unit": "m"},
    }
    garden = cast.make_property(entered=entered, static_pressure_kpa=413.7, elevation_m=300.0)
    assert not garden.unlogged & {"static_pressure_kpa", "elevation_m"}
    return garden


def test_a_metric_number_that_changes_loses_its_old_entered_value(measured, office):
    change_row(measured, {"static_pressure_kpa": 350.0}, actor=office, now=LATER)

    assert Property.objects.get().entered == {"elevation_m": {"value": 300, "unit": "m"}}


def test_a_change_with_an_entered_value_replaces_its_own_alone(measured, office):
    newly = {"static_pressure_kpa": {"value": 3.5, "unit": "bar"}}

    change_row(measured, {"static_pressure_kpa": 350.0, "entered": newly}, actor=office, now=LATER)

    stored = Property.objects.get()
    assert stored.entered == {"elevation_m": {"value": 300, "unit": "m"}, **newly}
    assert stored.static_pressure_kpa == 350.0


def test_another_change_leaves_what_was_entered(measured, office):
    before = dict(measured.entered)

    change_row(measured, {"city": "Elsewhere"}, actor=office, now=LATER)

    assert Property.objects.get().entered == before


# Zones


def _zone(garden, controller):
    return {
        "property": garden, "controller": controller, "number": 1, "name": "Front",
        "head_kind": "spray", "plant_type": "cool_turf", "soil_texture": "loam",
        "exposure": "full_sun",
    }  # fmt: skip


def test_a_zone_hangs_on_a_controller_of_its_own_property_or_on_none(garden, controller, office):
    add_zone(_zone(garden, controller), actor=office, now=NOW)
    add_zone(_zone(garden, None), actor=office, now=NOW)

    assert Zone.objects.count() == 2
    assert Event.objects.filter(subject_kind="properties.zone").count() == 2


def test_a_controller_of_another_property_is_refused(other_garden, controller, office):
    with pytest.raises(InvalidInputError) as refused:
        add_zone(_zone(other_garden, controller), actor=office, now=NOW)

    assert refused.value.field == "controller"
    assert not Zone.objects.exists()
