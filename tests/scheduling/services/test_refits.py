"""Fits follow the plans: asked for again where there was one."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Job, Zone
from scheduling.services.job_kinds import FIT_PROGRAMS_BY_PERCENT, FIT_PROPERTY
from scheduling.services.plans import store_plans
from tests import cast
from tests.scheduling.program_rows import make_planned, make_two, run_fit

pytestmark = pytest.mark.django_db
LATER = cast.NOW + dt.timedelta(days=1)


@pytest.fixture
def planned(visit, zone, station):
    return make_planned(visit, zone)


@pytest.fixture
def two(visit, zone, station):
    return make_two(visit, zone)


@pytest.fixture
def new_plan(zone):
    """Store another revision of the lawn's plan, since it is another lawn now."""

    def store():
        Zone.objects.filter(pk=zone.pk).update(plant_type="warm_turf")
        assert store_plans(zone.property, actor=None, now=LATER)["new_plans"]

    return store


def test_a_new_plan_asks_again_for_a_fit_that_was_there(planned, new_plan):
    run_fit(planned, FIT_PROGRAMS_BY_PERCENT)

    new_plan()

    waiting = Job.objects.get(state="waiting")
    assert (waiting.kind, waiting.subject_id) == (FIT_PROGRAMS_BY_PERCENT, planned.pk)


def test_a_new_plan_asks_for_no_fit_where_none_was(planned, new_plan):
    new_plan()

    assert not Job.objects.exists()


def test_controllers_fitted_together_are_asked_for_together_and_once(two, new_plan):
    run_fit(two[0].property, FIT_PROPERTY)

    new_plan()

    waiting = Job.objects.get(state="waiting")
    # Asked for by days, though turns on the supply made it percentages.
    assert (waiting.kind, waiting.subject_id) == (FIT_PROPERTY, two[0].property_id)


def test_plans_that_stay_ask_for_nothing(planned):
    run_fit(planned)

    store_plans(planned.property, actor=None, now=LATER)

    assert not Job.objects.filter(state="waiting").exists()
