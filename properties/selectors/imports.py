"""How far imports are, those included whose job failed for good."""

from __future__ import annotations

from typing import Any, Final

from django.db.models import Case, OuterRef, QuerySet, Subquery, When

from properties.models import Import, Job, JobState

_REMEDY: Final = "Have its job run again, or send the file again in parts."


def with_job(sheets: QuerySet[Import], *, kinds: tuple[str, ...]) -> QuerySet[Import]:
    """Annotate imports with state and problem of their open job, else of the parked one."""
    jobs = Job.objects.filter(kind__in=kinds, subject_id=OuterRef("pk"))
    is_parked = Case(When(state=JobState.PARKED, then=1), default=0)
    first = jobs.exclude(state=JobState.DONE).order_by(is_parked, "-id")[:1]
    return sheets.annotate(
        job_state=Subquery(first.values("state")), job_problem=Subquery(first.values("problem"))
    )


def failure_of(sheet: Import) -> dict[str, Any] | None:
    """Return why the job of an import gave up and what helps, or None; of one `with_job`."""
    if sheet.ended_at is not None or getattr(sheet, "job_state", None) != JobState.PARKED:
        return None
    problem: dict[str, Any] = getattr(sheet, "job_problem", None) or {}
    return {
        "code": problem.get("code", "failed"),
        "detail": problem.get("detail", "Its job failed."),
        "remedy": problem.get("remedy") or _REMEDY,
    }


def progress_of(sheet: Import) -> dict[str, int | None]:
    """Return how many rows of how many were looked at; of None nobody counted them yet."""
    return {"rows_done": sheet.rows_done, "rows": sheet.rows}
