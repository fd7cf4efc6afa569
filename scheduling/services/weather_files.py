"""Station files that are sent in: kept once, read by a job, and told what became of them.

1. `keep_weather_file` looks at the beginning of the file, stores its bytes in parts of a megabyte
   and asks for a job; the same bytes are the same row.
2. The job reads them part by part into days, writes the report into the row and drops the parts,
   all in the transaction of the job: one that dies in the middle leaves everything as it was.
3. A file that is refused as a whole stores no days; its report says why. It is read again when it
   is sent again, and so is one with stations that nobody had registered.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterator
from dataclasses import asdict
from io import SEEK_END
from itertools import count, islice
from typing import IO, Any, Final, cast
from uuid import UUID

from django.conf import settings
from django.db import transaction

from properties.domain.errors import DomainError, InvalidInputError
from properties.models import Company, Job, StaffMember
from properties.services.jobs import ask_for
from properties.services.rows import add_row, change_row
from scheduling.domain.station_bytes import whole_lines
from scheduling.domain.station_files import read_station_blocks
from scheduling.domain.station_values import Layout, Units
from scheduling.models import WeatherFile
from scheduling.models.weather_files import WeatherFilePart
from scheduling.services.job_kinds import WEATHER_FILE
from scheduling.services.weather import import_station_blocks
from scheduling.services.weather_days import ImportReport

PIECE_BYTES: Final = 1 << 20
FORM_BYTES: Final = 16 * 1024
"""What the form around a file may take."""

TOLD: Final = 100
"""Of a list in a report, so many entries are kept."""


def max_file_bytes() -> int:
    """Return how large a file may be as it is sent [bytes]; setting WEATHER_FILE_MAX_BYTES."""
    return int(settings.WEATHER_FILE_MAX_BYTES)


def max_lines() -> int:
    """Return how many lines a file may have; setting WEATHER_FILE_MAX_LINES.

    While a file is read nobody else can store days, so that this bounds how long they wait.
    """
    return int(settings.WEATHER_FILE_MAX_LINES)


def max_unpacked_bytes() -> int:
    """Return how much may come out of a file [bytes]; setting WEATHER_FILE_MAX_UNPACKED_BYTES."""
    return int(settings.WEATHER_FILE_MAX_UNPACKED_BYTES)


@transaction.atomic
def keep_weather_file(
    sent: IO[bytes],
    *,
    name: str,
    layout: Layout | None,
    units: Units | None,
    actor: StaffMember,
    now: dt.datetime,
) -> tuple[WeatherFile, Job | None]:
    """Keep a file and ask for the job that reads it; without a job it was read well before.

    Raises
    ------
    InvalidInputError
        For a file that is empty or too large, that begins like no station file, or whose units are
        missing.
    """
    size_bytes = sent.seek(0, SEEK_END)
    _check_size(size_bytes)
    name = "".join(char if char.isprintable() else "?" for char in name)
    _check_beginning(sent, name, layout, units)
    Company.objects.select_for_update(no_key=True).get()  # who sends the same meanwhile waits
    facts = {"layout": layout or "", "units": units or "", "sha256": _digest(sent)}
    file = WeatherFile.objects.filter(**facts).first()
    if file is None:
        values = {**facts, "name": name, "size_bytes": size_bytes}
        file = add_row(WeatherFile, values, actor=actor, now=now, act="sent")
        _store_parts(file, sent)
    elif file.read_at is not None:
        if not _is_worth_reading_again(file):
            return file, None
        again = {"report": None, "read_at": None}
        change_row(file, again, actor=actor, now=now, act="sent again")
        _store_parts(file, sent)
    return file, ask_for(WEATHER_FILE, file.pk, asked_by=actor, now=now)


def read_weather_file(file_id: UUID, now: dt.datetime) -> dict[str, Any]:
    """Do the background job of that name; a second run finds the file read and changes nothing."""
    file = WeatherFile.objects.select_for_update().get(pk=file_id)
    if file.read_at is not None:
        return counts_of(file)
    try:
        report = told(_import(file, now))
    except DomainError as refusal:
        report = {"refusal": _refusal(refusal)}
    file.parts.all().delete()
    changes = {"report": report, "read_at": now}
    act = "refused" if "refusal" in report else "read"
    return counts_of(change_row(file, changes, actor=None, now=now, act=act))


def counts_of(file: WeatherFile) -> dict[str, Any]:
    """Return the numbers of a file's report and its refusal, without the lists."""
    return {
        name: value
        for name, value in (file.report or {}).items()
        if isinstance(value, int) or name == "refusal"
    }


