"""Import a daily weather station file in one of the public GHCN-Daily layouts."""

from __future__ import annotations

import gzip
import io
import sys
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any, Final, cast, get_args

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from properties.domain.errors import DomainError
from scheduling.domain.station_files import LINE_LIMIT_CHARS
from scheduling.domain.station_values import Layout, Units
from scheduling.services.weather import ImportReport, import_station_file

GZIP_MAGIC: Final = b"\x1f\x8b"
BAR_CELLS: Final = 30
LINES_BETWEEN_LOOKS: Final = 5000


class Command(BaseCommand):
    help = "Import daily weather (GHCN-Daily layouts, plain or gzip). A second run changes nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--layout", choices=[layout.value for layout in Layout])
        parser.add_argument(
            "--units", choices=get_args(Units), help="For ordered files, which do not say."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        layout = Layout(options["layout"]) if options["layout"] else None
        try:
            with path.open("rb") as raw:
                report = import_station_file(
                    self._lines(raw, path.stat().st_size),
                    layout=layout, units=options["units"], now=timezone.now(),
                )  # fmt: skip
        except (OSError, EOFError, zlib.error, UnicodeDecodeError) as error:
            raise CommandError(
                f"{path.name} cannot be read: {error}. Nothing was stored."
            ) from error
        except DomainError as refusal:
            raise CommandError(f"{refusal} Nothing was stored.") from refusal
        self._print(report)

    def _lines(self, raw: io.BufferedReader, size: int) -> Iterator[str]:
        """Yield lines of bounded length, and draw how far the file is read on a terminal."""
        packed = raw.peek(2)[:2] == GZIP_MAGIC
        stream = cast(IO[bytes], gzip.GzipFile(fileobj=raw)) if packed else raw
        with io.TextIOWrapper(stream, encoding="utf-8") as text:
            lines = iter(lambda: text.readline(LINE_LIMIT_CHARS + 1), "")
            for count, line in enumerate(lines, start=1):
                if count % LINES_BETWEEN_LOOKS == 0:
                    self._draw(raw.tell() / max(size, 1))
                yield line
        self._draw(1.0, end="\n")

    def _draw(self, share: float, end: str = "") -> None:
        if sys.stderr.isatty():
            full = round(BAR_CELLS * share)
            bar = "#" * full + "." * (BAR_CELLS - full)
            self.stderr.write(f"\r[{bar}] {share:4.0%}", ending=end)

    def _print(self, report: ImportReport) -> None:
        reading = report.reading
        self.stdout.write(
            f"{reading.lines_read} lines read, {reading.values_accepted} values accepted.\n"
            f"Days: {report.days_added} added, {report.days_changed} changed,"
            f" {report.days_unchanged} unchanged."
        )
        for flag, count in sorted(reading.dropped_by_flag.items()):
            self.stdout.write(f"Dropped for quality flag {flag}: {count}.")
        for code, count in sorted(report.unknown_stations.items()):
            self.stdout.write(f"Station {code} is not registered: {count} days left out.")
        if report.impossible_days:
            self.stdout.write(
                f"Days whose temperatures contradict stored ones: {report.impossible_days}."
            )
        for problem in reading.problems:
            self.stdout.write(
                f"Line {problem.line_number}, {problem.field}: {problem.detail}"
                f" {problem.remedy} [{problem.excerpt}]"
            )
        if reading.problem_count > len(reading.problems):
            more = reading.problem_count - len(reading.problems)
            self.stdout.write(f"... and {more} more lines refused.")
