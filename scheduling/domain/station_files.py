"""The door to daily weather station files: name the layout, read the lines, hear the refusals."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import chain, islice
from typing import Final, get_args

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_checks import TENTHS, ValueCheck, ordered_scale
from scheduling.domain.station_days import OPEN_DAYS, fold_days
from scheduling.domain.station_layouts import (
    DayTable,
    LineReader,
    detect_layout,
    element_line_cells,
    month_line_cells,
)
from scheduling.domain.station_values import (
    Cell,
    DayReading,
    ElementValue,
    Layout,
    ReadingReport,
    Units,
)

__all__ = ["LINE_LIMIT_CHARS", "StationFile", "detect_layout", "read_station_file"]

LINE_LIMIT_CHARS: Final = 8192
"""Longer than the widest header; what is longer is no station file."""


class StationFile:
    """The lines of one file, read once, value by value or day by day.

    `report` is complete when the iterator has come to its end; so is what `check_units` knows.
    """

    def __init__(
        self,
        lines: Iterator[str],
        *,
        layout: Layout,
        units: Units | None,
        last_date: dt.date | None,
    ) -> None:
        self.layout = layout
        self.units = units
        self.report = ReadingReport()
        self._lines = lines
        self._check = ValueCheck(
            TENTHS if units is None else ordered_scale(units), self.report, last_date
        )
        self._cells = self._line_reader()

    def values(self) -> Iterator[ElementValue]:
        """Yield the accepted values in the order of the file, holding one line at a time."""
        for line in self._lines:
            self.report.lines_read += 1
            for cell in self._line_cells(line):
                try:
                    value = self._check.accept(cell, self.report.lines_read)
                except InvalidInputError as refusal:
                    self.report.note(refusal, self.report.lines_read, line)
                else:
                    if value is not None:
                        yield value

    def days(self, *, open_days: int = OPEN_DAYS) -> Iterator[DayReading]:
        """Yield the days; see `fold_days` for what is held meanwhile and how to store them."""
        return fold_days(self.values(), self.report, open_days=open_days)

    def check_units(self) -> None:
        """Refuse the whole reading if the temperatures contradict the units named by the caller.

        To be called after the last value and before anything read is kept.

        Raises
        ------
        InvalidInputError
            Code `doubtful-units`.
        """
        if self.units is not None:
            self._check.check_units(self.units)

    def _line_reader(self) -> LineReader:
        if self.layout is Layout.BY_STATION:
            return element_line_cells
        if self.layout is Layout.DLY:
            return month_line_cells
        header = next(self._lines, "")
        self.report.lines_read += 1
        return DayTable.from_header(header).cells

    def _line_cells(self, line: str) -> list[Cell]:
        try:
            if len(line) > LINE_LIMIT_CHARS:
                raise _too_long()
            cells = self._cells(line)
        except InvalidInputError as refusal:
            if line.strip():
                self.report.note(refusal, self.report.lines_read, line)
            return []
        self.report.lines_passed_over += not cells
        return cells


def read_station_file(
    lines: Iterable[str],
    layout: Layout | None = None,
    units: Units | None = None,
    *,
    last_date: dt.date | None = None,
) -> StationFile:
    """Open the lines of a daily weather station file for reading.

    A broken line, a doubtful value or a repetition is refused, reported by its line number, and the
    reading goes on; only a file that cannot be understood as a whole is refused here.

    Parameters
    ----------
    lines : the lines of the file, in order; any iterable of text. Whoever reads them from a stream
        that is not trusted should use `readline(LINE_LIMIT_CHARS + 1)`, so that a file without line
        ends is never held whole.
    layout : None to tell it by the first line.
    units : "metric" or "standard" for an ordered file, which does not say; None for all others.
    last_date : the last day on which something can have been measured; later ones are refused.

    Raises
    ------
    InvalidInputError
        For an unknown layout, a header without the columns needed, or units that are missing or
        named where the layout fixes them.
    """
    remaining = iter(lines)
    first = [line.removeprefix("\ufeff") for line in islice(remaining, 1)]
    if layout is None:
        layout = detect_layout("".join(first))
    _check_units_named(layout, units)
    return StationFile(chain(first, remaining), layout=layout, units=units, last_date=last_date)


def _check_units_named(layout: Layout, units: Units | None) -> None:
    is_ordered = layout is Layout.DAILY_SUMMARIES
    if is_ordered and units not in get_args(Units):
        raise InvalidInputError(
            "An ordered file does not say whether its values are metric or standard.",
            field="units", code="units-needed",
            remedy="Name its units: metric (degC, mm) or standard (degF, in).",
        )  # fmt: skip
    if not is_ordered and units is not None:
        raise InvalidInputError(
            f"The layout {layout} fixes its own units.",
            field="units", code="units-not-wanted",
            remedy=f"Leave the units out, or read the file as {Layout.DAILY_SUMMARIES}.",
        )  # fmt: skip


def _too_long() -> InvalidInputError:
    return InvalidInputError(
        f"The line is longer than {LINE_LIMIT_CHARS} characters.",
        field="line", remedy="Send a station file with one record a line.",
    )  # fmt: skip
