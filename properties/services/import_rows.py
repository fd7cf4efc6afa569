"""Which rows of ours the rows of a file mean, and what would change in them."""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import Model

from properties.domain.errors import InvalidInputError
from properties.domain.spreadsheet_columns import Kind
from properties.domain.spreadsheet_kinds import COLUMNS, OWNERS
from properties.domain.spreadsheet_rows import Draft
from properties.models import Controller, Customer, MeasuredRow, Property, Row, Zone
from properties.models.check_values import broken_checks, fields_of
from properties.models.customers import address_sha256
from properties.services.backflow_tests import refuse_test_to_come

MODELS: Final[dict[Kind, type[Row]]] = {
    Kind.CUSTOMERS: Customer,
    Kind.PROPERTIES: Property,
    Kind.CONTROLLERS: Controller,
    Kind.ZONES: Zone,
}
SINGULAR: Final = {
    Kind.CUSTOMERS: "customer",
    Kind.PROPERTIES: "property",
    Kind.CONTROLLERS: "controller",
    Kind.ZONES: "zone",
}
_CLOSE: Final = 1e-9
_REMEDIES: Final = {
    "max_length": "Shorten the text.",
    "invalid": "Correct the cell.",
    "max_value": "Correct the number.",
    "min_value": "Correct the number.",
}
_ID: Final = re.compile(r"id:([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})", re.ASCII)


@dataclass
class Step:
    """One row to make or to change; `values` are by field, references by `_id`."""

    of: Kind
    row: Row
    is_new: bool
    values: dict[str, Any]


def reference_of(row: Any) -> str:
    """Return by what a row is known in files: its reference, or its id where it has none."""
    return row.reference or f"id:{row.pk}"


def id_named(reference: str) -> UUID | None:
    """Return the id of `id:...`, as exports name rows without a reference."""
    found = _ID.fullmatch(reference)
    return UUID(found[1]) if found else None


def new_row(draft: Draft, values: Mapping[str, Any]) -> Step:
    """Return the row that a draft makes."""
    row_id = id_named(draft.reference)
    values = {**values, **({"id": row_id} if row_id else {})}
    if draft.reference and not row_id:
        values["reference"] = draft.reference
    model = MODELS[draft.of]
    if issubclass(model, MeasuredRow) and draft.entered:
        values["entered"] = dict(draft.entered)
    return Step(draft.of, model(**values), True, values)


def changed_row(draft: Draft, row: Row, values: Mapping[str, Any], *, clears_blank: bool) -> Step:
    """Return what differs from the row as it is; a blank cell leaves what is there."""
    wanted = dict(values)
    if draft.reference and not id_named(draft.reference):
        wanted["reference"] = draft.reference
    if clears_blank:
        wanted |= dict(_emptied(draft, row))
    changes = {name: value for name, value in wanted.items() if not is_same(row, name, value)}
    if is_other_address(row, changes.get("email")):
        changes["refused_address_sha256"] = ""  # what was said of the old one
    entered = {name: draft.entered[name] for name in changes if name in draft.entered}
    candidate = copy.copy(row)
    for name, value in changes.items():
        setattr(candidate, name, value)
    if entered:
        changes["entered"] = entered
    return Step(draft.of, candidate, False, changes)


def is_other_address(row: Row, email: str | None) -> bool:
    """Return whether a client gets another address than one that the mail server refused."""
    refused: str = getattr(row, "refused_address_sha256", "")
    return bool(refused) and email is not None and refused != address_sha256(email)


def is_same(row: Row, name: str, value: Any) -> bool:
    """Return whether a field has that value already, but for spaces around and float noise."""
    current = getattr(row, name)
    if current in (None, "") or value in (None, ""):
        return current in (None, "") and value in (None, "")
    if isinstance(value, list):
        pairs = zip(current, value, strict=False)
        return len(current) == len(value) and all(_is_close(*pair) for pair in pairs)
    if isinstance(value, float):
        return _is_close(current, value)
    if isinstance(value, str):
        return plain_text(current) == plain_text(value)
    return bool(current == value)


