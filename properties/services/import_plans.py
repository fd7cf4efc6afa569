"""What a whole file would do: read twice, block by block, and told by row.

1. The first reading counts the rows and gathers by what contacts and addresses would be alike.
2. The second makes drafts of a block of rows, finds what they mean in a few queries, and judges
   them one by one.
3. What is to be written goes into a temporary file, so that nobody holds it; writing it later takes
   no judging any more, and no longer than it must.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice
from typing import IO, Any, Final
from uuid import UUID

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder

from properties.domain.errors import DomainError, InvalidInputError
from properties.domain.spreadsheet_cells import Limits, as_meant, choice_words
from properties.domain.spreadsheet_columns import Column, Kind, Takes
from properties.domain.spreadsheet_files import heading_of
from properties.domain.spreadsheet_headings import column_headed, read_headings
from properties.domain.spreadsheet_kinds import COLUMNS, parts_of
from properties.domain.spreadsheet_numbers import DayOrder, Writing
from properties.domain.spreadsheet_rows import AllLimits, Reading
from properties.domain.spreadsheet_text import (
    Delimiter,
    Encoding,
    Record,
    Source,
    codec_of,
    delimiter_of,
    encoding_of,
    read_records,
)
from properties.models import Import
from properties.selectors.company import the_company
from properties.services.import_known import Alike, Known, alike_keys
from properties.services.import_rows import MODELS, Step
from properties.services.import_steps import Judge, Judged, Rules

BLOCK_ROWS: Final = 250
_OWNER_CHARS: Final = 200
# What people write for our choices beside their own words (common practice).
_MORE_WORDS: Final[Mapping[str, dict[str, str]]] = {
    "water_source": {"city": "mains", "city water": "mains", "municipal": "mains"},
    "head_kind": {
        "sprays": "spray", "pop up": "spray", "pop ups": "spray", "rotors": "rotor",
        "rotary": "rotary_nozzle", "bubblers": "bubbler", "dripline": "drip", "hose": "hose_end",
    },
    "exposure": {"sun": "full_sun", "shade": "full_shade", "part": "part_shade"},
    "relation": {"renter": "tenant", "property manager": "manager"},
}  # fmt: skip


@dataclass(frozen=True)
class Form:
    """How a file turned out to be written."""

    codec: str
    delimiter: Delimiter
    reading: Reading

    def as_json(self) -> dict[str, Any]:
        """Return it for the office, which may want to say otherwise."""
        return {
            "encoding": encoding_of(self.codec).value,
            "delimiter": self.delimiter.value,
            "decimal": "comma" if self.reading.writing.has_decimal_comma else "point",
            "columns": {
                place.heading: f"{place.column.of}: {heading_of(place.column, place.unit)}"
                for place in self.reading.headings.places
            },
        }


@dataclass
class Plan:
    """What a file does in numbers, and where the steps stand that are to be written."""

    form: Form
    counts: Counter[str] = field(default_factory=Counter)
    codes: Counter[str] = field(default_factory=Counter)
    by_kind: dict[str, Counter[str]] = field(default_factory=dict)

    def count(self, judged: Judged) -> None:
        self.counts[judged.outcome.value] += 1
        self.counts["faults"] += len(judged.faults)
        self.codes.update(fault.code for fault in judged.faults)
        for step in judged.steps:
            outcome = "made" if step.is_new else "changed"
            self.by_kind.setdefault(step.of.value, Counter())[outcome] += 1

    def report(self) -> dict[str, Any]:
        names = ("made", "changed", "unchanged", "refused", "faults")
        return {
            "found": self.form.as_json(),
            "rows": sum(self.counts[name] for name in names[:-1]),
            **{name: self.counts[name] for name in names},
            "faults_by_code": dict(self.codes.most_common()),
            "by_kind": {kind: dict(counts) for kind, counts in self.by_kind.items()},
        }


def max_rows() -> int:
    """Return how many rows a file may have; setting IMPORT_MAX_ROWS."""
    return int(settings.IMPORT_MAX_ROWS)


def form_of(kind: Kind, said: Mapping[str, Any], source: Source) -> Form:
    """Return how a file is written: what the office said, and else what the file shows.

    Raises
    ------
    InvalidInputError
        For a file that is no table of this kind; headings are named.
    """
    codec = codec_of(source, Encoding(said["encoding"]) if said.get("encoding") else None)
    headings_said: dict[str, str] = said.get("headings") or {}

    def known(cells: list[str]) -> int:
        return sum(bool(column_headed(cell, kind)) or cell in headings_said for cell in cells)

    told = said.get("delimiter")
    delimiter = Delimiter(told) if told else delimiter_of(source, codec, known)
    first = next((each for each in read_records(source, codec, delimiter) if _is_full(each)), None)
    if first is None:
        raise InvalidInputError(
            "The file has no rows.", field="file", code="empty-file", remedy="Send a full one."
        )
    headings = read_headings(
        first.cells, kind, said=headings_said, system=said.get("units") or None,
        ignores_unknown=bool(said.get("ignores_unknown")),
    )  # fmt: skip
    return Form(codec, delimiter, Reading(kind, headings, _writing(said, delimiter), limits()))


def make_plan(
    sheet: Import,
    source: Source,
    *,
    now: datetime,
    tell: Callable[[list[Judged], int, int], None],
    spool: IO[str] | None,
) -> Plan:
    """Judge a file; `tell` hears of each block, of the rows done and of all rows."""
    kind = Kind(sheet.kind)
    form = form_of(kind, sheet.said, source)
    rows, keys = _first_reading(form, source)
    known, parts = Known(), parts_of(kind)
    takes_alike = bool(sheet.said.get("takes_alike"))
    rules = Rules(
        kind, the_company().time_zone, takes_alike, bool(sheet.said.get("clears_blank")), now
    )
    judge = Judge(rules, known, Alike(() if takes_alike else parts, keys))
    plan, done = Plan(form), 0
    for block in _blocks(form, source):
        all_drafts = [form.reading.drafts(record) for record in block]
        known.load([draft for drafts in all_drafts for draft in drafts])
        judged = [judge.judge(drafts) for drafts in all_drafts]
        for each in judged:
            plan.count(each)
            if spool is not None:
                spool.writelines(_step_line(step) for step in each.steps)
        done += len(block)
        tell(judged, done, rows)
    return plan


def planned_steps(spool: IO[str]) -> Iterator[list[tuple[Kind, bool, dict[str, Any]]]]:
    """Yield what `make_plan` spooled, block by block."""
    spool.seek(0)
    while lines := list(islice(spool, BLOCK_ROWS)):
        yield [_step_of(json.loads(line)) for line in lines]


def limits() -> AllLimits:
    """Return what the fields of our rows allow in their cells."""
    return {
        (kind, column.name): _limits_of(kind, column)
        for kind, columns in COLUMNS.items()
        for column in columns
    }


def _limits_of(kind: Kind, column: Column) -> Limits:
    if column.takes is Takes.OWNER:
        return Limits(longest=_OWNER_CHARS)
    options: Any = MODELS[kind]._meta.get_field(column.row_field)
    if options.choices:
        words = choice_words({str(value): str(label) for value, label in options.choices})
        return Limits(choices={**_MORE_WORDS.get(column.name, {}), **words})
    return Limits(longest=getattr(options, "max_length", None))


def _writing(said: Mapping[str, Any], delimiter: Delimiter) -> Writing:
    decimal = said.get("decimal")
    day_order = DayOrder(said["day_order"]) if said.get("day_order") else None
    if decimal:
        return Writing(decimal == "comma", is_sure=True, day_order=day_order)
    return Writing(
        delimiter is Delimiter.SEMICOLON, is_sure=delimiter is Delimiter.COMMA, day_order=day_order
    )


def _first_reading(form: Form, source: Source) -> tuple[int, set[tuple[str, str]]]:
    """Return how many rows there are, and the keys of what could be alike."""
    rows, keys = 0, set[tuple[str, str]]()
    places = [
        (place.column.name, place.index)
        for place in form.reading.headings.places
        if place.column.name in ("email", "phone", "street", "city")
    ]
    for record in _rows(form, source):
        rows += 1
        if rows > max_rows():
            raise InvalidInputError(
                f"The file has more than {max_rows():,} rows.",
                field="file", code="too-many-rows", remedy="Divide it, and send the parts.",
            )  # fmt: skip
        cells = {
            name: as_meant(record.cells[index])
            for name, index in places
            if index < len(record.cells)
        }
        keys.update(alike_keys(cells))
    return rows, keys


def _blocks(form: Form, source: Source) -> Iterator[list[Record]]:
    records = _rows(form, source)
    while block := list(islice(records, BLOCK_ROWS)):
        yield block


def _rows(form: Form, source: Source) -> Iterator[Record]:
    """Yield the rows below the headings that hold anything."""
    records = filter(_is_full, read_records(source, form.codec, form.delimiter))
    return islice(records, 1, None)


def _is_full(record: Record) -> bool:
    return not record.is_blank()


def _step_line(step: Step) -> str:
    said = {
        "of": step.of.value, "id": step.row.pk, "is_new": step.is_new,
        "revision": step.row.revision, "values": step.values,
    }  # fmt: skip
    return json.dumps(said, cls=DjangoJSONEncoder) + "\n"


def _step_of(said: dict[str, Any]) -> tuple[Kind, bool, dict[str, Any]]:
    """Turn a spooled step into values of the fields' own types again."""
    kind = Kind(said["of"])
    meta: Any = MODELS[kind]._meta
    values = {name: meta.get_field(name).to_python(value) for name, value in said["values"].items()}
    return kind, said["is_new"], {**said, "id": UUID(said["id"]), "values": values}


def refusal_of(refusal: DomainError) -> dict[str, str]:
    """Return a refusal as the report keeps it."""
    return {
        "code": refusal.code, "field": refusal.field, "detail": refusal.detail,
        "remedy": refusal.remedy,
    }  # fmt: skip
