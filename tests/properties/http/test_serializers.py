"""Strictness, client-made ids, and references that stay inside the scope."""

from __future__ import annotations

from types import SimpleNamespace
from uuid import uuid4

import pytest
from rest_framework import serializers

from properties.domain.ids import uuid7
from properties.http.quantities import QuantityField
from properties.http.serializers import MeasuredRowSerializer, ScopedField, StrictSerializer
from properties.models import Property


class NestedSerializer(StrictSerializer):
    x = serializers.IntegerField()


class FormSerializer(StrictSerializer):
    name = serializers.CharField()
    made_at = serializers.DateTimeField(read_only=True)
    places = NestedSerializer(many=True, required=False)


def test_a_field_that_is_not_known_is_refused_by_its_name_and_the_known_ones_are_named():
    form = FormSerializer(data={"name": "a", "nmae": "b", "zzz": 1})

    assert not form.is_valid()
    assert set(form.errors) == {"nmae", "zzz"}
    (error,) = form.errors["nmae"]
    assert error == "This field cannot be set here. Fields: name, places."
    assert error.code == "unknown-field"


def test_a_field_that_only_the_server_fills_is_refused_rather_than_dropped():
    form = FormSerializer(data={"name": "a", "made_at": "2026-06-10T15:00:00Z"})

    assert not form.is_valid()
    assert set(form.errors) == {"made_at"}


def test_nested_fields_are_as_strict():
    form = FormSerializer(data={"name": "a", "places": [{"x": 1}, {"x": 1, "y": 2}]})

    assert not form.is_valid()
    assert set(form.errors["places"]) == {1}
    assert set(form.errors["places"][1]) == {"y"}


def test_known_fields_pass():
    form = FormSerializer(data={"name": "a", "places": [{"x": 1}]})

    assert form.is_valid()
    assert form.validated_data == {"name": "a", "places": [{"x": 1}]}


@pytest.mark.parametrize("data", [[], "text", 3, None])
def test_what_is_no_object_is_refused(data):
    form = FormSerializer(data=data)

    assert not form.is_valid()


class PressureSerializer(MeasuredRowSerializer[Property]):
    static_pressure = QuantityField("pressure", source="static_pressure_kpa", required=False)

    class Meta:
        model = Property
        fields = ("id", "name", "static_pressure")


def test_a_measured_row_keeps_what_was_entered_beside_the_metric_number():
    form = PressureSerializer(data={"name": "x", "static_pressure": {"value": 3, "unit": "bar"}})
    form.is_valid(raise_exception=True)

    assert form.validated_data == {
        "name": "x",
        "static_pressure_kpa": 300.0,
        "entered": {"static_pressure_kpa": {"value": 3, "unit": "bar"}},
    }


def test_a_measured_row_without_quantities_has_nothing_entered():
    form = PressureSerializer(data={"name": "x"})
    form.is_valid(raise_exception=True)

    assert form.validated_data == {"name": "x"}


def test_the_caller_chooses_the_id():
    chosen = uuid7()
    form = PressureSerializer(data={"name": "x", "id": str(chosen)})
    form.is_valid(raise_exception=True)

    assert form.validated_data["id"] == chosen


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("odd", "code"),
    [
        ("5cc9a1b0-0f4e-4a63-9a3c-1c2d3e4f5a6b", "id-version"),  # version 4
        ("019eb20c-2180-7000-0e4d-9a24ee65f908", "id-version"),  # version 7 of another variant
        ("01640000-0000-7000-8e4d-9a24ee65f908", "id-time"),  # of 2018
        ("019ec20c-2180-7000-8e4d-9a24ee65f908", "id-time"),  # of three days hence
        ("00000000-0000-0000-0000-000000000000", "id-version"),
    ],
)
def test_an_id_that_no_clock_of_ours_could_have_made_is_refused(odd, code):
    form = PressureSerializer(data={"name": "x", "id": odd})

    assert not form.is_valid()
    (error,) = form.errors["id"]
    assert error.code == code


def _reference(staff, pk):
    class Form(StrictSerializer):
        property = ScopedField(queryset=Property.objects.all(), property_path="pk")

    return Form(data={"property": str(pk)}, context={"request": SimpleNamespace(user=staff)})


def test_a_technician_refers_only_to_properties_of_his_visits(
    technician, visit, garden, other_garden
):
    assert _reference(technician, garden.pk).is_valid()
    foreign, unknown = _reference(technician, other_garden.pk), _reference(technician, uuid4())
    assert not foreign.is_valid()
    assert not unknown.is_valid()
    assert foreign.errors["property"][0].code == unknown.errors["property"][0].code


def test_the_office_refers_to_every_property(office, garden):
    assert _reference(office, garden.pk).is_valid()


@pytest.mark.parametrize("wrong", ["abc", 3, True, {"id": 1}, ["x"]])
def test_a_reference_that_is_no_id_is_refused(office, wrong):
    class Form(StrictSerializer):
        property = ScopedField(queryset=Property.objects.all(), property_path="pk")

    form = Form(data={"property": wrong}, context={"request": SimpleNamespace(user=office)})

    assert not form.is_valid()


def test_a_reference_is_shown_as_an_id_without_a_query(garden, django_assert_num_queries):
    class Form(StrictSerializer):
        customer = ScopedField(queryset=Property.objects.all(), property_path="pk")

    fresh = Property.objects.get(pk=garden.pk)

    with django_assert_num_queries(0):
        assert Form(fresh).data == {"customer": str(garden.customer_id)}


def test_an_unknown_choice_names_the_choices(office_api, controller):
    body = {"property": str(controller.property_id), "name": "Shed", "rain_sensor": "rusty"}

    answer = office_api.post("/api/v1/controllers", body)

    assert answer.status_code == 400
    (error,) = answer.json()["errors"]
    assert error["pointer"] == "/rain_sensor"
    assert error["detail"] == (
        '"rusty" is not known here. Use one of: none, working, broken, unknown.'
    )
