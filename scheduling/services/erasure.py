"""What notices and reminders hold of a client who is erased."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from django.db.models import F, Q

from properties.models import Customer, Property
from scheduling.domain.notice_content import NoticeContent
from scheduling.models import LIVE_REMINDER_STATES, Notice, Reminder, ReminderState

NOTHING: Final = NoticeContent("Erased", "The client of this notice was erased.")


def erase_messages(customer: Customer, properties: Sequence[Property], *, now: datetime) -> None:
    """Empty the client's notices, whose digests stay, and stop the reminders of his properties.

    A notice that still waits is held back when its turn comes: there is no consent any more.
    """
    changed = {"changed_at": now, "revision": F("revision") + 1}
    notices = Notice.objects.filter(Q(customer=customer) | Q(property__in=properties)).order_by()
    notices.update(content=NOTHING.as_json(), **changed)
    reminders = Reminder.objects.filter(property__in=properties).order_by()
    reminders.update(what="", **changed)
    reminders.filter(state__in=LIVE_REMINDER_STATES).update(
        state=ReminderState.STOPPED, snoozed_until=None
    )
