"""Database constraints that several tables share."""

from __future__ import annotations

from typing import Any

from django.db.models import CheckConstraint, Q, UniqueConstraint


def between(field: str, low: float, high: float, *, words: str) -> CheckConstraint:
    """Return a constraint that holds a number inside [low, high]; an absent number passes."""
    inside = Q(**{f"{field}__gte": low, f"{field}__lte": high})
    return CheckConstraint(
        condition=inside | Q(**{f"{field}__isnull": True}),
        name=f"%(app_label)s_%(class)s_{field}",
        violation_error_message=f"{field}: {words} must lie between {low:,.10g} and {high:,.10g}.",
    )


def one_of(field: str, choices: list[tuple[str, Any]]) -> CheckConstraint:
    """Return a constraint that holds a text field to its choices."""
    values = [value for value, _ in choices]
    named = ", ".join(value for value in values if value)
    empty = ", or leave it empty" if "" in values else ""
    return CheckConstraint(
        condition=Q(**{f"{field}__in": values}),
        name=f"%(app_label)s_%(class)s_{field}",
        violation_error_message=f"{field}: use one of {named}{empty}.",
    )


def reference_once(kind: str) -> UniqueConstraint:
    """Return a constraint that lets a reference of the company's books name one row."""
    return UniqueConstraint(
        fields=["reference"],
        condition=~Q(reference=""),
        name=f"{kind}_reference_once",
        violation_error_message=f"reference: another {kind} has this reference.",
    )
