"""The daily look for causes to remind of: each local day of the company once, batch by batch.

1. After REMINDER_HOUR of the company's clock a tick asks for the look, while there is none of the
   date. The look notes its date first, so that the tick asks no more.
2. Properties, then colleagues, are looked at a bounded number at a time, each kind in a transaction
   of its own: reminders are made, closed and told together with the notices that tell them.
3. The office gets one mail of what is told it on that day.
4. A worker that dies leaves whole transactions; the next one finds what they told, and goes on.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction

from properties.models import Company
from properties.services.ticks import ask_when_idle
from scheduling.domain.reminder_rules import ReminderKind, Rule
from scheduling.domain.reminder_words import Cause
from scheduling.models import ReminderDay
from scheduling.selectors.reminder_batches import Colleagues, Gardens, colleagues, gardens
from scheduling.selectors.reminders import COLLEAGUE_CAUSES, GARDEN_CAUSES
from scheduling.services.job_kinds import REMINDERS
from scheduling.services.notices import queue_notices
from scheduling.services.reminder_rules import rules
from scheduling.services.reminder_tellings import digests, tell
from scheduling.services.reminder_upkeep import Scope, keep_reminders

Rules = dict[ReminderKind, Rule]


def ask_for_reminders(*, now: dt.datetime) -> None:
    """Ask for the look of a date, once its hour has come and while there is none."""
    company = Company.objects.first()
    if company is None:
        return
    here = now.astimezone(ZoneInfo(company.time_zone))
    if here.hour < settings.REMINDER_HOUR or ReminderDay.objects.filter(date=here.date()).exists():
        return
    ask_when_idle(REMINDERS, company.pk, now=now)


def look_for_reminders(company_id: UUID, now: dt.datetime) -> dict[str, int] | None:
    """Look at everything, before the transaction of the job; None when the date had its look.

    Nor is there one before its hour: a look that was left lying over midnight is not tomorrow's.
    """
    here = _here(company_id, now)
    if here.hour < settings.REMINDER_HOUR:
        return None
    today = here.date()
    day, _ = ReminderDay.objects.get_or_create(date=today)
    if day.ended_at is not None:
        return None
    by_kind, counts = rules(now=now), Counter[str]()
    for batch in gardens(now, after=day.reached):
        _look_at_gardens(batch, by_kind, counts, today=today, now=now)
        ReminderDay.objects.filter(date=today).update(reached=max(batch.rows))
    for staff in colleagues(today):
        _look_at_colleagues(staff, by_kind, counts, now=now)
    counts["digests"] += queue_notices(digests(today), now=now)
    return dict(counts)


def end_look(company_id: UUID, now: dt.datetime, found: dict[str, int] | None) -> dict[str, Any]:
    """End the date of the look together with its job, and any before it that never ended."""
    if found is None:
        return {}
    today = _here(company_id, now).date()
    ReminderDay.objects.filter(date__lte=today, ended_at=None).update(ended_at=now)
    return found


def _look_at_gardens(
    batch: Gardens, by_kind: Rules, counts: Counter[str], *, today: dt.date, now: dt.datetime
) -> None:
    for kind, find in GARDEN_CAUSES.items():
        rule = by_kind[kind]
        causes = find(batch, rule) if rule.is_on else ()
        counts.update(_keep_and_tell(Scope(kind, gardens=batch.rows), rule, causes, today, now))


def _look_at_colleagues(
    batch: Colleagues, by_kind: Rules, counts: Counter[str], *, now: dt.datetime
) -> None:
    for kind, find in COLLEAGUE_CAUSES.items():
        rule = by_kind[kind]
        causes = find(batch, rule) if rule.is_on else ()
        scope = Scope(kind, staff=batch.rows)
        counts.update(_keep_and_tell(scope, rule, causes, batch.today, now))


@transaction.atomic
def _keep_and_tell(
    scope: Scope, rule: Rule, causes: Iterable[Cause], today: dt.date, now: dt.datetime
) -> dict[str, int]:
    kept = keep_reminders(scope, causes, sorted(rule.audiences), today=today, now=now)
    told = tell(scope, rule, kept, today=today, now=now)
    return {"made": kept.made, "closed": kept.closed, "told": told}


def _here(company_id: UUID, now: dt.datetime) -> dt.datetime:
    return now.astimezone(ZoneInfo(Company.objects.get(pk=company_id).time_zone))
