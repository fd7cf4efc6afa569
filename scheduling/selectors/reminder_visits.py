"""Causes to remind of visits and of who makes them: appointments, visits of tomorrow, licences."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import Final
from uuid import UUID

from audits.models import Visit, VisitState
from audits.models.visits import VISIT_KINDS
from properties.models import Licence, Role
from scheduling.domain.reminder_rules import Rule
from scheduling.domain.reminder_words import Cause, VisitLine
from scheduling.selectors.reminder_batches import Colleagues, Gardens, of_garden

_LABELS: Final = dict(VISIT_KINDS)


def appointment_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield planned visits ahead; on its day nobody needs to be told any more."""
    last = batch.last_today + dt.timedelta(days=rule.days_ahead)
    visits = Visit.objects.filter(
        property__in=batch.rows,
        state=VisitState.PLANNED,
        planned_date__range=(batch.first_today, last),
    )
    for visit in visits.order_by("planned_date", "id"):
        garden, date = batch.rows[visit.property_id], visit.planned_date
        if date > batch.today[garden.pk] and rule.is_near(date, batch.today[garden.pk]):
            cause = of_garden(garden, rule, f"{visit.pk}:{date}", date, visit=visit.pk)
            kind, at_home = _LABELS[visit.kind].lower(), garden.somebody_must_be_home
            yield replace(cause, what=kind, must_be_home=at_home)


def licence_causes(batch: Colleagues, rule: Rule) -> Iterator[Cause]:
    """Yield licences of technicians at work that run out, or ran out, with none after them."""
    licences = list(
        Licence.objects.filter(
            staff__in=batch.rows,
            staff__is_active=True,
            staff__role=Role.TECHNICIAN,
            retired_at__isnull=True,
        ).order_by("valid_until", "id")
    )
    newest = {(each.staff_id, each.kind): each for each in licences}
    for licence in newest.values():
        if rule.is_near(licence.valid_until, batch.today):
            yield Cause(
                kind=rule.kind,
                key=f"{rule.kind}:{licence.pk}:{licence.valid_until}",
                due_date=licence.valid_until,
                whose=batch.rows[licence.staff_id].name,
                what=str(licence),
                subject={"staff": licence.staff_id, "licence": licence.pk},
            )


def visits_tomorrow_causes(batch: Colleagues, rule: Rule) -> Iterator[Cause]:
    """Yield what a technician has planned on each of the next days, without how to get in."""
    first, last = batch.today + dt.timedelta(days=1), batch.today + dt.timedelta(rule.days_ahead)
    visits = Visit.objects.filter(
        technician__in=batch.rows, technician__is_active=True, state=VisitState.PLANNED,
        planned_date__range=(first, last),
    ).select_related("property")  # fmt: skip
    by_day: dict[tuple[UUID, dt.date], list[Visit]] = defaultdict(list)
    for visit in visits.order_by("planned_date", "property__name", "id"):
        by_day[visit.technician_id, visit.planned_date].append(visit)
    for (staff, date), rows in by_day.items():
        yield Cause(
            kind=rule.kind,
            key=f"{rule.kind}:{staff}:{date}",
            due_date=date,
            whose=batch.rows[staff].name,
            what="1 visit" if len(rows) == 1 else f"{len(rows)} visits",
            subject={"staff": staff},
            visits=tuple(_visit_line(row) for row in rows),
        )


def _visit_line(visit: Visit) -> VisitLine:
    place = visit.property
    address = ", ".join(line for line in place.address_lines() if line)
    return VisitLine(_LABELS[visit.kind], place.name, address)