def find_faults(draft: Draft, step: Step, *, now: datetime) -> None:
    """Note what the fields and constraints of the row refuse, at the cells at fault."""
    names = set(step.values) - {"entered", "id"}
    if not names:
        return
    exclude = {
        field.name
        for field in step.row._meta.concrete_fields
        if field.is_relation or field.name not in names
    }
    try:
        step.row.clean_fields(exclude=exclude)
        step.row.clean()
    except ValidationError as error:
        _note(draft, error)
    _note_checks(draft, step)
    _check_moment(draft, step, now)


def _note_checks(draft: Draft, step: Step) -> None:
    """Note broken constraints, but of fields that are wrong already: those say nothing new."""
    wrong = {fault.column for fault in draft.faults}
    for constraint in broken_checks(step.row):
        headings = {_heading(draft, name) for name in fields_of(constraint)}
        if headings & wrong:
            continue
        name, _, text = str(constraint.violation_error_message).partition(": ")
        is_range = " must lie between " in text
        draft.refuse(
            name, "out-of-range" if is_range else "against-a-rule", _sentence(text),
            "Write a number inside these limits." if is_range else "Correct the row.",
        )  # fmt: skip


def _heading(draft: Draft, name: str) -> str:
    place = draft.places.get(name)
    return place.heading if place else name


def _check_moment(draft: Draft, step: Step, now: datetime) -> None:
    try:
        refuse_test_to_come(step.values, now=now)
    except InvalidInputError as refusal:
        draft.refuse_as(refusal)
    if step.values.get("wants_notices") and getattr(step.row, "unsubscribed_at", None):
        draft.refuse(
            "wants_notices", "unsubscribed", "This client stopped the notices.",
            "Leave the cell empty; when the client agrees again, set it on the client's page.",
        )  # fmt: skip


def _emptied(draft: Draft, row: Row) -> Iterator[tuple[str, Any]]:
    """Yield the fields of blank cells that can be empty."""
    for column in COLUMNS[draft.of]:
        if column.name not in draft.blanks or column.name in (*OWNERS[draft.of], "reference"):
            continue
        field: Any = row._meta.get_field(column.row_field)
        if field.blank and (field.null or field.empty_strings_allowed):
            yield column.row_field, None if field.null else ""


def _note(draft: Draft, error: ValidationError) -> None:
    for name, errors in error.update_error_dict({}).items():
        for each in errors:
            code = str(each.code or "invalid").replace("_", "-")
            detail = " ".join(each.messages)
            draft.refuse(name, code, detail, _REMEDIES.get(each.code or "", "Correct the cell."))


def _is_close(current: float, value: float) -> bool:
    return math.isclose(current, value, rel_tol=_CLOSE, abs_tol=_CLOSE)


def plain_text(text: Any) -> str:
    """Return text without spaces around it and with one kind of line end."""
    return str(text).replace("\r\n", "\n").replace("\r", "\n").strip()


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def place_of(part: Kind, values: Mapping[str, Any]) -> tuple[Any, ...] | None:
    """Return what a controller or zone is known by without a reference: where it is."""
    if part is Kind.CONTROLLERS:
        return (part, values.get("property_id"), plain_text(values.get("name", "")))
    if part is Kind.ZONES:
        return (
            part, values.get("property_id"), values.get("controller_id"), values.get("number")
        )  # fmt: skip
    return None


def place_of_row(part: Kind, row: Model) -> tuple[Any, ...] | None:
    """Return the place of a row that is stored."""
    return place_of(part, vars(row))


def references_in(drafts: Sequence[Draft]) -> dict[Kind, set[str]]:
    """Return by which references the drafts of a block name rows of each kind."""
    wanted: dict[Kind, set[str]] = {kind: set() for kind in MODELS}
    for draft in drafts:
        wanted[draft.of].add(draft.reference)
        for name, kind in (("customer", Kind.CUSTOMERS), ("property", Kind.PROPERTIES)):
            wanted[kind].add(draft.owners.get(name, ""))
    return {kind: references - {""} for kind, references in wanted.items()}
