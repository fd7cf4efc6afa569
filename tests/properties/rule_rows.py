"""Rows of watering rules that tests of several rooms make."""

from __future__ import annotations

from typing import Any

from properties.models import (
    DroughtStage,
    StagePeriod,
    WaterBudget,
    WateringDistrict,
    WateringRule,
)
from tests import cast


def make_district(name: str = "Tallgrass Water", **changes: Any) -> WateringDistrict:
    values = {"name": name, "source": "Constructed for tests", **cast.ROW, **changes}
    return WateringDistrict.objects.create(**values)


def make_stage(district: WateringDistrict, name: str = "Stage 1", **changes: Any) -> DroughtStage:
    return DroughtStage.objects.create(district=district, name=name, **cast.ROW, **changes)


def make_period(stage: DroughtStage, **changes: Any) -> StagePeriod:
    return StagePeriod.objects.create(
        **{"stage": stage, "first_date": cast.TODAY, **cast.ROW, **changes}
    )


def make_rule(district: WateringDistrict, **changes: Any) -> WateringRule:
    values = {"district": district, "name": "Usual days", "weekdays": [2, 5], **cast.ROW}
    return WateringRule.objects.create(**{**values, **changes})


def make_budget(district: WateringDistrict, **changes: Any) -> WaterBudget:
    values = {
        "district": district, "name": "The ordinance", "source": "Constructed for tests",
        "factor": 0.55, "gallons_per_inch_ft2": 0.62, "overhead_efficiency": 0.75,
        "drip_efficiency": 0.81, **cast.ROW,
    }  # fmt: skip
    return WaterBudget.objects.create(**{**values, **changes})


def one_of_each(number: int = 0) -> dict[str, Any]:
    """Return a row of each kind by its collection, all of one district, the stage switched on."""
    district = make_district(f"Tallgrass Water {number}")
    stage = make_stage(district)
    return {
        "watering-districts": district,
        "drought-stages": stage,
        "stage-periods": make_period(stage),
        "water-budgets": make_budget(district),
        "watering-rules": make_rule(district),
    }
