"""The table of programs as plain text, narrow enough for a letter or a mail."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final

from properties.domain.units import System
from properties.domain.watering_rules_words import day_text, joined
from scheduling.domain.program_table import (
    MONTH_NAMES,
    NO_NEED,
    MonthLine,
    ProgramLines,
    ProgramTable,
    time_text,
)

WIDTH: Final = 72  # common practice: of a line in plain mail
_YEAR: Final = 12
_NAME_WIDTH: Final = 44
CAUTION: Final = (
    "Local watering rules bind over these settings. Look at the first run: stop it where water "
    "runs off or sprays onto walks and walls."
)


def table_text(table: ProgramTable, units: System) -> str:
    """Return the table as lines of at most 72 characters.

    Parameters
    ----------
    table : what to write.
    units : of the times of day; depths stand in its sentences already.
    """
    lines = [
        *_wrapped(f"{table.controller_name}, {table.property_name}"),
        *_wrapped(f"Set {table.number}, fitted {day_text(table.fitted_at.date())}"),
    ]
    if table.is_stale:
        lines += _wrapped("A newer plan exists: have the programs fitted anew before typing.")
    for sheet in table.sheets:
        lines += ["", *_wrapped(f"To set for {_months_text(sheet.months)}")]
        for program in sheet.programs:
            lines += ["", *_program(program, units)]
    lines += ["", *_year(table), *_notes(table)]
    return "\n".join(lines) + "\n"


def _program(program: ProgramLines, units: System) -> Iterator[str]:
    starts = ", ".join(time_text(start, units) for start in program.starts)
    yield from _wrapped(f"Program {program.name}   starts {starts}")
    for zone in program.zones:
        mark = " *" if zone.is_estimated else ""
        label = textwrap.shorten(zone.name, _NAME_WIDTH, placeholder="...")
        yield f"  {zone.number:>3}  {label + mark:<{_NAME_WIDTH + 2}} {zone.run_min:>4} min"


def _year(table: ProgramTable) -> Iterator[str]:
    yield "Month by month"
    for month in table.months:
        days = "; ".join(f"{one.program} {one.words}" for one in month.days) or "off"
        head = f"  {MONTH_NAMES[month.month - 1][:3]}  {month.percent:>3} %  "
        yield from textwrap.wrap(
            days, WIDTH, initial_indent=head, subsequent_indent=" " * len(head)
        )


def _notes(table: ProgramTable) -> Iterator[str]:
    yield ""
    yield from _wrapped(_hours_text(table.hours))
    if table.has_estimates:
        yield from _wrapped("* Estimated from the heads; no catch test was made.")
    for remark in (*table.remarks, *table.left_out, table.quality):
        yield from _wrapped(remark)
    missed = [one for one in table.not_met if one.code != NO_NEED]
    if missed:
        yield from ("", "What cannot be met")
    for one in missed:
        yield from _wrapped(f"- {one.sentence} What cures it: {one.cure}", indent="  ")
    yield ""
    plans = ", ".join(f"{plan.zone} ({plan.number})" for plan in table.plans)
    yield from _wrapped(f"Made from the plans of: {plans}.")
    yield from _wrapped(CAUTION)


def _hours_text(month: MonthLine) -> str:
    return (
        f"On the busiest day, in {MONTH_NAMES[month.month - 1]}, it waters for "
        f"{_clock(month.busiest_day_min)} of the {_clock(month.window_min)} hours allowed."
    )


def _clock(minutes: float) -> str:
    hours, rest = divmod(round(minutes), 60)
    return f"{hours}:{rest:02}"


def _months_text(months: Sequence[int]) -> str:
    """Months in a row as from and to; the row may pass the new year."""
    if len(months) == _YEAR:
        return "the whole year"
    rows = [
        [month for _, month in row]
        for _, row in groupby(enumerate(sorted(months)), key=lambda pair: pair[1] - pair[0])
    ]
    if len(rows) > 1 and rows[0][0] == 1 and rows[-1][-1] == _YEAR:
        rows = [[*rows.pop(), *rows[0]], *rows[1:]]
    words = [
        MONTH_NAMES[row[0] - 1]
        if len(row) == 1
        else f"{MONTH_NAMES[row[0] - 1]} to {MONTH_NAMES[row[-1] - 1]}"
        for row in rows
    ]
    return joined(words)


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent=indent) or [""]
