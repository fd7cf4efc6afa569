"""Telling what is due: a mail to each client and technician, one mail a day to the office."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Final
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import F

from properties.models import Company, Role, StaffMember
from properties.selectors.company import company_units, customer_units, the_company
from scheduling.domain.reminder_digest import MOST_LINES, digest_content
from scheduling.domain.reminder_rules import Audience, ReminderKind, Rule
from scheduling.domain.reminder_words import Cause, reminder_mail
from scheduling.models import NoticeKind, Reminder
from scheduling.models.reminders import ReminderState
from scheduling.selectors.reminders import URGENT, line_facts, notices_since, with_names
from scheduling.services.notices import NoticeDraft, queue_notices
from scheduling.services.reminder_upkeep import Kept, Scope

_NOTICES: Final[dict[ReminderKind, NoticeKind]] = {
    ReminderKind.FROST: NoticeKind.FROST,
    ReminderKind.APPOINTMENT: NoticeKind.VISIT,
    ReminderKind.VISITS_TOMORROW: NoticeKind.VISIT,
}


def tell(scope: Scope, rule: Rule, kept: Kept, *, today: dt.date, now: dt.datetime) -> int:
    """Queue the notices of what is due today, and count it as told, in the caller's transaction.

    A client who got as many this month as he may is told when the next one begins, or when the
    reminder is still open then.
    """
    due = [
        (row, cause)
        for row, cause in kept.open
        if row.pk in kept.woken or rule.tells(row.told, row.told_on, today)
    ]
    if not due:
        return 0
    company = the_company()
    may_be_told = _within_the_month(scope, due, company, today)
    drafts = (
        _draft(scope, row, cause, company, today)
        for row, cause in may_be_told
        if row.audience != Audience.OFFICE
    )
    queue_notices(drafts, now=now)
    told = Reminder.objects.filter(pk__in=[row.pk for row, _ in may_be_told])
    return told.update(told=F("told") + 1, told_on=today, changed_at=now)


def digests(today: dt.date) -> Iterator[NoticeDraft]:
    """Yield the mail of a day to each office user, if there is anything to tell."""
    of_office = Reminder.objects.filter(audience=Audience.OFFICE, state=ReminderState.OPEN)
    told = of_office.filter(told_on=today)
    count = told.count()
    if not count:
        return
    content = digest_content(
        [line_facts(row) for row in with_names(told).order_by("due_date", "id")[:MOST_LINES]],
        count=count,
        still_open=of_office.count(),
        system=company_units(),
    )
    for member in StaffMember.objects.filter(role=Role.OFFICE, is_active=True).order_by("pk"):
        yield NoticeDraft(
            key=f"reminders:{member.pk}:{today}", kind=NoticeKind.REMINDER, content=content,
            staff_id=member.pk, period=today,
        )  # fmt: skip


def _within_the_month(
    scope: Scope, due: list[tuple[Reminder, Cause]], company: Company, today: dt.date
) -> list[tuple[Reminder, Cause]]:
    """Leave out what would be too much for its client this month; what is urgent is never."""
    if _NOTICES.get(scope.kind) in URGENT or not scope.gardens:
        return due
    first = dt.datetime.combine(today.replace(day=1), dt.time(), ZoneInfo(company.time_zone))
    clients = {garden.customer_id for garden in scope.gardens.values()}
    counts = notices_since(clients, first)
    kept = []
    for row, cause in due:
        if row.audience == Audience.CLIENT and row.property_id is not None:
            client = scope.gardens[row.property_id].customer_id
            counts[client] = counts.get(client, 0) + 1
            if counts[client] > settings.CLIENT_NOTICES_A_MONTH:
                continue
        kept.append((row, cause))
    return kept


def _draft(
    scope: Scope, row: Reminder, cause: Cause, company: Company, today: dt.date
) -> NoticeDraft:
    garden = scope.gardens.get(cause.subject.get("property", row.pk))
    system = customer_units(garden.customer, company) if garden else company_units()
    language = garden.customer.language if garden else "en"
    issue = row.told + 1
    return NoticeDraft(
        key=f"reminder:{row.pk}:{issue}",
        kind=_NOTICES.get(scope.kind, NoticeKind.REMINDER),
        content=reminder_mail(
            cause, Audience(row.audience), system, today=today, language=language
        ),
        customer_id=garden.customer_id if garden else None,
        staff_id=row.staff_id,
        property_id=row.property_id,
        period=cause.due_date,
        language=language,
        issue=issue,
    )
