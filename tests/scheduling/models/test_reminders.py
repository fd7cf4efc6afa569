"""What the database keeps of reminders whoever writes them."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from scheduling.models import Reminder, ReminderRule
from tests import cast
from tests.scheduling.reminder_rows import make_reminder

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "changes",
    [
        {"state": "snoozed"},
        {"snoozed_until": cast.TODAY},
        {"told": 1},
        {"told_on": cast.TODAY},
        {"property": None},
        {"kind": "lunch"},
        {"audience": "neighbour"},
    ],
)
def test_a_reminder_that_contradicts_itself_is_not_stored(garden, changes):
    with pytest.raises(IntegrityError), transaction.atomic():
        make_reminder(garden, **changes)

    assert not Reminder.objects.exists()


def test_a_reminder_is_of_a_property_or_of_a_colleague(garden, technician):
    with pytest.raises(IntegrityError), transaction.atomic():
        make_reminder(garden, staff=technician)


def test_a_key_and_the_rule_of_a_kind_exist_once(garden):
    make_reminder(garden)
    with pytest.raises(IntegrityError), transaction.atomic():
        make_reminder(garden)

    ReminderRule.objects.create(kind="frost", **cast.ROW)
    with pytest.raises(IntegrityError), transaction.atomic():
        ReminderRule.objects.create(kind="frost", **cast.ROW)
