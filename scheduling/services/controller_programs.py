"""Storing what to set on a controller: a new set only when what a person would type in changes.

The fit is computed before the transaction, since it may take seconds.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from dataclasses import asdict
from typing import Any, Final
from uuid import UUID

from django.db import transaction

from properties.models import Controller
from properties.services.rows import add_row
from scheduling.domain.programs import FittedProgram, ProgramFit, Stop, fit_programs
from scheduling.models import ControllerProgram
from scheduling.selectors.controller_programs import controller_task
from scheduling.selectors.weather_outlook import local_date

STOP: Final = Stop(seconds=5, rounds=4)
DECIMALS: Final = 3


def fit_controller(controller_id: UUID, now: dt.datetime) -> dict[str, Any]:
    """Fit the programs of a controller for the month that it is there, writing nothing."""
    controller = Controller.objects.select_related("property").get(pk=controller_id)
    on = local_date(controller.property, now)
    task, left_out = controller_task(controller, on)
    fit = fit_programs(task, STOP)
    programs = [_typed(program) for program in fit.programs]
    return {
        "month": on.month,
        "programs": programs,
        "unmet": [asdict(each) for each in fit.unmet],
        "cost": round(fit.cost, DECIMALS),
        "gap": round(fit.gap, DECIMALS),
        "inputs": {"zones": _zones(fit), "left_out": left_out, "stopped_early": fit.stopped_early},
        "settings_digest": hashlib.sha256(json.dumps([on.month, programs]).encode()).hexdigest(),
    }


@transaction.atomic
def store_fit(controller_id: UUID, now: dt.datetime, fit: dict[str, Any]) -> dict[str, Any]:
    """Store a fit as the controller's next set, unless it says what the newest one says."""
    controller = Controller.objects.select_for_update().get(pk=controller_id)
    newest = controller.fitted_programs.first()
    if newest is not None and newest.settings_digest == fit["settings_digest"]:
        return {"id": str(newest.pk), "is_new": False}
    number = newest.number + 1 if newest else 1
    row = {"controller": controller, "number": number, **fit}
    stored = add_row(ControllerProgram, row, actor=None, now=now, act="fitted")
    return {"id": str(stored.pk), "is_new": True}


def _typed(program: FittedProgram) -> dict[str, Any]:
    """Return a program as a person types it in."""
    return {
        "name": program.name,
        "days": program.pattern.words,
        "starts": [f"{start:%H:%M}" for start in program.start_times],
        "minutes": [
            {"zone": str(zone_id), "run_min": minutes} for zone_id, minutes in program.zone_minutes
        ],
    }


def _zones(fit: ProgramFit) -> list[dict[str, Any]]:
    rows = [asdict(zone) for zone in fit.zones]
    return [
        {name: round(v, DECIMALS) if isinstance(v, float) else v for name, v in row.items()}
        for row in rows
    ]
