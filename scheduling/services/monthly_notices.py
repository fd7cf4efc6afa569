"""Queueing the monthly notices: one for each property and month, whoever asks and however often.

There is no day of the month on which they must be made: each minute it is asked who lacks the one
that is due, so that an outage, a change of the clock or a second beat neither loses nor doubles
any.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any, Final
from uuid import UUID

from django.db.models import QuerySet

from properties.domain.errors import RefusedError
from properties.models import Company, Job, Property
from properties.services.ticks import ask_when_idle
from scheduling.domain.monthly_facts import MonthlyFacts
from scheduling.domain.monthly_notice import monthly_content
from scheduling.domain.notice_words import notice_words
from scheduling.models import Notice, NoticeKind
from scheduling.selectors.monthly_notices import (
    due_properties,
    monthly_facts,
    period_due_for,
    reader_units,
)
from scheduling.services.job_kinds import MONTHLY_NOTICES
from scheduling.services.notices import NoticeDraft, queue_notices

PAUSE: Final = dt.timedelta(hours=1)


def ask_for_monthly_notices(*, now: dt.datetime) -> None:
    """Ask for the notices of a month where somebody lacks his.

    One who cannot be told is asked about again after a while, not each minute.
    """
    company = Company.objects.first()
    in_vain = Job.objects.filter(kind=MONTHLY_NOTICES, ended_at__gt=now - PAUSE, result__queued=0)
    if (
        company
        and not in_vain.exists()
        and any(properties.exists() for _, properties in due_properties(now))
    ):
        ask_when_idle(MONTHLY_NOTICES, company.pk, now=now)


def make_monthly_notices(company_id: UUID, now: dt.datetime) -> int:
    """Queue what is due, batch by batch, before the transaction of the job; return how many.

    A worker that dies leaves whole batches, and the next one makes the rest.
    """
    company = Company.objects.get(pk=company_id)
    return sum(
        queue_notices(_drafts(properties, period, company.units, now), now=now)
        for period, properties in due_properties(now)
    )


def count_monthly_notices(company_id: UUID, now: dt.datetime, queued: int) -> dict[str, Any]:
    """End the job of that name."""
    return {"queued": queued}


def monthly_draft(property_: Property, facts: MonthlyFacts, company_units: str) -> NoticeDraft:
    """Return the notice of a property for a month."""
    words = notice_words(property_.customer.language)
    return NoticeDraft(
        key=f"monthly:{property_.customer_id}:{property_.pk}:{facts.first:%Y-%m}",
        kind=NoticeKind.MONTHLY,
        content=monthly_content(facts, reader_units(property_, company_units), words),
        customer_id=property_.customer_id,
        property_id=property_.pk,
        period=facts.first,
        language=words.language,
    )


def _drafts(
    properties: QuerySet[Property], period: dt.date, company_units: str, now: dt.datetime
) -> Iterator[NoticeDraft]:
    for property_, facts in monthly_facts(properties, period, now):
        yield monthly_draft(property_, facts, company_units)


def monthly_notice_of(property_: Property, period: dt.date | None, *, now: dt.datetime) -> Notice:
    """Return the notice of a property for a month, queued now if it was not before.

    Raises
    ------
    RefusedError
        Code "no-plan" where no zone of the property is planned.
    """
    if period is None:
        period = period_due_for(property_, now)
    found = next(monthly_facts(Property.objects.filter(pk=property_.pk), period, now), None)
    if found is None:
        raise RefusedError(
            "No zone of this property is planned yet.",
            code="no-plan", field="property", remedy="Have its plans made first.",
        )  # fmt: skip
    garden, facts = found
    draft = monthly_draft(garden, facts, Company.objects.get().units)
    queue_notices([draft], now=now)
    return Notice.objects.select_related("customer", "staff", "property").get(key=draft.key)
