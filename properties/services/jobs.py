"""Background work: asked for by a row, claimed by lease, done by the handler of its kind.

1. `ask_for` writes a waiting row in the caller's transaction; asking again while it waits is free.
2. `run_job` claims it by one conditional update, so of many workers one wins.
3. What takes long and writes nothing, such as asking another server, is gathered first.
4. The handler changes rows in one transaction together with the mark `done`. A worker that dies
   in between leaves a lease that runs out, and the next one starts from the beginning.
5. A handler that refuses parks the job with the reason; one that breaks is tried again first; one
   that cannot work yet puts it off, which is no attempt; one whose subject is gone has done it.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import F, QuerySet

from properties.domain.errors import DomainError, RefusedError
from properties.models import Job, JobState, StaffMember
from properties.models.jobs import JobQuerySet
from properties.services.events import record_event
from properties.services.job_subjects import SubjectGoneError

logger = logging.getLogger(__name__)

Handler = Callable[..., dict[str, Any]]
Gather = Callable[[UUID, datetime], Any]
Hint = Callable[[UUID, str], None]
Clock = Callable[[], datetime]
_HANDLERS: Final[dict[str, Handler]] = {}
_GATHERS: Final[dict[str, Gather]] = {}
_QUEUES: Final[dict[str, str]] = {}
_HINTS: Final[list[Hint]] = []


class NotYetError(Exception):
    """The work cannot be done before a moment: the job waits until then, and loses no attempt."""

    def __init__(self, due_at: datetime, why: str) -> None:
        super().__init__(why)
        self.due_at = due_at


class LeaseLostError(Exception):
    """Another worker took the job over while this one was at it."""


def register_handler(
    kind: str, handler: Handler, *, gather: Gather | None = None, queue: str = "default"
) -> None:
    """Let a kind of job be done by `handler(subject_id, now)`, which returns a JSON result.

    With `gather(subject_id, now)`, which runs outside of the transaction, the handler gets what
    was gathered as its third argument. Hints of the kind go to `queue`, one of JOB_QUEUES.
    """
    if queue not in settings.JOB_QUEUES:
        raise LookupError(f"there is no queue '{queue}'")
    _HANDLERS[kind] = handler
    _QUEUES[kind] = queue
    if gather is not None:
        _GATHERS[kind] = gather


def register_hint(hint: Hint) -> None:
    """Call `hint(job_id, queue)` after each commit that made a job due; for the task layer."""
    _HINTS.append(hint)


def ask_for(kind: str, subject_id: UUID, *, asked_by: StaffMember | None, now: datetime) -> Job:
    """Return the waiting job of that kind and subject, made now if there is none.

    A job that waits already is touched, so that no worker starts it before the caller commits.
    """
    if kind not in _HANDLERS:
        raise LookupError(f"no handler is registered for jobs of kind '{kind}'")
    job = _touch_waiting(kind, subject_id, now) or _create(kind, subject_id, asked_by, now)
    transaction.on_commit(lambda: _hint(job), robust=True)
    return job


def ask_for_each(
    kind: str, subject_ids: Iterable[UUID], *, now: datetime, due_at: datetime | None = None
) -> list[Job]:
    """Do what `ask_for` does for many subjects, in a few queries however many they are.

    With `due_at` they are due then; the sweep tells the workers.
    """
    if kind not in _HANDLERS:
        raise LookupError(f"no handler is registered for jobs of kind '{kind}'")
    subjects = list(subject_ids)
    waiting = Job.objects.filter(kind=kind, subject_id__in=subjects, state=JobState.WAITING)
    due_at = due_at or now
    waiting.update(due_at=due_at)
    known = set(waiting.values_list("subject_id", flat=True))
    fresh = [subject for subject in subjects if subject not in known]
    Job.objects.bulk_create(
        [Job(kind=kind, subject_id=each, created_at=now, due_at=due_at) for each in fresh],
        ignore_conflicts=True,
    )
    jobs = list(waiting)
    if due_at <= now:
        transaction.on_commit(lambda: _hint_each(jobs), robust=True)
    return jobs


def claim(job_id: UUID, *, now: datetime) -> Job | None:
    """Take the job for the length of a lease, or return None when another worker has it."""
    lease = timedelta(seconds=settings.JOB_LEASE_S)
    taken = (
        Job.objects.filter(pk=job_id)
        .due(now)
        .order_by()
        .update(state=JobState.RUNNING, attempts=F("attempts") + 1, claimed_until=now + lease)
    )
    return Job.objects.get(pk=job_id) if taken else None


def run_job(job_id: UUID, *, now: datetime, clock: Clock | None = None) -> Job | None:
    """Claim and do one job; return it as it stands afterwards, or None if it was not ours.

    The handler works at `now`, the moment of the claim. The caller's `clock` is read once more when
    the work is over, so that `ended_at` is the end; without one no time passes.
    """
    job = claim(job_id, now=now)
    if job is None:
        return None
    try:
        return _attempt(job, now, clock)
    except LeaseLostError:
        return None


def due_job_ids(*, now: datetime, limit: int = 100) -> list[UUID]:
    """Return the ids of jobs that some worker should take now, the oldest first."""
    return list(Job.objects.due(now).values_list("pk", flat=True)[:limit])


def due_hints(*, now: datetime, limit: int = 100) -> list[tuple[UUID, str]]:
    """Return them with the queue that the hint belongs in, and so many of each queue.

    So ten thousand messages that wait for the mail server keep no night from its turn.
    """
    return [
        (job_id, queue)
        for queue in settings.JOB_QUEUES
        for job_id in _due_of(queue, now).values_list("pk", flat=True)[:limit]
    ]


def queue_of(kind: str) -> str:
    """Return the queue of a kind of job."""
    return _QUEUES.get(kind, "default")


@transaction.atomic
def requeue(job: Job, *, actor: StaffMember | None = None, now: datetime) -> Job:
    """Give a parked job a new life, and remember who wanted it (None: nobody signed in).

    The event keeps the code of the problem alone: its sentence may name people.
    """
    parked = Job.objects.filter(pk=job.pk, state=JobState.PARKED)
    changes = {"attempts": 0, "due_at": now, "problem": {}, "ended_at": None}
    if not _back_to_waiting(parked, changes):
        raise RefusedError(
            "Only a parked job can be run again, and only one of its kind can wait.",
            code="job-not-parked", remedy="Wait for it to end, or ask for the work anew.",
        )  # fmt: skip
    problem = job.problem.get("code", "")
    before = {"state": JobState.PARKED.value, "attempts": job.attempts, "problem": problem}
    after = {"state": JobState.WAITING.value, "attempts": 0, "problem": ""}
    record_event(job, act="run again", actor=actor, now=now, before=before, after=after)
    transaction.on_commit(lambda: _hint(job), robust=True)
    return Job.objects.get(pk=job.pk)


def _attempt(job: Job, now: datetime, clock: Clock | None = None) -> Job:
    clock = clock or (lambda: now)
    if job.attempts > settings.JOB_ATTEMPTS:
        problem = {"code": "gave-up", "detail": "Its worker died again and again."}
        return _park(job, problem, clock())
    try:
        return _do(job, now, clock, _gathered(job, now))
    except LeaseLostError:
        raise
    except NotYetError as lack:
        return _put_off(job, lack, clock())
    except SubjectGoneError as gone:
        return _end(job, clock(), state=JobState.DONE, result={"gone": str(gone)}, problem={})
    except DomainError as refusal:
        problem = {"code": refusal.code, "detail": refusal.detail, "remedy": refusal.remedy}
        return _park(job, problem, clock())
    except Exception as error:
        logger.exception("job %s (%s) broke", job.pk, job.kind)
        return _retry_or_park(job, error, clock())


def _gathered(job: Job, now: datetime) -> tuple[Any, ...]:
    gather = _GATHERS.get(job.kind)
    return () if gather is None else (gather(job.subject_id, now),)


@transaction.atomic
def _do(job: Job, now: datetime, clock: Clock, gathered: tuple[Any, ...]) -> Job:
    result = _HANDLERS[job.kind](job.subject_id, now, *gathered)
    return _end(job, clock(), state=JobState.DONE, result=result, problem={})


def _park(job: Job, problem: dict[str, Any], ended_at: datetime) -> Job:
    return _end(job, ended_at, state=JobState.PARKED, problem=problem)


def _put_off(job: Job, lack: NotYetError, now: datetime) -> Job:
    changes = {
        "due_at": lack.due_at, "claimed_until": None, "attempts": job.attempts - 1,
        "problem": {"code": "not-yet", "detail": str(lack)},
    }  # fmt: skip
    return _wait_again(job, changes, now)


def _retry_or_park(job: Job, error: Exception, broke_at: datetime) -> Job:
    problem = {"code": "broke", "detail": f"{type(error).__name__} in attempt {job.attempts}"}
    if job.attempts >= settings.JOB_ATTEMPTS:
        return _park(job, problem, broke_at)
    due_at = broke_at + timedelta(seconds=settings.JOB_RETRY_S * job.attempts)
    changes = {"due_at": due_at, "claimed_until": None, "problem": problem}
    return _wait_again(job, changes, broke_at)


def _wait_again(job: Job, changes: dict[str, Any], now: datetime) -> Job:
    if not _back_to_waiting(_still_ours(job), changes):
        return _park(job, {"code": "superseded", "detail": "A newer job does the same."}, now)
    return Job.objects.get(pk=job.pk)


def _due_of(queue: str, now: datetime) -> JobQuerySet:
    """Return what is due of a queue; the kinds that nobody registered are of the default one."""
    due = Job.objects.due(now)
    if queue == "default":
        return due.exclude(kind__in=[kind for kind, other in _QUEUES.items() if other != queue])
    return due.filter(kind__in=[kind for kind, other in _QUEUES.items() if other == queue])


def _touch_waiting(kind: str, subject_id: UUID, now: datetime) -> Job | None:
    waiting = Job.objects.filter(kind=kind, subject_id=subject_id, state=JobState.WAITING)
    return waiting.first() if waiting.update(due_at=now) else None


def _create(kind: str, subject_id: UUID, asked_by: StaffMember | None, now: datetime) -> Job:
    values = {"kind": kind, "subject_id": subject_id, "asked_by": asked_by}
    try:
        with transaction.atomic():
            return Job.objects.create(**values, created_at=now, due_at=now)
    except IntegrityError:
        job = _touch_waiting(kind, subject_id, now)
        return job or Job.objects.create(**values, created_at=now, due_at=now)


def _back_to_waiting(jobs: QuerySet[Job], changes: dict[str, Any]) -> bool:
    try:
        with transaction.atomic():
            return bool(jobs.update(state=JobState.WAITING, **changes))
    except IntegrityError:
        return False


def _still_ours(job: Job) -> QuerySet[Job]:
    """Name the job by our own claim of it: a later one has another lease."""
    return Job.objects.filter(
        pk=job.pk,
        state=JobState.RUNNING,
        attempts=job.attempts,
        claimed_until=job.claimed_until,
    )


def _end(job: Job, ended_at: datetime, **changes: Any) -> Job:
    """Write the outcome; when the lease was lost, what the handler did is undone with it."""
    if not _still_ours(job).update(ended_at=ended_at, claimed_until=None, **changes):
        raise LeaseLostError(job.pk)
    return Job.objects.get(pk=job.pk)


def _hint_each(jobs: Iterable[Job]) -> None:
    """Stop at the first that fails: a broker that is away is waited for once, not once a job."""
    for job in jobs:
        _hint(job)


def _hint(job: Job) -> None:
    for hint in _HINTS:
        hint(job.pk, queue_of(job.kind))
