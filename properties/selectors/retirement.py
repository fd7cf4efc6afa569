"""Which rows are in use: what is retired leaves the lists and takes nothing new."""

from __future__ import annotations

from typing import Any, TypeVar

from django.db.models import Model, Q, QuerySet

AnyModel = TypeVar("AnyModel", bound=Model)


def retires_by(model: type[Model]) -> str:
    """Return the field that says whether a row is retired; empty where none can be."""
    name: str = getattr(model, "retires_by", "")
    return name


def is_retired(row: Model) -> bool:
    """Return whether a row is out of use."""
    flag = retires_by(type(row))
    if not flag:
        return False
    return bool(getattr(row, flag)) is not (flag == "is_active")


def narrow_to_retired(rows: QuerySet[AnyModel], *, retired: bool) -> QuerySet[AnyModel]:
    """Narrow rows to those out of use, or to those in use."""
    flag = retires_by(rows.model)
    if not flag:
        return rows
    return rows.filter(retired_condition(flag) if retired else ~retired_condition(flag))


def retired_condition(flag: str) -> Q:
    """Return what holds of a retired row."""
    conditions: dict[str, dict[str, Any]] = {
        "retired_at": {"retired_at__isnull": False},
        "is_retired": {"is_retired": True},
        "is_active": {"is_active": False},
    }
    return Q(**conditions[flag])
