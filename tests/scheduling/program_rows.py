"""Controllers with planned zones, and fitted sets as a job stores them."""

from __future__ import annotations

from typing import Any

from properties.models import Controller, Property, Zone
from properties.services.jobs import ask_for, run_job
from scheduling.models import ControllerProgram
from scheduling.services.job_kinds import FIT_PROGRAMS
from scheduling.services.plans import store_plans
from tests import cast


def make_planned(visit: Any, zone: Zone) -> Controller:
    """A lawn with a test, beds on drip by their emitters, and a zone that nobody can plan."""
    cast.make_catch_test(visit, zone)
    controller = zone.controller
    assert controller is not None
    beds = cast.make_zone(
        controller, number=2, name="Beds", head_kind="drip", plant_type="annual_flowers"
    )
    cast.make_heads(
        beds, count=300, rated_flow_l_min=2 / 60, emitter_spacing_m=0.5, lateral_spacing_m=0.5
    )
    cast.make_zone(controller, number=3, name="Unknown")
    store_plans(controller.property, actor=None, now=cast.NOW)
    return controller


def make_two(visit: Any, zone: Zone) -> tuple[Controller, Controller]:
    """Another controller beside, whose lawn takes as much as the first one's: 40 of 60 L/min."""
    planned = make_planned(visit, zone)
    other = cast.make_controller(planned.property, name="Shed")
    lawn = cast.make_zone(other, number=4, name="Back lawn")
    cast.make_catch_test(visit, lawn)
    for each in Zone.objects.filter(name__endswith="lawn"):
        cast.make_heads(each, count=10, rated_flow_l_min=4.0)
    Zone.objects.filter(name="Unknown").update(is_active=False)
    store_plans(planned.property, actor=None, now=cast.NOW)
    Property.objects.filter(pk=planned.property_id).update(available_flow_l_min=60.0)
    return planned, other


def run_fit(subject: Any, kind: str = FIT_PROGRAMS, now: Any = cast.NOW) -> Any:
    job = ask_for(kind, subject.pk, asked_by=None, now=now)
    return run_job(job.pk, now=now)


def make_fitted(controller: Controller, number: int = 1, **changes: Any) -> ControllerProgram:
    """A set of one program of one zone, on Mondays all year, none of it met in June."""
    zone = str(controller.zones.first().pk if controller.zones.exists() else controller.pk)
    typed = {
        "name": "A", "days": "Mon", "starts": ["05:00"],
        "pattern": {"weekdays": [0], "every_days": None, "first_day": 0, "parity": None},
        "minutes": [{"zone": zone, "run_min": 9}],
    }  # fmt: skip
    got = {
        "zone": zone, "program": "A", "need_mm_week": 30.0, "depth_mm_week": 25.4,
        "shortfall_mm_week": 4.6, "excess_mm_week": 0.0, "litres_week": 5080.0,
    }  # fmt: skip
    month = {
        "percent": 100, "programs": [typed], "zones": [got], "busiest_day_min": 9.0,
        "window_min": 600, "is_proven": True,
    }  # fmt: skip
    unmet = {
        "zone_id": zone, "code": "hours", "sentence": "Too few hours.", "cure": "Ask for more.",
        "month": 6, "need_mm_week": 30.0, "shortfall_mm_week": 4.6, "excess_mm_week": 0.0,
    }  # fmt: skip
    values = {
        "month": 6, "cost": 4.6, "gap": 0.0, "settings_digest": "x", "programs": [typed],
        "months": [{"month": each, **month} for each in range(1, 13)], "unmet": [unmet],
        "inputs": {
            "plans": {zone: 1}, "estimated": [], "left_out": {}, "together": [str(controller.pk)],
            "supply_l_min": None, "asked": "days", "remarks": [], "stopped_early": False,
        },
    }  # fmt: skip
    return ControllerProgram.objects.create(
        controller=controller, number=number, **{**values, **changes}, **cast.ROW
    )
