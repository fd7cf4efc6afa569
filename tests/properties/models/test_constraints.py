"""Rules that must hold hold in the database, whoever writes."""

from __future__ import annotations

import datetime as dt

import pytest
from django.apps import apps
from django.db import IntegrityError, models, transaction

from properties.models import (
    Company,
    Controller,
    Customer,
    HeadGroup,
    ImportLine,
    Job,
    JobState,
    Licence,
    Property,
    StaffMember,
)
from properties.models.imports import ImportPart
from tests import cast
from tests.properties import rule_rows
from tests.properties.models.writes import insert, update

RANGES = [
    ("Property", "latitude", -90, 90),
    ("Property", "longitude", -180, 180),
    ("Property", "elevation_m", -430, 6000),
    ("Property", "static_pressure_kpa", 0, 2500),
    ("Property", "available_flow_l_min", 0, 20_000),
    ("Property", "water_price_per_m3", 0, 1000),
    ("Controller", "program_count", 1, 12),
    ("Controller", "starts_per_program", 1, 24),
    ("Controller", "minute_step", 1, 30),
    ("Controller", "longest_run_min", 1, 1440),
    ("Controller", "interval_days", 0, 31),
    ("Controller", "most_percent", 100, 300),
    ("Controller", "percent_step", 1, 100),
    ("Zone", "number", 1, 200),
    ("Zone", "area_m2", 0.1, 1_000_000),
    ("Zone", "plant_factor", 0.05, 1.5),
    ("Zone", "density_factor", 0.5, 1.3),
    ("Zone", "quality_factor", 0.1, 1.0),
    ("Zone", "slope_percent", 0, 100),
    ("Zone", "microclimate_factor", 0.5, 1.4),
    ("Zone", "allowed_depletion", 0.1, 0.8),
    ("Zone", "available_mm_m", 20, 300),
    ("Zone", "intake_mm_h", 0.5, 500),
    ("Zone", "accumulation_mm", 0.5, 50),
    ("Zone", "min_days_between", 1, 31),
    ("Zone", "max_days_between", 1, 31),
    ("HeadGroup", "count", 1, 2000),
    ("HeadGroup", "rated_flow_l_min", 0.001, 500),
    ("HeadGroup", "rated_pressure_kpa", 10, 2500),
    ("HeadGroup", "arc_deg", 1, 360),
    ("HeadGroup", "throw_m", 0.1, 60),
    ("HeadGroup", "emitter_spacing_m", 0.05, 10),
    ("HeadGroup", "lateral_spacing_m", 0.05, 10),
    ("HeadGroup", "wetted_part", 0.05, 1),
    ("Zone", "head_spacing_m", 0.2, 60),
    ("Zone", "strip_width_m", 0, 1000),
    ("Zone", "least_paving_gap_m", 0, 1000),
    ("HeadGroup", "wetted_area_m2", 0.1, 10_000),
    ("Property", "meter_error_percent", 0, 50),
    ("WateringRule", "minutes_cap", 0.1, 1440),
    ("WateringRule", "depth_cap_mm", 0.1, 200),
    ("WateringRule", "planting_any_days", 0, 730),
    ("WateringRule", "planting_alternate_days", 0, 730),
    ("WateringRule", "treatment_depth_mm", 0.1, 200),
    ("WateringRule", "treatment_within_h", 0.1, 168),
    ("WateringRule", "test_run_cap_min", 0.1, 1440),
    ("WaterBudget", "factor", 0.01, 1.5),
    ("WaterBudget", "special_factor", 0.01, 1.5),
    ("WaterBudget", "rain_part", 0, 1),
    ("WaterBudget", "gallons_per_inch_ft2", 0.6, 0.65),
    ("WaterBudget", "overhead_efficiency", 0.1, 1),
    ("WaterBudget", "drip_efficiency", 0.1, 1),
    ("Company", "digging_business_days", 0, 30),
    ("Company", "digging_longest_days", 1, 90),
]
WORDS = [
    ("Company", "units"),
    ("Customer", "relation"),
    ("Customer", "units"),
    ("Customer", "language"),
    ("Customer", "erased_for"),
    ("StaffMember", "role"),
    ("AccessToken", "kind"),
    ("SignInCount", "counted_by"),
    ("Property", "water_source"),
    ("Property", "property_class"),
    ("WateringRule", "addresses"),
    ("WateringRule", "clock"),
    ("WateringRule", "test_runs"),
    ("WaterBudget", "span"),
    ("Controller", "rain_sensor"),
    ("Zone", "head_kind"),
    ("Zone", "plant_type"),
    ("Zone", "soil_texture"),
    ("Zone", "exposure"),
    ("Zone", "water_use"),
    ("HeadGroup", "kind"),
    ("Job", "state"),
    ("Import", "kind"),
    ("Import", "state"),
    ("ImportLine", "outcome"),
]
# What else must be written so that only the one rule is broken.
BESIDE = {
    "microclimate_factor": {"exposure": ""},
    "min_days_between": {"max_days_between": 31},
    "max_days_between": {"min_days_between": 1},
    "wetted_area_m2": {"kind": "hose_end"},
    "digging_business_days": {"digging_longest_days": 90},
    "digging_longest_days": {"digging_business_days": 0},
}
NAMED = {
    "licence_number_once",
    "licence_days_in_order",
    "company_is_only",
    "customer_reference_once",
    "customer_erased_has_no_contact",
    "property_reference_once",
    "controller_reference_once",
    "zone_reference_once",
    "import_part_once",
    "import_line_once",
    "staff_email_once",
    "staff_superuser_is_office",
    "property_position_whole",
    "controller_name_once",
    "zone_days_in_order",
    "zone_exposure_or_microclimate",
    "zone_plants_told_once",
    "zone_dormancy_whole",
    "zone_overseeding_whole",
    "zone_number_once",
    "zone_number_once_without_controller",
    "company_notice_holds_longer_than_it_takes",
    "controller_runs_on_some_day",
    "head_group_place_is_of_a_hose",
    "head_group_position_once",
    "watering_district_name_once",
    "drought_stage_name_once",
    "stage_period_in_order",
    "watering_rule_in_order",
    "water_budget_in_order",
    "idempotency_key_once",
    "idempotency_row_once",
    "job_waits_once",
    "job_running_has_lease",
}


