"""Import daily weather station files in the public GHCN-Daily layouts, each whole or not at all."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, cast, get_args

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from properties.domain.errors import DomainError
from scheduling.domain.station_bytes import whole_lines
from scheduling.domain.station_values import Layout, StationSpan, Units
from scheduling.services.weather import ImportReport, import_station_blocks
from scheduling.services.weather_files import TOLD

BAR_CELLS: Final = 30
PIECE_BYTES: Final = 1 << 20


class Command(BaseCommand):
    help = (
        "Import daily weather (GHCN-Daily layouts, plain or gzip; folders are searched for files)."
        " A second run changes nothing. A file that cannot be right stores nothing, and the next"
        " one is read all the same; the exit code is 1 if there was one."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", type=Path, nargs="+", metavar="file")
        parser.add_argument("--station", help="Take the days of this station's code alone.")
        parser.add_argument("--layout", choices=[layout.value for layout in Layout])
        parser.add_argument(
            "--units",
            choices=get_args(Units),
            help="For ordered files, which do not say. Temperatures betray wrong units; rain in"
            " inches that is read as millimetres cannot be told.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        paths = [path for given in options["files"] for path in _files_in(given)]
        refused = [
            refusal for path in paths if (refusal := self._import(path, len(paths), options))
        ]
        if len(paths) == 1 and refused:
            raise CommandError(refused[0])
        for refusal in refused:
            self.stderr.write(refusal)
        if refused or not paths:
            raise CommandError(
                f"{len(refused)} of {len(paths)} files refused."
                if paths
                else "No file is there. Name station files, or folders that hold some."
            )

    def _import(self, path: Path, count: int, options: dict[str, Any]) -> str:
        """Store one file and print its report; return why it was refused, if it was."""
        try:
            report = import_station_blocks(
                whole_lines(self._pieces(path), name=path.name),
                layout=Layout(options["layout"]) if options["layout"] else None,
                units=cast(Units | None, options["units"]),
                only_station=options["station"],
                now=timezone.now(),
            )
        except OSError as error:
            return f"{path.name} cannot be read: {error}. Nothing was stored."
        except DomainError as refusal:
            return f"{path.name}: {refusal} Nothing was stored."
        if count > 1:
            self.stdout.write(f"{path.name}:")
        self._print(report)
        return ""

    def _pieces(self, path: Path) -> Iterator[bytes]:
        """Yield the file piece by piece, and draw how far it is read on a terminal."""
        size, done = max(path.stat().st_size, 1), 0
        try:
            with path.open("rb") as file:
                while piece := file.read(PIECE_BYTES):
                    done += len(piece)
                    yield piece
                    self._draw(path.name, done / size)
        finally:
            self._draw("", None)

    def _draw(self, name: str, share: float | None) -> None:
        if not sys.stderr.isatty():
            return
        if share is None:
            self.stderr.write("", ending="\n")
            return
        full = round(BAR_CELLS * share)
        bar = "#" * full + "." * (BAR_CELLS - full)
        self.stderr.write(f"\r[{bar}] {share:4.0%} {name}", ending="")
        self.stderr.flush()

    def _print(self, report: ImportReport) -> None:
        reading = report.reading
        self.stdout.write(
            f"{reading.lines_read} lines read, {reading.values_accepted} values accepted.\n"
            f"Days: {report.days_added} added, {report.days_changed} changed,"
            f" {report.days_unchanged} unchanged."
        )
        for span in reading.spans[:TOLD]:
            self.stdout.write(_gaps(span))
        for sentence in _left_out(report):
            self.stdout.write(sentence)
        for problem in reading.problems:
            self.stdout.write(
                f"Line {problem.line_number}, {problem.field}: {problem.detail}"
                f" {problem.remedy} [{problem.excerpt}]"
            )
        if reading.problem_count > len(reading.problems):
            more = reading.problem_count - len(reading.problems)
            self.stdout.write(f"... and {more} more lines refused.")


def _files_in(given: Path) -> list[Path]:
    """Return the files below a folder, hidden ones left out; a file as it is."""
    if not given.is_dir():
        return [given]
    below = (path for path in sorted(given.rglob("*")) if path.is_file())
    return [path for path in below if not path.name.startswith(".")]


def _gaps(span: StationSpan) -> str:
    days = f"{span.station_code}: {span.days} days from {span.first_date} to {span.last_date}"
    if not span.days_missing:
        return f"{days}, none missing."
    return f"{days}, {span.days_missing} missing (longest gap {span.longest_gap_days} days)."


def _left_out(report: ImportReport) -> Iterator[str]:
    reading = report.reading
    if reading.values_repeated:
        yield f"Repeated word for word: {reading.values_repeated} values."
    if reading.multiday_totals:
        yield f"Rain of several days in one total, left out: {reading.multiday_totals} values."
    for flag, count in sorted(reading.dropped_by_flag.items()):
        yield f"Dropped for quality flag {flag}: {count}."
    for code, count in sorted(reading.unwanted.most_common(TOLD)):
        yield f"Station {code} is not registered (or not asked for): {count} values left out."
    if len(reading.unwanted) > TOLD:
        yield f"... and {len(reading.unwanted) - TOLD} more stations."
    if report.impossible_days:
        yield f"Days whose values contradict stored ones: {report.impossible_days}."
