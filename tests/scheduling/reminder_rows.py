"""Rows of reminders that tests of several rooms make."""

from __future__ import annotations

from typing import Any

from properties.models import Property
from scheduling.models import Reminder, ReminderRule
from scheduling.services.reminder_rules import make_missing_rules
from tests import cast


def make_reminder(garden: Property, **changes: Any) -> Reminder:
    values = {
        "kind": "agreement", "audience": "office", "key": f"agreement:{garden.pk}:1:office",
        "property": garden, "due_date": cast.TODAY, "since": cast.TODAY, "what": "worn nozzle",
        **cast.ROW,
    }  # fmt: skip
    return Reminder.objects.create(**{**values, **changes})


def one_of_each(garden: Property, number: int = 0) -> dict[str, Any]:
    """Return a reminder and a rule by their collections; the rules are made with the first."""
    make_missing_rules(now=cast.NOW)
    return {
        "reminders": make_reminder(garden, key=f"agreement:{number}"),
        "reminder-rules": ReminderRule.objects.order_by("kind")[0],
    }