def test_every_constraint_of_this_app_is_tried_in_these_files():
    constraints = {
        constraint.name
        for model in apps.get_app_config("properties").get_models()
        for constraint in model._meta.constraints
    }
    tried = {f"properties_{model.lower()}_{field}" for model, field, *_ in [*RANGES, *WORDS]}

    assert constraints == tried | NAMED


@pytest.mark.parametrize(("model", "field", "low", "high"), RANGES)
def test_a_number_stays_in_its_range(rows, model, field, low, high):
    row, step = rows[model], max(1, abs(high)) * 1e-4
    step = 1 if isinstance(row._meta.get_field(field), models.IntegerField) else step
    beside = BESIDE.get(field, {})

    for inside in (low, high):
        update(row, **{field: inside}, **beside)
    for outside in (low - step, high + step):
        with pytest.raises(IntegrityError, match=f"properties_{model.lower()}_{field}|{field}"):
            update(row, **{field: outside}, **beside)


@pytest.mark.parametrize(("model", "field"), WORDS)
def test_a_word_is_one_of_its_choices(rows, model, field):
    with pytest.raises(IntegrityError, match=f"properties_{model.lower()}_{field}"):
        update(rows[model], **{field: "nonsense"})
    with pytest.raises(IntegrityError):
        update(rows[model], **{field: None})


def test_there_is_one_company(company):
    with pytest.raises(IntegrityError):
        insert(Company, name="Second", **cast.ROW)
    with pytest.raises(IntegrityError, match="company_is_only"):
        insert(Company, name="Second", is_only=False, **cast.ROW)


def test_an_email_is_unique_in_whatever_case(technician, office):
    with pytest.raises(IntegrityError):
        update(office, email=technician.email)
    with pytest.raises(IntegrityError):
        update(office, email=technician.email.upper())
    update(office, email="Other@Meadowlark.example")


def test_a_superuser_is_of_the_office(technician, office):
    update(office, is_superuser=True)
    with pytest.raises(IntegrityError, match="staff_superuser_is_office"):
        update(technician, is_superuser=True)
    with pytest.raises(IntegrityError, match="staff_superuser_is_office"):
        update(office, role="technician")


def test_a_reference_is_one_customers_and_may_be_missing_with_many(company):
    first = cast.make_customer(reference="C-7")
    second, third = cast.make_customer(), cast.make_customer()

    assert second.reference == third.reference == ""
    with pytest.raises(IntegrityError):
        update(second, reference=first.reference)


@pytest.mark.parametrize("kind", ["Property", "Controller", "Zone"])
def test_a_reference_is_one_rows_and_may_be_missing_with_many(rows, kind):
    garden = cast.make_property(rows["Property"].customer, reference="R-2")
    box = cast.make_controller(garden, reference="R-2")
    lawn = cast.make_zone(box, reference="R-2")
    other = {"Property": garden, "Controller": box, "Zone": lawn}[kind]

    with pytest.raises(IntegrityError):
        update(rows[kind], reference="R-2")
    update(other, reference="")
    assert rows[kind].reference == ""


def test_a_part_and_a_line_of_an_import_are_there_once(rows):
    sheet = rows["Import"]
    sheet.parts.create(number=0, content=b"x")

    with pytest.raises(IntegrityError):
        insert(ImportPart, sheet=sheet, number=0, content=b"y")
    with pytest.raises(IntegrityError):
        insert(ImportLine, sheet=sheet, row=rows["ImportLine"].row, outcome="made")


@pytest.mark.parametrize(
    "half", [{"latitude": None}, {"longitude": None}], ids=["no latitude", "no longitude"]
)
def test_a_position_is_whole_or_absent(garden, half):
    with pytest.raises(IntegrityError, match="property_position_whole"):
        update(garden, **half)
    update(garden, latitude=None, longitude=None)


