"""Storing what to set on controllers: a new set only when what a person would type in changes.

1. What can be refused at once is, before a job is made of it.
2. The year is fitted before the transaction, since it may take seconds; all fits share one limit.
3. The controllers of a fit are stored in one transaction, all or none.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, Final
from uuid import UUID

from django.db import transaction

from properties.domain.errors import RefusedError
from properties.models import Controller, Job, Property, StaffMember
from properties.services.jobs import ask_for
from properties.services.rows import add_row, change_row
from scheduling.domain.controller_year import Spell, SpellFit, YearStyle, fit_spell
from scheduling.domain.programs import Stop
from scheduling.domain.typed_programs import typed_months, typed_peak, typed_unmet
from scheduling.models import ControllerProgram
from scheduling.selectors.controller_programs import YearQuestion, check_ready, year_question
from scheduling.selectors.weather_outlook import local_date
from scheduling.services.refits import kind_of_fit

TOTAL_S: Final = 60.0
STOP: Final = Stop(seconds=5, rounds=4)
DECIMALS: Final = 3
TURNS: Final = (
    "The controllers take turns on one supply, so the days stay and the percentage changes."
)
Fits = dict[UUID, dict[str, Any]]
Part = tuple[Spell, SpellFit]


def ask_for_fit(
    subject: Controller | Property, style: YearStyle, *, actor: StaffMember | None, now: dt.datetime
) -> Job:
    """Ask for the fit of a controller, or of all controllers of a property together.

    Raises
    ------
    RefusedError
        Where a controller has nothing to fit, or the flow of a shared supply is not known.
    """
    check_ready(_controllers(subject))
    return ask_for(
        kind_of_fit(style, together=isinstance(subject, Property)),
        subject.pk,
        asked_by=actor,
        now=now,
    )


def fit_controller(controller_id: UUID, now: dt.datetime, *, style: YearStyle) -> Fits:
    """Fit the year of a controller, writing nothing."""
    controller = Controller.objects.select_related("property").get(pk=controller_id)
    return _fit([controller], now, style)


def fit_property(property_id: UUID, now: dt.datetime, *, style: YearStyle) -> Fits:
    """Fit the year of all controllers of a property together, writing nothing."""
    return _fit(_controllers(Property.objects.get(pk=property_id)), now, style)


FITS: Final[dict[str, Callable[[UUID, dt.datetime], Fits]]] = {
    kind_of_fit(style, together=together): partial(fit, style=style)
    for together, fit in ((False, fit_controller), (True, fit_property))
    for style in YearStyle
}
"""What is to be gathered for each kind of job; all are stored alike."""


@transaction.atomic
def store_fits(subject_id: UUID, now: dt.datetime, fits: Fits) -> dict[str, Any]:
    """Store the sets of all controllers of a fit, each unless it says what the newest one says."""
    stored = [_store(controller_id, fits[controller_id], now) for controller_id in sorted(fits)]
    return {"fits": stored}


def _controllers(subject: Controller | Property) -> list[Controller]:
    """The controllers to be fitted together; those of a property that have a zone in use."""
    if isinstance(subject, Controller):
        return [subject]
    used = subject.controllers.filter(zones__is_active=True).distinct()
    controllers = list(used.select_related("property").order_by("name", "id"))
    if not controllers:
        raise RefusedError(
            f"{subject} has no controller with a zone in use.",
            code="no-controllers", field="controllers",
            remedy="Enter a controller, and wire zones to it.",
        )  # fmt: skip
    return controllers


def _fit(controllers: Sequence[Controller], now: dt.datetime, style: YearStyle) -> Fits:
    question = year_question(controllers, local_date(controllers[0].property, now))
    stop = replace(STOP, seconds=min(STOP.seconds, _share_s(question)))
    spells = question.spells
    fits = [fit_spell(spell, style, question.supply_l_min, stop) for spell in spells]
    return {
        each.pk: _values(question, number, style, [fit[number] for fit in fits])
        for number, each in enumerate(question.controllers)
    }


def _share_s(question: YearQuestion) -> float:
    return TOTAL_S / (len(question.spells) * len(question.controllers))


def _values(
    question: YearQuestion, number: int, asked: YearStyle, fits: Sequence[SpellFit]
) -> dict[str, Any]:
    """Return the row of one controller out of the fits of its spells."""
    controller = question.controllers[number]
    months = [
        month
        for spell, fit in zip(question.spells, fits, strict=True)
        for month in typed_months(spell.tasks[number], fit)
    ]
    months.sort(key=lambda month: month["month"])
    peak = max(fits, key=_thirst)
    return {
        "style": peak.style.value,
        "month": peak.peak_month,
        "programs": typed_peak(peak),
        "months": months,
        "unmet": [unmet for fit in fits for unmet in typed_unmet(fit)],
        "cost": round(peak.cost, DECIMALS),
        "gap": round(max(fit.gap for fit in fits), DECIMALS),
        "inputs": {
            **question.made_from[controller.pk],
            "together": [str(each.pk) for each in question.controllers],
            "supply_l_min": question.supply_l_min,
            "asked": asked.value,
            "remarks": [TURNS] if any(fit.style != asked for fit in fits) else [],
            "stopped_early": any(fit.stopped_early for fit in fits),
        },
        "settings_digest": _digest(peak.style, months),
    }


def _thirst(fit: SpellFit) -> float:
    peak = next(month for month in fit.months if month.month == fit.peak_month)
    return sum(zone.need_mm_week * zone.weight for zone in peak.zones)


def _digest(style: YearStyle, months: Sequence[dict[str, Any]]) -> str:
    """Return a digest of what a person types in: percentage, days, starts and minutes."""
    typed = [[month["month"], month["percent"], month["programs"]] for month in months]
    return hashlib.sha256(json.dumps([style.value, typed]).encode()).hexdigest()


def _store(controller_id: UUID, values: dict[str, Any], now: dt.datetime) -> dict[str, Any]:
    """Store a set, or note on the newest one of the same settings from what it follows now."""
    controller = Controller.objects.select_for_update().get(pk=controller_id)
    newest = controller.fitted_programs.order_by("-number").first()
    is_new = newest is None or newest.settings_digest != values["settings_digest"]
    if newest is None or is_new:
        row = {"controller": controller, "number": newest.number + 1 if newest else 1, **values}
        newest = add_row(ControllerProgram, row, actor=None, now=now, act="fitted")
    elif newest.inputs != values["inputs"]:
        newest = change_row(newest, values, actor=None, now=now, act="confirmed")
    return {"controller": str(controller_id), "id": str(newest.pk), "is_new": is_new}
