"""A property that is retired gets no more notices, and what was due of it is closed."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Property
from properties.services.retirement import bring_back, retire
from scheduling.models import Reminder
from scheduling.selectors.monthly_notices import due_properties
from scheduling.selectors.weather_news import untold_of_stage
from scheduling.services.plans import store_plans
from tests import cast
from tests.properties import rule_rows
from tests.scheduling.services.reminder_looks import live, look, make_agreement_garden, noon

pytestmark = pytest.mark.django_db
DUE = dt.datetime(2026, 6, 28, 15, 0, tzinfo=dt.UTC)


def test_its_reminders_are_closed_and_opened_again_when_it_is_back(company, office):
    garden = make_agreement_garden()
    due = cast.TODAY + dt.timedelta(days=14)
    look(noon(due, hour=17))
    assert live("agreement")

    retired = retire(garden, actor=office, now=cast.NOW)
    look(noon(due + dt.timedelta(days=1), hour=17))
    assert not Reminder.objects.filter(property=garden, state="open").exists()

    bring_back(retired, actor=office, now=cast.NOW)
    look(noon(due + dt.timedelta(days=2), hour=17))
    assert live("agreement")


def test_it_is_due_no_monthly_notice(company, station, office):
    garden = cast.make_property(cast.make_customer(wants_notices=True))
    cast.make_heads(cast.make_zone(cast.make_controller(garden)))
    store_plans(garden, actor=None, now=cast.NOW)
    assert list(due_of(DUE)) == [garden]

    retire(garden, actor=office, now=cast.NOW)

    assert list(due_of(DUE)) == []


def due_of(now: dt.datetime) -> list[Property]:
    return [row for _, rows in due_properties(now) for row in rows]


def test_it_hears_of_no_drought_stage(company, office):
    stage = rule_rows.make_stage(rule_rows.make_district())
    period = rule_rows.make_period(stage, first_date=cast.TODAY)
    garden = cast.make_property(
        cast.make_customer(wants_notices=True), watering_district=stage.district
    )
    assert list(untold_of_stage(period)) == [garden]

    retire(garden, actor=office, now=cast.NOW)

    assert list(untold_of_stage(period)) == []
