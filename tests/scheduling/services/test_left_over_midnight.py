"""What was asked for before midnight and is taken up after it does not count for the next date."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from scheduling.models import NightRun, ReminderDay
from scheduling.services import night_runs
from scheduling.services.reminder_looks import end_look, look_for_reminders
from tests import cast

pytestmark = pytest.mark.django_db
TOMORROW = cast.TODAY + dt.timedelta(days=1)


def here(date: dt.date, hour: int) -> dt.datetime:
    return dt.datetime.combine(date, dt.time(hour), ZoneInfo("America/Chicago"))


def test_a_start_of_the_night_before_its_hour_starts_none(company, settings):
    assert night_runs.start_night(company.pk, here(TOMORROW, settings.NIGHT_HOUR - 1)) == {}
    assert not NightRun.objects.exists()

    night_runs.start_night(company.pk, here(TOMORROW, settings.NIGHT_HOUR))
    assert NightRun.objects.get().date == TOMORROW


def test_a_look_before_its_hour_looks_at_nothing(company, settings):
    early = here(TOMORROW, settings.REMINDER_HOUR - 1)

    assert look_for_reminders(company.pk, early) is None
    assert not ReminderDay.objects.exists()


def test_a_look_that_never_ended_is_ended_by_the_next(company, settings):
    ReminderDay.objects.create(date=cast.TODAY)
    noon = here(TOMORROW, settings.REMINDER_HOUR)

    end_look(company.pk, noon, look_for_reminders(company.pk, noon))

    ended = ReminderDay.objects.filter(ended_at=noon).order_by("date")
    assert list(ended.values_list("date", flat=True)) == [cast.TODAY, TOMORROW]
