"""What is looked at on a visit."""

from __future__ import annotations

from dataclasses import dataclass

from audits.domain.visit_checklists import (
    LOCAL_CODES_BIND,
    ChecklistItem,
    VisitKind,
    checklist,
)
from audits.models import Visit


@dataclass(frozen=True)
class VisitChecklist:
    """The items of a visit's kind, cautions first, and what comes before all of them."""

    kind: str
    items: tuple[ChecklistItem, ...]
    binding: str


def checklist_of(visit: Visit) -> VisitChecklist:
    return VisitChecklist(visit.kind, checklist(VisitKind(visit.kind)), LOCAL_CODES_BIND)
