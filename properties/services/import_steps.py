"""What each row of a file makes, changes or leaves, judged row by row in the file's order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from properties.domain.spreadsheet_columns import Kind
from properties.domain.spreadsheet_rows import Draft, Fault, needed_columns
from properties.models.imports import Outcome
from properties.services.import_known import Alike, Known
from properties.services.import_owners import Owners
from properties.services.import_rows import (
    SINGULAR,
    Step,
    changed_row,
    find_faults,
    id_named,
    new_row,
    place_of,
    reference_of,
)

_LABEL_CHARS: Final = 200
_STAYS: Final = {Kind.CONTROLLERS: ("property_id",), Kind.ZONES: ("property_id",)}


@dataclass(frozen=True)
class Rules:
    """What the office said of an import, as far as it decides what a row does."""

    kind: Kind
    time_zone: str
    takes_alike: bool
    clears_blank: bool
    now: datetime


@dataclass
class Judged:
    """A row of the file: its outcome, the steps that it takes, or its faults."""

    row: int
    outcome: Outcome
    reference: str
    steps: list[Step] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def changes(self) -> list[str]:
        """Return the fields that change, of rows that are there."""
        names = {
            name for step in self.steps if not step.is_new for name in step.values
        } - {"entered", "refused_address_sha256"}  # fmt: skip
        return sorted(name.removesuffix("_id") for name in names)


class Judge:
    """Judges rows one after the other: a row sees those before it, if they were good."""

    def __init__(self, rules: Rules, known: Known, alike: Alike) -> None:
        self._rules, self._known, self._alike = rules, known, alike
        self._owners = Owners(rules.kind, known)

    def judge(self, drafts: Sequence[Draft]) -> Judged:
        """Return what one row of the file does; it is taken whole or not at all."""
        above: dict[Kind, UUID | None] = {}
        taken: list[tuple[Draft, Step]] = []
        for draft in drafts:
            step = self._step(draft, above)
            above[draft.of] = step.row.pk if step else None
            taken += [(draft, step)] if step else []
        faults = [fault for draft in drafts for fault in draft.faults]
        reference = _label(drafts)
        if faults:
            return Judged(drafts[0].row, Outcome.REFUSED, reference, faults=faults)
        for draft, step in taken:
            if not isinstance(step.row, _Stub):
                self._known.tell(draft, step, _digest(draft))
                self._alike.tell(draft, step)
        steps = [step for _, step in taken if step.values]
        return Judged(drafts[0].row, _outcome(steps), reference, steps)

    def _step(self, draft: Draft, above: dict[Kind, UUID | None]) -> Step | None:
        owners = self._owners.of(draft, above)
        values = {**draft.values, **owners}
        row_id = self._identify(draft, values)
        told = self._known.told_in(draft.of, row_id) if row_id else None
        if told is not None:
            return self._told_again(draft, told, row_id)
        row = self._known.row(row_id)
        if row is None:
            step = self._make(draft, values)
        else:
            _check_stays(draft, row, owners)
            step = changed_row(draft, row, values, clears_blank=self._rules.clears_blank)
            self._check_in_use(draft, row, step)
        self._owners.check_in_use(draft, step)
        find_faults(draft, step, now=self._rules.now)
        if not self._rules.takes_alike:
            self._alike.check(draft, step)
        return step

    def _make(self, draft: Draft, values: dict[str, Any]) -> Step:
        _check_needed(draft, self._rules.kind)
        if draft.of is Kind.PROPERTIES:
            values.setdefault("time_zone", self._rules.time_zone)
        return new_row(draft, values)

    def _told_again(self, draft: Draft, told: tuple[int, int], row_id: Any) -> Step | None:
        """Take a row that the file told of before: the same words in a file of all kinds."""
        row, digest = told
        what = SINGULAR[draft.of]
        if self._rules.kind is not Kind.EVERYTHING:
            draft.refuse(
                "reference", "row-twice", f"Row {row} is of the same {what}.",
                "Delete one of the two rows, or give them different references.",
            )  # fmt: skip
        elif digest != _digest(draft):
            draft.refuse(
                "reference", "contradicts-row", f"Row {row} says something else of this {what}.",
                f"Write the same of a {what} in each of its rows.",
            )  # fmt: skip
        if draft.faults:
            return None
        return Step(draft.of, _Stub(row_id), False, {})  # type: ignore[arg-type]

    def _identify(self, draft: Draft, values: dict[str, Any]) -> UUID | None:
        """Return the id of the row that is meant, by its reference or by its place."""
        known = self._known
        by_reference = known.id_of(draft.of, draft.reference) if draft.reference else None
        stored = known.row(by_reference)
        if stored is not None:
            values = {**vars(stored), **values}
        by_place = known.id_at(place_of(draft.of, values))
        if by_reference is None and by_place is not None and draft.reference:
            there: Any = known.row(by_place)
            if there is None or there.reference or id_named(draft.reference):
                self._refuse_place(draft, by_place)
        elif None not in (by_reference, by_place) and by_reference != by_place:
            self._refuse_place(draft, by_place)
        return by_reference or by_place

    def _refuse_place(self, draft: Draft, row_id: Any) -> None:
        there = self._known.row(row_id)
        other = reference_of(there) if there is not None else "of an earlier row"
        name = "number" if draft.of is Kind.ZONES else "name"
        draft.refuse(
            name, "place-taken", f"The {SINGULAR[draft.of]} {other} has this {name} already.",
            "Give it another one, or the reference of the one that is there.",
        )  # fmt: skip

    def _check_in_use(self, draft: Draft, row: Any, step: Step) -> None:
        """Refuse changes of what is retired, but of zones, whose own column brings them back."""
        if step.values and draft.of is not Kind.ZONES and self._known.is_retired(row.pk):
            draft.refuse(
                "reference", "retired", f"This {SINGULAR[draft.of]} is retired.",
                "Bring it back first, or delete the row.",
            )  # fmt: skip


def _check_needed(draft: Draft, kind: Kind) -> None:
    """Refuse a new row without what it cannot be without, unless its cell is wrong already."""
    wrong = {fault.column for fault in draft.faults}
    for column in needed_columns(draft.of, kind):
        place = draft.places.get(column.name)
        is_absent = place is None or column.name in draft.blanks
        if is_absent and not (place and place.heading in wrong):
            draft.refuse(
                column.name, "needed", f"A new {SINGULAR[draft.of]} needs it: {column.heading}.",
                "Fill in the cell." if place else f"Add a column {column.heading}.",
            )  # fmt: skip


def _check_stays(draft: Draft, row: Any, owners: dict[str, Any]) -> None:
    for name in _STAYS.get(draft.of, ()):
        if owners.get(name) not in (None, getattr(row, name)):
            draft.refuse(
                name.removesuffix("_id"), "stays", f"A {SINGULAR[draft.of]} stays where it is.",
                "Correct the property, or give the row a reference of its own.",
            )  # fmt: skip


@dataclass(frozen=True)
class _Stub:
    """Stands for a row that an earlier row of the file told of."""

    pk: UUID


def _outcome(steps: Sequence[Step]) -> Outcome:
    if any(step.is_new for step in steps):
        return Outcome.MADE
    return Outcome.CHANGED if steps else Outcome.UNCHANGED


def _digest(draft: Draft) -> int:
    said = (draft.values, draft.owners, draft.reference)
    return hash(repr([sorted(part.items()) if isinstance(part, dict) else part for part in said]))


def _label(drafts: Sequence[Draft]) -> str:
    """Return how the report calls a row: by references, which tell nothing of a person."""
    said = [part for draft in drafts for part in (*draft.owners.values(), draft.reference)]
    said.append(str(drafts[-1].values.get("number", "")))
    return " / ".join(part for part in said if part)[:_LABEL_CHARS]
