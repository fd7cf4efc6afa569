"""What is looked at on a visit."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from audits.domain.visit_checklists import (
    LOCAL_CODES_BIND,
    ChecklistItem,
    VisitKind,
    checklist,
)
from audits.models import Visit
from properties.domain.units import System
from properties.domain.watering_rules import Purpose
from properties.domain.watering_rules_words import joined
from properties.selectors.watering_rules import TimesAsked, property_times


@dataclass(frozen=True)
class VisitChecklist:
    """The items of a visit's kind, cautions first, and what comes before all of them.

    `test_runs` says of the day of the visit whether the local rules let zones be run to look at
    them, or an exemption must be asked for first.
    """

    kind: str
    items: tuple[ChecklistItem, ...]
    binding: str
    test_runs: tuple[str, ...]


def checklist_of(visit: Visit, units: System) -> VisitChecklist:
    """Return what is looked at on a visit, and what the local rules say of its day."""
    items = checklist(VisitKind(visit.kind))
    return VisitChecklist(visit.kind, items, LOCAL_CODES_BIND, _test_runs(visit, units))


def _test_runs(visit: Visit, units: System) -> tuple[str, ...]:
    """Return each answer of the rules once, with the zones that it is for."""
    day = visit.planned_date
    asked = TimesAsked(first_date=day, last_date=day, purpose=Purpose.TEST_RUN)
    zones: dict[str, list[str]] = defaultdict(list)
    for times in property_times(visit.property, asked):
        (answer,) = times.span.days
        told = " ".join((answer.verdict(), answer.sentence(units), *answer.remarks))
        zones[told].append(f"zone {times.zone}")
    return tuple(f"{_capital(joined(names))}: {told}" for told, names in zones.items())


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