def told(report: ImportReport) -> dict[str, Any]:
    """Return the report of an import as JSON."""
    reading = report.reading
    return {
        "lines": reading.lines_read,
        "lines_passed_over": reading.lines_passed_over,
        "values": reading.values_accepted,
        "values_missing": reading.values_missing,
        "values_repeated": reading.values_repeated,
        "multiday_totals": reading.multiday_totals,
        "dropped_by_flag": dict(sorted(reading.dropped_by_flag.items())),
        "days_added": report.days_added,
        "days_changed": report.days_changed,
        "days_unchanged": report.days_unchanged,
        "days_contradicting": report.impossible_days,
        "lines_refused": reading.problem_count,
        "refused": [asdict(problem) for problem in reading.problems],
        "stations": [
            {**asdict(span), "first_date": str(span.first_date), "last_date": str(span.last_date)}
            for span in reading.spans[:TOLD]
        ],
        "stations_unknown": len(reading.unwanted),
        "values_of_unknown_stations": reading.unwanted_values,
        "unknown": dict(reading.unwanted.most_common(TOLD)),
    }


@transaction.atomic
def _import(file: WeatherFile, now: dt.datetime) -> ImportReport:
    return import_station_blocks(
        _lines(_stored_pieces(file), file.name),
        layout=Layout(file.layout) if file.layout else None,
        units=cast(Units, file.units) if file.units else None,
        now=now,
    )


def _lines(pieces: Iterator[bytes], name: str) -> Iterator[bytes]:
    return whole_lines(pieces, name=name, limit_bytes=max_unpacked_bytes(), limit_lines=max_lines())


def _sent_pieces(sent: IO[bytes]) -> Iterator[bytes]:
    sent.seek(0)
    while piece := sent.read(PIECE_BYTES):
        yield piece


def _digest(sent: IO[bytes]) -> str:
    digest = hashlib.sha256()
    for piece in _sent_pieces(sent):
        digest.update(piece)
    return digest.hexdigest()


def _store_parts(file: WeatherFile, sent: IO[bytes]) -> None:
    for number, piece in enumerate(_sent_pieces(sent)):
        WeatherFilePart.objects.create(file=file, number=number, content=piece)


def _stored_pieces(file: WeatherFile) -> Iterator[bytes]:
    for number in count():
        part = file.parts.filter(number=number).first()
        if part is None:
            return
        yield bytes(part.content)


def _is_worth_reading_again(file: WeatherFile) -> bool:
    report = file.report or {}
    return "refusal" in report or bool(report.get("stations_unknown"))


def _check_beginning(
    sent: IO[bytes], name: str, layout: Layout | None, units: Units | None
) -> None:
    """Refuse at once what the first megabyte shows to be no station file."""
    read_station_blocks(islice(_lines(_sent_pieces(sent), name), 1), layout, units)


def check_sent_bytes(size_bytes: int) -> None:
    """Refuse a file by what its sender says of its size [bytes], before it is taken in."""
    if size_bytes > max_file_bytes() + FORM_BYTES:
        _check_size(size_bytes)


def _check_size(size_bytes: int) -> None:
    if not size_bytes:
        raise _too("The file is empty.", "empty-file", "Send a file with lines.")
    if size_bytes > max_file_bytes():
        raise _too(
            f"The file is larger than {max_file_bytes() / 2**20:g} MB.", "file-too-large",
            "Pack it with gzip, or send it in parts, by station or by year.",
        )  # fmt: skip


def _too(detail: str, code: str, remedy: str) -> InvalidInputError:
    return InvalidInputError(detail, field="file", code=code, remedy=remedy)


def _refusal(refusal: DomainError) -> dict[str, str]:
    return {
        "code": refusal.code,
        "field": refusal.field,
        "detail": refusal.detail,
        "remedy": refusal.remedy,
    }
