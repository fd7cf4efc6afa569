"""Keeping the rules of reminders: their defaults, and what the office makes of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from properties.models import StaffMember
from properties.services.rows import change_what_differs
from scheduling.domain.reminder_rules import DEFAULTS, Audience, ReminderKind, Rule
from scheduling.models import ReminderRule


def rules(*, now: dt.datetime) -> dict[ReminderKind, Rule]:
    """Return each kind's rule; those that are missing are made by their defaults."""
    stored = list(ReminderRule.objects.all())
    if len(stored) < len(DEFAULTS):
        make_missing_rules(now=now)
        stored = list(ReminderRule.objects.all())
    return {ReminderKind(row.kind): row.as_rule() for row in stored}


@transaction.atomic
def make_missing_rules(*, now: dt.datetime) -> None:
    """Add the rules of kinds that have none; two at once make one."""
    known = set(ReminderRule.objects.values_list("kind", flat=True))
    fresh = [_row(rule, now) for rule in DEFAULTS if rule.kind not in known]
    ReminderRule.objects.bulk_create(fresh, ignore_conflicts=True)


@transaction.atomic
def change_rule(
    rule: ReminderRule,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: dt.datetime,
) -> ReminderRule:
    """Change a rule; one that cannot be is refused. It holds from the next look on."""
    held = ReminderRule.objects.select_for_update().get(pk=rule.pk)
    tried = ReminderRule.objects.get(pk=rule.pk)
    for name, value in changes.items():
        setattr(tried, name, value)
    tried.full_clean()
    tried.as_rule()
    return change_what_differs(held, changes, read_revision=read_revision, actor=actor, now=now)


def _row(rule: Rule, now: dt.datetime) -> ReminderRule:
    return ReminderRule(
        kind=rule.kind,
        is_on=rule.is_on,
        to_office=Audience.OFFICE in rule.audiences,
        to_technician=Audience.TECHNICIAN in rule.audiences,
        to_client=Audience.CLIENT in rule.audiences,
        after_days=rule.after_days,
        days_ahead=rule.days_ahead,
        repeat_days=rule.repeat_days,
        most_times=rule.most_times,
        month=rule.month,
        day=rule.day,
        created_at=now,
        changed_at=now,
    )
