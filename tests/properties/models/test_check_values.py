"""Constraints judged in Python agree with those that the database holds."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.db.models import CheckConstraint

from properties.models import Controller, Customer, Property, Zone
from properties.models.check_values import broken_checks, fields_of

pytestmark = pytest.mark.django_db
CASES = [
    (Zone, {}),
    (Zone, {"exposure": ""}),
    (Zone, {"microclimate_factor": 0.8}),
    (Zone, {"exposure": "", "microclimate_factor": 0.8}),
    (Zone, {"area_m2": 0.0}),
    (Zone, {"area_m2": None}),
    (Zone, {"number": 201}),
    (Zone, {"head_kind": "cannon"}),
    (Zone, {"min_days_between": 5, "max_days_between": 4}),
    (Zone, {"min_days_between": 0}),
    (Zone, {"dormant_from": "11-15"}),
    (Zone, {"dormant_from": "11-15", "dormant_until": "03-01"}),
    (Zone, {"plant_factor": 0.5, "water_use": "low"}),
    (Zone, {"plant_factors": [0.5] * 12, "water_use": "low"}),
    (Zone, {"plant_factors": [0.5] * 12}),
    (Controller, {"can_weekdays": False, "interval_days": 0}),
    (Controller, {"can_weekdays": False, "interval_days": 0, "can_odd_even": True}),
    (Controller, {"most_percent": 99, "percent_step": 0}),
    (Property, {"latitude": None}),
    (Property, {"latitude": None, "longitude": None}),
    (Property, {"latitude": 91.0, "water_source": "sea"}),
    (Customer, {"relation": "friend", "units": "old"}),
]


@pytest.mark.parametrize(("model", "changes"), CASES)
def test_a_row_breaks_what_the_database_would_refuse(
    zone, model, changes, django_assert_num_queries
):
    row = model.objects.get()
    for name, value in changes.items():
        setattr(row, name, value)
    expected = set()
    for constraint in model._meta.constraints:
        if isinstance(constraint, CheckConstraint):
            try:
                constraint.validate(model, row)
            except ValidationError:
                expected.add(constraint.name)

    with django_assert_num_queries(0):
        assert {constraint.name for constraint in broken_checks(row)} == expected


@pytest.mark.parametrize("model", [Customer, Property, Controller, Zone])
def test_every_check_of_what_is_brought_in_can_be_judged(zone, model):
    row = model.objects.get()
    for name in {field.attname for field in model._meta.concrete_fields if field.null}:
        setattr(row, name, None)

    for constraint in broken_checks(row):
        assert fields_of(constraint)


def test_a_constraint_names_its_fields():
    named = {constraint.name: constraint for constraint in Zone._meta.constraints}

    assert fields_of(named["zone_days_in_order"]) == {"min_days_between", "max_days_between"}
