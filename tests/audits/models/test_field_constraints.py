"""What the database itself refuses of records from the field, whoever writes them."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from tests import cast
from tests.audits import field_rows

EARLIER = cast.NOW - dt.timedelta(hours=1)
BROKEN = {
    "flow_check": [
        {"run_min": None}, {"meter_before_l": None}, {"meter_after_l": None}, {"run_min": 0.0},
        {"static_kpa": 150.0}, {"static_kpa": 0.0}, {"running_kpa": 2501.0},
        {"flow_l_min": -1.0},
        {"meter_before_l": None, "meter_after_l": None, "run_min": None, "running_kpa": None},
    ],
    "emitter_check": [
        {"catch_s": 0.0}, {"catch_s": 7201.0}, {"running_kpa": 2501.0}, {"emitters": 0},
        {"emitters": 501}, {"mean_flow_l_min": 0.0}, {"mean_flow_l_min": 10.1},
        {"emission_uniformity": 1.1}, {"emission_uniformity": -0.1}, {"dry_emitters": 20},
    ],
    "bucket_test": [{"volume_l": 0.0}, {"volume_l": 1001.0}, {"seconds": 0.5}, {"seconds": 3601.0}],
    "meter_reading": [{"reading_l": -1.0}, {"reading_l": 2e12}, {"meter_changed": True}],
    "symptom": [{"kind": "plague"}, {"spot": "north"}],
    "treatment": [
        {"kind": "soak"}, {"until": EARLIER}, {"until": cast.NOW}, {"at_most_mm": None},
        {"at_most_mm": 51.0}, {"kind": "hold_water"},
    ],
    "photo": [{"width_px": 0}, {"height_px": 20_001}],
}  # fmt: skip
SOUND = {
    "flow_check": [
        {"static_kpa": 150.0, "has_pump": True},
        {"meter_before_l": None, "meter_after_l": None, "run_min": None},
        {"running_kpa": None},
    ],
    "emitter_check": [{"catch_s": None}, {"dry_emitters": 19}, {"running_kpa": 150.0}],
    "meter_reading": [{"meter_changed": True, "note": "New meter."}],
    "symptom": [{"spot": ""}],
    "treatment": [{"kind": "hold_water", "at_most_mm": None}],
}
ROWS = [(name, changes) for name, several in BROKEN.items() for changes in several]
WHOLE = [(name, changes) for name, several in SOUND.items() for changes in several]


def make(name, visit, zone, changes):
    of_zone = () if name in ("meter_reading", "photo") else (zone,)
    return getattr(field_rows, f"make_{name}")(visit, *of_zone, **changes)


@pytest.mark.parametrize(("name", "changes"), ROWS, ids=str)
def test_the_database_refuses(visit, zone, name, changes):
    with pytest.raises(IntegrityError), transaction.atomic():
        make(name, visit, zone, changes)


@pytest.mark.parametrize(("name", "changes"), WHOLE, ids=str)
def test_the_database_takes(visit, zone, name, changes):
    assert make(name, visit, zone, changes).pk


def test_a_meter_is_read_once_at_a_moment(visit):
    field_rows.make_meter_reading(visit)

    with pytest.raises(IntegrityError), transaction.atomic():
        field_rows.make_meter_reading(visit)


@pytest.mark.parametrize(
    "changes", [{"number": 1}, {"volume_ml": -1.0}, {"flow_l_min": -0.1}, {"flow_l_min": 10.1}]
)
def test_the_database_refuses_an_emitter(visit, zone, changes):
    check = field_rows.make_emitter_check(visit, zone)

    with pytest.raises(IntegrityError), transaction.atomic():
        check.readings.filter(number=20).update(**changes)
