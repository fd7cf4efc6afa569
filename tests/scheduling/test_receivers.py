"""What this app does when it hears of things below: one job, and one plan for each change."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.domain.catch_cups import CupShape
from audits.models import VisitState
from audits.services.catch_tests import Catch, record_catch_test
from audits.services.visits import finish_visit
from audits.services.void_tests import void_test
from properties.models import Job
from properties.services.jobs import due_job_ids, run_job
from scheduling.models import WateringPlan
from tests import cast

LATER = cast.NOW + dt.timedelta(hours=1)
KIND = "plans-after-visit"


def record(visit, zone, *depths_mm, taken_at=cast.NOW, **values):
    catch = Catch(run_min=10.0, cup_shape=CupShape.STRAIGHT_WALLED, depths_mm=list(depths_mm))
    values = {"visit": visit, "zone": zone, "taken_at": taken_at, **values}
    return record_catch_test(values, catch, actor=visit.technician, now=LATER)


def waiting():
    return list(Job.objects.filter(state="waiting").values_list("kind", "subject_id", "asked_by"))


def plans_done(now=LATER):
    """Do the plans that are due, as the polling worker would, twice."""
    for _ in range(2):
        for job_id in due_job_ids(now=now):
            if Job.objects.filter(pk=job_id, kind=KIND).exists():
                run_job(job_id, now=now)


def rates():
    plans = WateringPlan.objects.order_by("number")
    return [round(plan.inputs["zone"]["rate_mm_h"]) for plan in plans]


@pytest.fixture
def finished(visit, zone, station, technician):
    """A visit whose first test is planned by: 6 mm in 10 min are 36 mm/h."""
    record(visit, zone, 6.0, 6.0, 6.0, 6.0, taken_at=cast.NOW - dt.timedelta(hours=1))
    visit = finish_visit(visit, actor=technician, now=cast.NOW)
    plans_done()
    assert (rates(), [job for job in waiting() if job[0] == KIND]) == ([36], [])
    return visit


def plans_wanted():
    return [job for job in waiting() if job[0] == KIND]


def test_two_late_tests_of_one_sync_are_one_waiting_job(finished, controller, zone):
    second = cast.make_zone(controller, number=2, name="Back lawn")
    record(finished, zone, 3.0, 3.0, 3.0, 3.0)
    record(finished, second, 4.0, 4.0, 4.0, 4.0)

    assert plans_wanted() == [(KIND, finished.pk, finished.technician_id)]


def test_a_late_test_renews_the_plan_once(finished, zone):
    record(finished, zone, 3.0, 3.0, 3.0, 3.0)

    plans_done()

    assert rates() == [36, 18]
    assert plans_wanted() == []


def test_a_superseding_and_a_voided_test_renew_it_too(finished, zone, office):
    wrong = record(finished, zone, 3.0, 3.0, 3.0, 3.0)
    plans_done()
    right = record(finished, zone, 5.0, 5.0, 5.0, 5.0, supersedes=wrong)
    plans_done()
    void_test(right, "Wrong zone ran.", actor=office, now=LATER)
    plans_done()

    assert rates() == [36, 18, 30, 18]


def test_a_test_that_rules_nothing_asks_for_nothing(finished, zone):
    record(finished, zone, 3.0, 3.0, 3.0, 3.0, before_mending=True)

    assert plans_wanted() == []


def test_during_a_visit_nothing_is_asked_for(visit, zone, station, office):
    test = record(visit, zone, 3.0, 3.0, 3.0, 3.0)
    void_test(test, "Wrong zone ran.", actor=office, now=LATER)

    visit.refresh_from_db()
    assert visit.state == VisitState.UNDER_WAY
    assert not Job.objects.exists()
