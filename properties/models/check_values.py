"""The check constraints of a row judged without asking the database: for rows by the thousand.

Django asks the database once for each constraint of each row. Here the condition is judged on the
row's own values, with the three answers of SQL: yes, no, and unknown where a value is absent; a
constraint is broken by a no alone.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterator
from typing import Any, Final

from django.db.models import CheckConstraint, F, Model, Q

_LOOKUPS: Final[dict[str, Callable[[Any, Any], bool]]] = {
    "exact": operator.eq,
    "gt": operator.gt,
    "gte": operator.ge,
    "lt": operator.lt,
    "lte": operator.le,
    "in": lambda value, allowed: value in allowed,
}


def broken_checks(row: Model) -> Iterator[CheckConstraint]:
    """Yield the check constraints that a row breaks."""
    for constraint in row._meta.constraints:
        if isinstance(constraint, CheckConstraint) and _holds(constraint.condition, row) is False:
            yield constraint


def fields_of(constraint: CheckConstraint) -> set[str]:
    """Return the fields that a check constraint is about."""
    return set(_names(constraint.condition))


def _names(condition: Any) -> Iterator[str]:
    if isinstance(condition, Q):
        for child in condition.children:
            yield from _names(child)
        return
    path, expected = condition
    yield path.partition("__")[0]
    if isinstance(expected, F):
        yield _name(expected)


def _holds(condition: Any, row: Model) -> bool | None:
    if not isinstance(condition, Q):
        path, expected = condition
        return _compared(path, expected, row)
    answers = [_holds(child, row) for child in condition.children]
    found = _any(answers) if condition.connector == Q.OR else _all(answers)
    if condition.negated and found is not None:
        return not found
    return found


def _compared(path: str, expected: Any, row: Model) -> bool | None:
    name, _, lookup = path.partition("__")
    value = row.serializable_value(name)
    if lookup == "isnull":
        return bool((value is None) == expected)
    if isinstance(expected, F):
        expected = row.serializable_value(_name(expected))
    if value is None or expected is None:
        return None
    return bool(_LOOKUPS[lookup or "exact"](value, expected))


def _name(reference: F) -> str:
    return str(reference.deconstruct()[1][0])


def _any(answers: list[bool | None]) -> bool | None:
    return True if True in answers else None if None in answers else False


def _all(answers: list[bool | None]) -> bool | None:
    return False if False in answers else None if None in answers else True
