"""Causes to audit a property anew: by age, by uniformity, by what was mended, by the season."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import replace
from uuid import UUID

from django.db.models import Max, Q

from audits.domain.faults import FaultKind
from audits.domain.published_uniformity import Quality, quality
from audits.domain.ticket_proofs import ProofKind, fitting_proofs
from audits.models import CatchTest, RepairTicket, Visit, VisitKind, VisitState
from audits.selectors.awaited_proofs import narrow_to_awaiting, with_proof_seen
from audits.selectors.zones import ruling_test_rows
from properties.domain.site import HeadKind
from properties.models import Controller, Zone
from scheduling.domain.reminder_rules import Rule
from scheduling.domain.reminder_words import Cause
from scheduling.selectors.reminder_batches import Gardens, of_garden
from scheduling.selectors.reminder_causes import oldest_tickets


def audit_age_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield gardens whose last audit is old, without a next one planned."""
    planned = _visits_ahead(batch, [VisitKind.AUDIT])
    for pk, last in _last_audits(batch).items():
        due = last + dt.timedelta(days=rule.after_days)
        if pk not in planned and rule.is_near(due, batch.today[pk]):
            yield replace(of_garden(batch.rows[pk], rule, f"{last}", due), since=last)


def audit_season_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield gardens that go into a season without an audit that is new enough."""
    dates = {pk: rule.season_date(today) for pk, today in batch.today.items()}
    near = {pk: date for pk, date in dates.items() if date is not None}
    if not near:
        return
    planned, last = _visits_ahead(batch, [VisitKind.AUDIT]), _last_audits(batch)
    watered = set(Controller.objects.filter(property__in=near).values_list("property", flat=True))
    for pk, date in near.items():
        audited = last.get(pk)
        is_new = audited is not None and audited + dt.timedelta(days=rule.after_days) > date
        if pk in watered and pk not in planned and not is_new:
            cause = of_garden(batch.rows[pk], rule, f"{date}", date)
            yield replace(cause, since=audited, what=_audited(audited))


def _audited(last: dt.date | None) -> str:
    return "no audit yet" if last is None else f"last audit in {last.year}"


def audit_uniformity_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield gardens with a zone that waters poorly for its heads, each by its worst zone."""
    poor = _poor_tests(batch)
    if not poor:
        return
    planned = _visits_ahead(batch, [VisitKind.AUDIT, VisitKind.RETEST, VisitKind.REPAIR])
    for pk, test in poor.items():
        since = batch.date_of(pk, test.taken_at)
        due = since + dt.timedelta(days=rule.after_days)
        if pk not in planned and rule.is_near(due, batch.today[pk]):
            what = f"zone {test.zone.number} {test.zone.name}, uniformity {test.du_lq:.2f}"
            cause = of_garden(batch.rows[pk], rule, f"{test.pk}", due)
            yield replace(cause, since=since, what=what)


def _poor_tests(batch: Gardens) -> dict[UUID, CatchTest]:
    """Return the worst ruling test of each garden that has a poor one."""
    zones = Zone.objects.filter(property__in=batch.rows, is_active=True)
    tests = ruling_test_rows(zones.values_list("pk", flat=True)).filter(du_lq__isnull=False)
    worst: dict[UUID, CatchTest] = {}
    for test in tests.select_related("zone").order_by("-du_lq", "pk"):
        if quality(test.du_lq or 0.0, HeadKind(test.zone.head_kind)) is Quality.POOR:
            worst[test.zone.property_id] = test
    return worst


def audit_retest_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield gardens where what was mended waits to be measured again, without a visit for it."""
    planned = _visits_ahead(batch, [VisitKind.AUDIT, VisitKind.RETEST])
    tickets = narrow_to_awaiting(
        with_proof_seen(RepairTicket.objects.filter(property__in=batch.rows)), awaits_proof=True
    )
    measured = [
        ticket
        for ticket in tickets
        if ticket.property_id not in planned
        if ProofKind.PAIRED_RETEST in fitting_proofs(FaultKind(ticket.fault))
    ]
    yield from oldest_tickets(batch, rule, measured, "mended_at")


def _last_audits(batch: Gardens) -> dict[UUID, dt.date]:
    audits = Visit.objects.filter(
        property__in=batch.rows, kind=VisitKind.AUDIT, state=VisitState.FINISHED
    )
    return dict(
        audits.order_by().values("property").annotate(last=Max("planned_date"))
        .values_list("property", "last")
    )  # fmt: skip


def _visits_ahead(batch: Gardens, kinds: Iterable[VisitKind]) -> set[UUID]:
    """Return the gardens that such a visit is planned for, or under way at."""
    is_ahead = Q(state=VisitState.PLANNED, planned_date__gte=batch.first_today)
    visits = Visit.objects.filter(
        is_ahead | Q(state=VisitState.UNDER_WAY), property__in=batch.rows, kind__in=list(kinds)
    )
    return {
        pk
        for pk, date, state in visits.values_list("property", "planned_date", "state")
        if state == VisitState.UNDER_WAY or date >= batch.today[pk]
    }
