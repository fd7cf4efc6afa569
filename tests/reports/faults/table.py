"""The table of faults and outcomes, printed at the end of a run, in one process or in several."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

COLUMNS = ("fault", "queued", "sent", "seen twice", "runs open", "seconds", "note")
PROPERTY = "fault outcome"


def print_table(reporter: Any) -> None:
    rows = list(rows_of(reporter))
    if not rows:
        return
    reporter.section("faults and outcomes")
    lines = [COLUMNS, *([str(row[name]) for name in COLUMNS] for row in rows)]
    widths = [max(len(line[at]) for line in lines) for at in range(len(COLUMNS))]
    for line in lines:
        cells = (
            cell.rjust(width) if 0 < at < len(COLUMNS) - 1 else cell.ljust(width)
            for at, (cell, width) in enumerate(zip(line, widths, strict=True))
        )
        reporter.write_line("  ".join(cells).rstrip())


def rows_of(reporter: Any) -> Iterator[dict[str, Any]]:
    reports = (
        report for outcome in ("passed", "failed") for report in reporter.getreports(outcome)
    )
    for report in reports:
        if report.when == "call":
            yield from (
                json.loads(text) for name, text in report.user_properties if name == PROPERTY
            )