def test_a_controller_name_is_unique_at_its_property_alone(controller, other_garden):
    cast.make_controller(other_garden, name=controller.name)
    with pytest.raises(IntegrityError):
        insert(Controller, property=controller.property, name=controller.name, **cast.ROW)


def _job(**changes: object) -> dict[str, object]:
    return {"kind": "test", "created_at": cast.NOW, "due_at": cast.NOW, **changes}


def test_of_one_kind_and_subject_one_job_waits(zone):
    insert(Job, **_job(subject_id=zone.pk))
    with pytest.raises(IntegrityError):
        insert(Job, **_job(subject_id=zone.pk))
    insert(Job, **_job(subject_id=zone.pk, kind="other"))
    insert(Job, **_job(subject_id=zone.pk, state=JobState.DONE))
    insert(Job, **_job(subject_id=zone.pk, state=JobState.DONE))


def test_a_running_job_has_a_lease(zone):
    running = _job(subject_id=zone.pk, state=JobState.RUNNING)
    with pytest.raises(IntegrityError, match="job_running_has_lease"):
        insert(Job, **running)
    insert(Job, **running, claimed_until=cast.NOW + dt.timedelta(minutes=1))


@pytest.mark.parametrize("name", ["StaffMember", "Customer", "Property", "Controller", "Zone"])
def test_what_others_refer_to_is_not_deleted(rows, visit, name):
    with pytest.raises(models.ProtectedError):
        rows[name].delete()


def test_ids_are_the_primary_keys_and_unique(garden):
    customer = garden.customer
    with pytest.raises(IntegrityError):
        insert(Customer, id=customer.pk, name="Other", **cast.ROW)
    with pytest.raises(IntegrityError):
        insert(Property, id=garden.pk, customer=customer, name="x", time_zone="UTC", **cast.ROW)


def test_heads_need_a_zone(company):
    with pytest.raises(IntegrityError):
        insert(HeadGroup, kind="spray", count=1, rated_flow_l_min=1.0, **cast.ROW)


def test_a_token_hash_is_one_tokens(office):
    values = {"staff": office, "label": "x", "secret_hash": "h", "created_at": cast.NOW}
    insert(StaffMember.tokens.rel.related_model, **values, expires_at=cast.NOW)
    with pytest.raises(IntegrityError):
        insert(StaffMember.tokens.rel.related_model, **values, expires_at=cast.NOW)


def make_licence(technician, **changes):
    values = {
        "staff": technician, "kind": "irrigation technician", "number": "17",
        "valid_from": cast.TODAY, "valid_until": cast.TODAY,
    }  # fmt: skip
    insert(Licence, **{**values, **changes})


def test_a_licence_number_is_held_once_for_each_kind(technician):
    make_licence(technician)
    make_licence(technician, kind="backflow tester")
    with pytest.raises(IntegrityError):
        make_licence(technician)


def test_a_licence_does_not_end_before_it_begins(technician):
    with pytest.raises(IntegrityError, match="licence_days_in_order"):
        make_licence(technician, valid_until=cast.TODAY - dt.timedelta(days=1))


def test_a_notice_holds_longer_than_it_takes(company):
    with pytest.raises(IntegrityError, match="company_notice_holds_longer_than_it_takes"):
        update(company, digging_business_days=15)
    update(company, digging_business_days=14)


def test_a_controller_can_be_set_to_some_day(rows):
    controller = rows["Controller"]
    for able in ({"can_weekdays": True}, {"interval_days": 1}, {"can_odd_even": True}):
        unable = {"can_weekdays": False, "interval_days": 0, "can_odd_even": False}
        update(controller, **{**unable, **able})
    with pytest.raises(IntegrityError, match="controller_runs_on_some_day"):
        update(controller, **unable)


def test_the_dates_of_rules_and_stages_are_in_order(rows):
    period = rule_rows.make_period(rule_rows.make_stage(rule_rows.make_district("Other")))
    for row, name in (
        (rows["WateringRule"], "watering_rule"), (rows["WaterBudget"], "water_budget"),
        (period, "stage_period"),
    ):  # fmt: skip
        with pytest.raises(IntegrityError, match=f"{name}_in_order"):
            update(row, first_date="2026-06-02", last_date="2026-06-01")
        update(row, first_date="2026-06-01", last_date="2026-06-01")


def test_a_district_is_there_once_and_a_stage_once_in_it(rows):
    district = rows["WateringRule"].district
    rule_rows.make_stage(district)
    rule_rows.make_stage(rule_rows.make_district("Other"))

    for twice in (lambda: rule_rows.make_stage(district), rule_rows.make_district):
        with pytest.raises(IntegrityError), transaction.atomic():
            twice()


def test_an_erased_client_has_no_contact(company):
    customer = cast.make_customer(email="", phone="", erased_at=cast.NOW)

    for contact in ({"email": "a@b.example"}, {"phone": "555"}, {"wants_notices": True}):
        with pytest.raises(IntegrityError), transaction.atomic():
            update(customer, **contact)
