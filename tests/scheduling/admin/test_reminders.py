"""The office's pages of reminders."""

from __future__ import annotations

import pytest

from properties.models import Property
from scheduling.models import Reminder, ReminderRule
from scheduling.services.reminder_rules import make_missing_rules
from tests import cast
from tests.properties.admin.forms import address_of, errors_of, filled_form, list_address
from tests.scheduling.reminder_rows import make_reminder

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("action", "state"),
    [("snooze_for_a_week", "snoozed"), ("snooze_for_a_month", "snoozed"),
     ("stop_telling", "stopped")],
)  # fmt: skip
def test_the_chosen_ones_rest_or_stop_and_open_again(office_pages, garden, action, state):
    row = make_reminder(garden)
    chosen = {"_selected_action": str(row.pk)}

    office_pages.post(list_address(Reminder), {"action": action, **chosen})
    row.refresh_from_db()
    assert row.state == state

    office_pages.post(list_address(Reminder), {"action": "open_again", **chosen})
    row.refresh_from_db()
    assert row.state == "open"


def test_a_rule_is_changed_and_a_wrong_one_is_refused_at_its_field(office_pages):
    make_missing_rules(now=cast.NOW)
    rule = ReminderRule.objects.get(kind="licence")
    form = filled_form(office_pages, address_of(rule))

    page = office_pages.post(address_of(rule), {**form, "to_client": "on"})
    assert list(errors_of(page)) == ["to_client"]

    office_pages.post(address_of(rule), {**form, "days_ahead": "45"})
    rule.refresh_from_db()
    assert (rule.days_ahead, rule.revision) == (45, 2)


def test_a_backflow_test_to_come_is_refused_at_its_field(office_pages, garden):
    form = filled_form(office_pages, address_of(garden))

    page = office_pages.post(address_of(garden), {**form, "backflow_tested_on": "2062-01-01"})

    assert list(errors_of(page)) == ["backflow_tested_on"]
    assert Property.objects.get(pk=garden.pk).backflow_tested_on is None
