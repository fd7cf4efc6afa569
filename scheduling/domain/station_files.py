"""The door to daily weather station files: name the layout, read the lines, hear the refusals."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import chain, islice
from typing import Final, get_args

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_bulk import BlockReader, BulkReader
from scheduling.domain.station_bulk_days import DayTableReader
from scheduling.domain.station_bytes import LINE_LIMIT_CHARS
from scheduling.domain.station_checks import TENTHS, ValueCheck, ordered_scale
from scheduling.domain.station_days import OPEN_YEARS, DayBatch, DayFold
from scheduling.domain.station_layouts import (
    DayTable,
    LineReader,
    detect_layout,
    element_line_cells,
    month_line_cells,
)
from scheduling.domain.station_tables import StationList, ValueTable, in_order_of_lines, table_of
from scheduling.domain.station_values import (
    Cell,
    DayReading,
    ElementValue,
    Layout,
    ReadingReport,
    Units,
)

__all__ = [
    "LINE_LIMIT_CHARS",
    "StationFile",
    "detect_layout",
    "read_station_blocks",
    "read_station_file",
]

LINES_A_BLOCK: Final = 10_000


class StationFile:
    """The lines of one file, read once, value by value or day by day.

    `report` is complete when the iterator has come to its end; so is what `check_units` knows.
    """

    def __init__(
        self,
        blocks: Iterator[bytes],
        *,
        layout: Layout,
        units: Units | None,
        last_date: dt.date | None,
        wanted: frozenset[str] | None,
    ) -> None:
        self.layout = layout
        self.units = units
        self.report = ReadingReport()
        self._blocks = blocks
        self._stations = StationList(wanted)
        self._scale = TENTHS if units is None else ordered_scale(units)
        self._check = ValueCheck(self._scale, self.report, last_date)
        self._bulk = BulkReader(self._stations, self.report, last_date)
        self._cells, self._read_block = self._readers()

    def values(self) -> Iterator[ElementValue]:
        """Yield the accepted values in the order of the file, each line read carefully."""
        for block in self._blocks:
            for line in _texts(block):
                self.report.lines_read += 1
                yield from self._values_of(line, self.report.lines_read)

    def batches(self, *, open_years: int = OPEN_YEARS, in_bulk: bool = True) -> Iterator[DayBatch]:
        """Yield the days; see `DayFold` for what is held meanwhile and how to store them.

        Regular lines are read in bulk unless that is turned off; the days and the counts of the
        report are the same, only slower in coming.
        """
        fold = DayFold(self.report, self._stations.codes, open_years=open_years)
        read = self._read_block if in_bulk else _leave_all
        for block in self._blocks:
            yield from fold.add(self._table(block, read))
        yield from fold.close()
        self.report.problems.sort(key=lambda problem: problem.line_number)

    def days(self, *, open_years: int = OPEN_YEARS, in_bulk: bool = True) -> Iterator[DayReading]:
        """Yield the days one by one."""
        for batch in self.batches(open_years=open_years, in_bulk=in_bulk):
            yield from batch.readings()

    def check_units(self) -> None:
        """Refuse the whole reading if the temperatures contradict the units named by the caller.

        To be called after the last value and before anything read is kept. Rain in inches that
        is read as millimetres cannot be told from the numbers.

        Raises
        ------
        InvalidInputError
            Code `doubtful-units`.
        """
        if self.units is not None:
            self._check.check_units(self.units)

    def _readers(self) -> tuple[LineReader, BlockReader]:
        """Return the careful reader of lines and the fast one of blocks."""
        if self.layout is Layout.BY_STATION:
            return element_line_cells, self._bulk.element_lines
        if self.layout is Layout.DLY:
            return month_line_cells, self._bulk.month_lines
        first = next(self._blocks, b"\n")
        header, _, rest = first.partition(b"\n")
        self._blocks = chain([rest] if rest else [], self._blocks)
        self.report.lines_read += 1
        table = DayTable.from_header(_text(header))
        reader = DayTableReader(
            table, self._scale, bulk=self._bulk, check=self._check, report=self.report
        )
        return table.cells, reader.day_lines

    def _table(self, block: bytes, read: BlockReader) -> ValueTable:
        before = self.report.lines_read
        table, left = read(block, before)
        self.report.lines_read += block.count(b"\n")
        if not left:
            return table
        lines = block.split(b"\n")
        values = [
            value
            for place in left
            for value in self._values_of(_text(lines[place]), before + place + 1)
        ]
        return in_order_of_lines(table, table_of(values, self._stations))

    def _values_of(self, line: str, number: int) -> Iterator[ElementValue]:
        for cell in self._line_cells(line, number):
            if self._stations.place(cell[0]) < 0:
                self.report.leave_out(cell[0])
                continue
            try:
                value = self._check.accept(cell, number)
            except InvalidInputError as refusal:
                self.report.note(refusal, number, line)
            else:
                if value is not None:
                    yield value

    def _line_cells(self, line: str, number: int) -> list[Cell]:
        try:
            if len(line) > LINE_LIMIT_CHARS:
                raise _too_long()
            cells = self._cells(line)
        except InvalidInputError as refusal:
            if line.strip():
                self.report.note(refusal, number, line)
            return []
        self.report.lines_passed_over += not cells
        return cells


def read_station_blocks(
    blocks: Iterable[bytes],
    layout: Layout | None = None,
    units: Units | None = None,
    *,
    last_date: dt.date | None = None,
    wanted: frozenset[str] | None = None,
) -> StationFile:
    """Open a daily weather station file for reading.

    A broken line, a doubtful value or a repetition is refused, reported by its line number, and the
    reading goes on; only a file that cannot be understood as a whole is refused here.

    Parameters
    ----------
    blocks : the file in order, in blocks of whole lines each with its line end, of at most some
        megabytes; `station_bytes.whole_lines` makes them of any bytes.
    layout : None to tell it by the first line.
    units : "metric" or "standard" for an ordered file, which does not say; None for all others.
    last_date : the last day on which something can have been measured; later ones are refused.
    wanted : codes of the stations to read; values of others are counted and left out. None reads
        all.

    Raises
    ------
    InvalidInputError
        For an unknown layout, a header without the columns needed, or units that are missing or
        named where the layout fixes them.
    """
    remaining = iter(blocks)
    first = [block.removeprefix(b"\xef\xbb\xbf") for block in islice(remaining, 1)]
    if layout is None:
        layout = detect_layout(_text(b"".join(first).partition(b"\n")[0]))
    _check_units_named(layout, units)
    return StationFile(
        chain(first, remaining), layout=layout, units=units, last_date=last_date, wanted=wanted
    )


def read_station_file(
    lines: Iterable[str],
    layout: Layout | None = None,
    units: Units | None = None,
    *,
    last_date: dt.date | None = None,
    wanted: frozenset[str] | None = None,
) -> StationFile:
    """Open lines of text for reading, as `read_station_blocks` opens bytes."""
    blocks = _blocks_of(iter(lines))
    return read_station_blocks(blocks, layout, units, last_date=last_date, wanted=wanted)


def _blocks_of(lines: Iterator[str]) -> Iterator[bytes]:
    while some := list(islice(lines, LINES_A_BLOCK)):
        yield "".join(line.rstrip("\r\n").replace("\n", " ") + "\n" for line in some).encode()


def _leave_all(block: bytes, lines_before: int) -> tuple[ValueTable, list[int]]:
    return in_order_of_lines(), list(range(block.count(b"\n")))


def _texts(block: bytes) -> Iterator[str]:
    return map(_text, block.split(b"\n")[:-1])


def _text(line: bytes) -> str:
    return line.decode("utf-8", errors="replace")


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
