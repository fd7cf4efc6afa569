"""How far station files are that were sent in, those included whose job failed for good."""

from __future__ import annotations

from typing import Any, Final

from django.db.models import Case, OuterRef, QuerySet, Subquery, When

from properties.models import Job, JobState
from scheduling.models import WeatherFile

FAILED: Final = "failed"
_STATES: Final = {
    JobState.WAITING.value: "waiting",
    JobState.RUNNING.value: "reading",
    JobState.PARKED.value: FAILED,
}
_REMEDY: Final = (
    "Have its job run again, or send the same file again; if it fails once more, divide the file"
    " and send the parts."
)


def with_job(files: QuerySet[WeatherFile], *, kind: str) -> QuerySet[WeatherFile]:
    """Annotate files with state and problem of their open job of a kind, else of the parked one."""
    jobs = Job.objects.filter(kind=kind, subject_id=OuterRef("pk")).exclude(state=JobState.DONE)
    is_parked = Case(When(state=JobState.PARKED, then=1), default=0)
    first = jobs.order_by(is_parked, "-id")[:1]
    return files.annotate(
        job_state=Subquery(first.values("state")), job_problem=Subquery(first.values("problem"))
    )


def state_of(file: WeatherFile) -> str:
    """Return waiting, reading, failed, refused or read; of a file `with_job`."""
    if file.read_at is not None:
        return "refused" if "refusal" in (file.report or {}) else "read"
    return _STATES.get(getattr(file, "job_state", ""), "waiting")


def failure_of(file: WeatherFile) -> dict[str, Any] | None:
    """Return why a file will not be read and what helps, or None if nothing is amiss."""
    if state_of(file) != FAILED:
        return None
    problem: dict[str, Any] = getattr(file, "job_problem", None) or {}
    return {
        "code": problem.get("code", FAILED),
        "detail": problem.get("detail", "Its job failed."),
        "remedy": problem.get("remedy") or _REMEDY,
    }
