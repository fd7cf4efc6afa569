"""Old jobs go, unless somebody has to look at them."""

from __future__ import annotations

import datetime as dt
from uuid import uuid4

import pytest

from properties.models import Job, JobState
from properties.services import job_purges, jobs
from properties.services.job_purges import PURGE_JOBS, ask_for_purge
from tests.properties.services.conftest import KIND
from tests.properties.services.job_work import AFTER_LEASE, NOW, SUBJECT, WorkerDied

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company")]
DAY = dt.timedelta(days=1)
KEPT = 90 * DAY


def ended(state=JobState.DONE, *, ago=KEPT + DAY, kind=KIND, subject=None, **changes) -> Job:
    at = NOW - ago
    return Job.objects.create(
        kind=kind, subject_id=subject or uuid4(), state=state, created_at=at, due_at=at,
        ended_at=at, **changes,
    )  # fmt: skip


def purge(now=NOW) -> int:
    """Let the tick come, do what it asked for, and return how many jobs went."""
    before = Job.objects.exclude(kind=PURGE_JOBS).count()
    ask_for_purge(now=now)
    for job_id in jobs.due_job_ids(now=now):
        jobs.run_job(job_id, now=now)
    return before - Job.objects.exclude(kind=PURGE_JOBS).count()


def test_what_was_done_longer_ago_than_it_is_kept_goes():
    old, new = ended(), ended(ago=KEPT - DAY)

    assert purge() == 1

    assert list(Job.objects.filter(pk__in=[old.pk, new.pk])) == [new]


def test_how_long_they_are_kept_is_a_setting(settings):
    settings.JOB_KEEP_DAYS = 7
    ended(ago=8 * DAY)
    ended(ago=6 * DAY)

    assert purge() == 1


def test_without_old_ones_nothing_is_asked_for():
    ended(ago=DAY)

    assert purge() == 0
    assert not Job.objects.filter(kind=PURGE_JOBS).exists()


def test_without_a_company_nothing_is_asked_for(company):
    ended()
    company.delete()

    assert purge() == 0


@pytest.mark.parametrize("state", [JobState.WAITING, JobState.RUNNING])
def test_what_has_not_ended_stays_however_old(state, monkeypatch):
    monkeypatch.setitem(jobs._HANDLERS, KIND, lambda subject_id, now: {})
    old = NOW - 2 * KEPT
    Job.objects.create(
        kind=KIND, subject_id=SUBJECT, state=state, created_at=old, due_at=NOW + DAY,
        claimed_until=NOW + DAY,
    )  # fmt: skip
    ended()

    assert purge() == 1
    assert Job.objects.filter(kind=KIND).get().state == state


def test_what_was_parked_and_never_made_good_stays_for_somebody_to_look_at():
    ended(JobState.PARKED, ago=4 * KEPT, subject=SUBJECT)
    ended(JobState.DONE, ago=5 * KEPT, subject=SUBJECT)  # before it was parked
    ended(JobState.DONE, ago=DAY)  # of another subject
    ended(JobState.DONE, ago=DAY, subject=SUBJECT, kind="other")

    assert purge() == 1

    assert Job.objects.filter(state=JobState.PARKED).count() == 1


def test_what_was_parked_and_done_by_a_later_job_goes():
    ended(JobState.PARKED, subject=SUBJECT)
    ended(JobState.DONE, ago=DAY, subject=SUBJECT)

    assert purge() == 1

    assert not Job.objects.filter(state=JobState.PARKED).exists()


def test_what_was_parked_of_late_stays_though_it_was_done_later():
    ended(JobState.PARKED, ago=2 * DAY, subject=SUBJECT)
    ended(JobState.DONE, ago=DAY, subject=SUBJECT)

    assert purge() == 0


def test_many_go_a_bounded_number_at_a_time_the_oldest_first(monkeypatch):
    monkeypatch.setattr(job_purges, "PURGED_AT_ONCE", 2)
    rows = [ended(ago=KEPT + days * DAY) for days in (1, 3, 2)]

    assert purge() == 2
    assert Job.objects.exclude(kind=PURGE_JOBS).get() == rows[0]
    assert [purge(NOW + dt.timedelta(minutes=n)) for n in (1, 2)] == [1, 0]


def test_a_purge_that_dies_leaves_all_and_the_next_does_it(monkeypatch):
    ended()
    purge_jobs = jobs._HANDLERS[PURGE_JOBS]

    def die_after(subject_id, now):
        purge_jobs(subject_id, now)
        raise WorkerDied

    with monkeypatch.context() as broken:
        broken.setitem(jobs._HANDLERS, PURGE_JOBS, die_after)
        with pytest.raises(WorkerDied):
            purge()
    assert Job.objects.filter(kind=KIND).count() == 1

    assert purge(AFTER_LEASE) == 1


def test_doing_it_twice_is_as_doing_it_once(company):
    ended()

    assert [job_purges.purge_jobs(company.pk, NOW) for _ in range(2)] == [
        {"deleted": 1}, {"deleted": 0},
    ]  # fmt: skip
