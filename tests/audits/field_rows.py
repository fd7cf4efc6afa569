"""Rows that are recorded in the field, whole and valid: water, plants, photos."""

from __future__ import annotations

import datetime as dt
from typing import Any

from audits.models import (
    BucketTest,
    EmitterCheck,
    EmitterReading,
    FlowCheck,
    MeterReading,
    Photo,
    PlantSymptom,
    Treatment,
    Visit,
)
from properties.models import Zone
from tests import cast

JPEG = b"\xff\xd8\xff a picture \xff\xd9"


def make_flow_check(visit: Visit, zone: Zone, **changes: Any) -> FlowCheck:
    """Half of ten heads' worth of water: 400 L in 5 minutes at the rated pressure."""
    values = {
        "taken_at": cast.NOW, "meter_before_l": 1000.0, "meter_after_l": 1400.0, "run_min": 5.0,
        "running_kpa": 200.0, "flow_l_min": 80.0, **cast.ROW,
    }  # fmt: skip
    return FlowCheck.objects.create(**{"visit": visit, "zone": zone, **values, **changes})


def make_bucket_test(visit: Visit, zone: Zone, **changes: Any) -> BucketTest:
    values = {"taken_at": cast.NOW, "volume_l": 10.0, "seconds": 30.0, "flow_l_min": 20.0}
    return BucketTest.objects.create(
        **{"visit": visit, "zone": zone, **values, **cast.ROW, **changes}
    )


def make_emitter_check(visit: Visit, zone: Zone, **changes: Any) -> EmitterCheck:
    """Twenty emitters of 2 L/h, five of them at half: caught for 5 minutes."""
    flows = [1 / 60] * 5 + [2 / 60] * 15
    values = {
        "taken_at": cast.NOW, "catch_s": 300.0, "emitters": 20, "dry_emitters": 0,
        "mean_flow_l_min": 1.75 / 60, "emission_uniformity": 1 / 1.75, **cast.ROW,
    }  # fmt: skip
    check = EmitterCheck.objects.create(**{"visit": visit, "zone": zone, **values, **changes})
    EmitterReading.objects.bulk_create(
        EmitterReading(check_of=check, number=number, volume_ml=flow * 5000, flow_l_min=flow)
        for number, flow in enumerate(flows, start=1)
    )
    return check


def make_meter_reading(visit: Visit, **changes: Any) -> MeterReading:
    values = {"property": visit.property, "read_at": cast.NOW, "reading_l": 5000.0, **cast.ROW}
    return MeterReading.objects.create(**{"visit": visit, **values, **changes})


def make_symptom(visit: Visit, zone: Zone, **changes: Any) -> PlantSymptom:
    values = {"kind": "drought_stress", "spot": "dry", "seen_at": cast.NOW, **cast.ROW}
    return PlantSymptom.objects.create(**{"visit": visit, "zone": zone, **values, **changes})


def make_treatment(visit: Visit, zone: Zone | None, **changes: Any) -> Treatment:
    values = {
        "property": visit.property, "kind": "water_in", "label": "Grub control, 2 lb",
        "applied_at": cast.NOW, "until": cast.NOW + dt.timedelta(hours=24), "at_most_mm": 6.0,
        **cast.ROW,
    }  # fmt: skip
    return Treatment.objects.create(**{"visit": visit, "zone": zone, **values, **changes})


def make_photo(visit: Visit, **changes: Any) -> Photo:
    values = {
        "taken_at": cast.NOW, "source_sha256": "0" * 64, "width_px": 40, "height_px": 30,
        "jpeg": JPEG, **cast.ROW,
    }  # fmt: skip
    return Photo.objects.create(**{"visit": visit, **values, **changes})
