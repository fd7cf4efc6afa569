"""The row that a job is for, which may be gone by the time that a worker comes to it."""

from __future__ import annotations

from typing import TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet

Subject = TypeVar("Subject", bound=Model)


class SubjectGoneError(Exception):
    """What the job was for was deleted: nothing is left to do, and nobody has to be told."""


def subject_of(rows: QuerySet[Subject], subject_id: UUID) -> Subject:
    """Return the row that a job is for, or end the job in words when it is gone."""
    subject = rows.filter(pk=subject_id).first()
    if subject is None:
        raise SubjectGoneError(f"The {rows.model._meta.verbose_name} it was for is gone.")
    return subject
