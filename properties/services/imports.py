"""Bringing rows in from a spreadsheet: looked at first, then written as a whole or not at all.

1. `keep_import` looks at the headings, stores the bytes in parts of a megabyte and asks for a job
   that looks at the rows. Nothing is written by that.
2. The office reads the report and asks for the writing (`ask_to_write`), or cancels.
3. The second job looks anew, for the database may have changed, and then writes what is spooled,
   all in its one transaction: killed in the middle it leaves everything as it was.

Both jobs look outside of the transaction (`gather`), so that others see how far they are. The lines
of the report are written there too: they are the import's alone, and each look begins them anew.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from contextlib import closing, nullcontext
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import IO, Any, Final
from uuid import UUID

from django.db import transaction

from properties.domain.errors import DomainError, RefusedError
from properties.domain.spreadsheet_columns import Kind
from properties.models import Import, ImportLine, ImportState, Job, StaffMember
from properties.models.jobs import OPEN_STATES as OPEN_JOBS
from properties.services.bulk_rows import Change, add_rows, change_rows
from properties.services.import_files import (
    digest_of,
    sent_pieces,
    size_of,
    store_parts,
    stored_pieces,
)
from properties.services.import_plans import form_of, make_plan, planned_steps, refusal_of
from properties.services.import_rows import MODELS
from properties.services.import_steps import Judged
from properties.services.jobs import ask_for
from properties.services.rows import add_row, change_row

LOOK: Final = "import-look"
WRITE: Final = "import-write"
KEPT: Final = timedelta(days=30)
CANCELLED_AT_ONCE: Final = 20
OPEN_STATES: Final = (ImportState.SENT, ImportState.LOOKED_AT, ImportState.TO_WRITE)


class _CancelledError(Exception):
    """The import was cancelled while somebody looked at it."""


@dataclass
class Looked:
    """What came of a look: a report, and the steps to write."""

    report: dict[str, Any]
    spool: IO[str] | None = None


@transaction.atomic
def keep_import(
    sent: IO[bytes],
    *,
    kind: Kind,
    name: str,
    said: Mapping[str, Any],
    actor: StaffMember,
    now: datetime,
) -> tuple[Import, Job]:
    """Keep a file and ask for the job that looks at it; nothing is written before it is asked for.

    The same file sent again with the same words, while nobody looked at it yet, is the same import.

    Raises
    ------
    InvalidInputError
        For a file that is empty or too large, or whose headings are not those of the kind.
    """
    size_bytes = size_of(sent)
    form_of(kind, said, partial(sent_pieces, sent))
    facts = {"kind": kind.value, "said": dict(said), "sha256": digest_of(sent)}
    sheet = Import.objects.filter(**facts, state=ImportState.SENT).first()
    if sheet is None:
        name = "".join(char if char.isprintable() else "?" for char in name)
        values = {**facts, "name": name, "size_bytes": size_bytes}
        sheet = add_row(Import, values, actor=actor, now=now, act="sent")
        store_parts(sheet, sent)
    return sheet, _job(LOOK, sheet, actor, now)


def _job(kind: str, sheet: Import, actor: StaffMember, now: datetime) -> Job:
    """Return the job that is at the import already, or ask for one: two spoil each other's work."""
    open_jobs = Job.objects.filter(kind=kind, subject_id=sheet.pk, state__in=OPEN_JOBS)
    return open_jobs.first() or ask_for(kind, sheet.pk, asked_by=actor, now=now)


@transaction.atomic
def ask_to_write(
    sheet: Import, *, only_good_rows: bool, actor: StaffMember, now: datetime
) -> tuple[Import, Job]:
    """Ask for the job that writes an import that was looked at.

    Raises
    ------
    RefusedError
        Before anybody looked at it, after it ended, and where rows have faults unless the others
        are to be written without them.
    """
    held = Import.objects.select_for_update().get(pk=sheet.pk)
    if held.state == ImportState.TO_WRITE and held.only_good_rows == only_good_rows:
        return held, _job(WRITE, held, actor, now)
    if held.state != ImportState.LOOKED_AT:
        raise RefusedError(
            f"This import is {ImportState(held.state).label.lower()}.",
            code="not-looked-at", field="state",
            remedy="Wait for the report, or send the file again.",
        )  # fmt: skip
    refused = (held.report or {}).get("refused", 0)
    if refused and not only_good_rows:
        raise _faulty(refused)
    changes = {"state": ImportState.TO_WRITE, "only_good_rows": only_good_rows, "rows_done": 0}
    change_row(held, changes, actor=actor, now=now, act="asked to write")
    return held, ask_for(WRITE, held.pk, asked_by=actor, now=now)


@transaction.atomic
def cancel_import(sheet: Import, *, actor: StaffMember | None, now: datetime) -> Import:
    """Cancel an import that is not written yet; a second time changes nothing."""
    held = Import.objects.select_for_update().get(pk=sheet.pk)
    if held.state == ImportState.CANCELLED:
        return held
    if held.state not in OPEN_STATES:
        raise RefusedError(
            f"This import is {ImportState(held.state).label.lower()}.",
            code="import-ended", field="state", remedy="There is nothing left to cancel.",
        )  # fmt: skip
    return _end(held, ImportState.CANCELLED, {}, actor=actor, now=now, act="cancelled")


def cancel_forgotten_imports(*, now: datetime) -> int:
    """Cancel what nobody had written for a month, so that its contact values do not stay."""
    forgotten = Import.objects.filter(state__in=OPEN_STATES, changed_at__lt=now - KEPT)
    sheets = list(forgotten.order_by("pk")[:CANCELLED_AT_ONCE])
    for sheet in sheets:
        cancel_import(sheet, actor=None, now=now)
    return len(sheets)


def look_at_import(import_id: UUID, now: datetime) -> Looked | None:
    """Look at the rows of a file and tell of each; None where nobody waits for it any more."""
    return _look(import_id, now, None)


def plan_writing(import_id: UUID, now: datetime) -> Looked | None:
    """Look at a file as `look_at_import` does, and keep what is to be written."""
    spool = tempfile.TemporaryFile("w+", encoding="utf-8")  # noqa: SIM115 (the handler closes it)
    try:
        looked = _look(import_id, now, spool)
    except BaseException:
        spool.close()
        raise
    if looked is None or looked.spool is None:
        spool.close()
    return looked


def _look(import_id: UUID, now: datetime, spool: IO[str] | None) -> Looked | None:
    sheet = Import.objects.get(pk=import_id)
    if sheet.state not in (ImportState.SENT, ImportState.TO_WRITE):
        return None
    sheet.lines.all().delete()
    source, tell = partial(stored_pieces, sheet), partial(_tell, sheet)
    try:
        plan = make_plan(sheet, source, now=now, tell=tell, spool=spool)
    except _CancelledError:
        return None
    except DomainError as refusal:
        return Looked({"refusal": refusal_of(refusal)})
    return Looked(plan.report(), spool)


def store_look(import_id: UUID, now: datetime, looked: Looked | None) -> dict[str, Any]:
    """Do the job of the first look: keep its report; a second run changes nothing."""
    sheet = Import.objects.select_for_update().get(pk=import_id)
    if looked is None or sheet.state != ImportState.SENT:
        return result_of(sheet)
    if "refusal" in looked.report:
        ended = _end(
            sheet,
            ImportState.UNREADABLE,
            looked.report,
            actor=None,
            now=now,
            act="found unreadable",
        )
        return result_of(ended)
    changes = {"state": ImportState.LOOKED_AT, "report": looked.report, "looked_at_at": now}
    return result_of(change_row(sheet, changes, actor=None, now=now, act="looked at"))


def write_import(import_id: UUID, now: datetime, looked: Looked | None) -> dict[str, Any]:
    """Do the job of the writing: everything that the look found right, or nothing."""
    with closing(looked.spool) if looked and looked.spool else nullcontext():
        return _write_looked(import_id, now, looked)


def _write_looked(import_id: UUID, now: datetime, looked: Looked | None) -> dict[str, Any]:
    sheet = Import.objects.select_for_update().get(pk=import_id)
    if looked is None or sheet.state != ImportState.TO_WRITE:
        return result_of(sheet)
    refused = looked.report.get("refused", 0)
    if looked.spool is None or (refused and not sheet.only_good_rows):
        refusal = looked.report.get("refusal") or refusal_of(_faulty(refused))
        report = {**looked.report, "refusal": refusal}
        changes = {"state": ImportState.LOOKED_AT, "report": report, "looked_at_at": now}
        return result_of(change_row(sheet, changes, actor=None, now=now, act="not written"))
    actor = Job.objects.filter(kind=WRITE, subject_id=import_id).latest("id").asked_by
    for steps in planned_steps(looked.spool):
        _write(steps, actor, now)
    ended = _end(sheet, ImportState.WRITTEN, looked.report, actor=actor, now=now, act="written")
    return result_of(ended)


def result_of(sheet: Import) -> dict[str, Any]:
    """Return the state and the numbers of an import, as the job tells them."""
    report = sheet.report or {}
    names = ("rows", "made", "changed", "unchanged", "refused", "faults", "refusal")
    return {"state": sheet.state, **{name: report[name] for name in names if name in report}}


def _write(
    steps: list[tuple[Kind, bool, dict[str, Any]]], actor: StaffMember | None, now: datetime
) -> None:
    """Make the rows of a block, owners first, and then change what is there."""
    for kind, model in MODELS.items():
        rows = [
            model(**{**said["values"], "id": said["id"]})
            for of, is_new, said in steps
            if of is kind and is_new
        ]
        add_rows(rows, actor=actor, now=now, act="imported")
    for kind, model in MODELS.items():
        changes = [
            Change(said["id"], said["revision"], said["values"])
            for of, is_new, said in steps
            if of is kind and not is_new
        ]
        change_rows(model, changes, actor=actor, now=now, act="changed by import")


def _tell(sheet: Import, judged: list[Judged], done: int, rows: int) -> None:
    """Let those who wait see how far the look is, and stop it when they do not wait any more."""
    ImportLine.objects.bulk_create(
        [
            ImportLine(
                sheet=sheet, row=each.row, outcome=each.outcome, reference=each.reference,
                changes=each.changes(), faults=[fault.as_json() for fault in each.faults],
            )
            for each in judged
        ],
        ignore_conflicts=True,
    )  # fmt: skip
    waiting = Import.objects.filter(pk=sheet.pk, state=sheet.state)
    if not waiting.update(rows=rows, rows_done=done):
        raise _CancelledError


def _end(
    sheet: Import,
    state: ImportState,
    report: dict[str, Any],
    *,
    actor: StaffMember | None,
    now: datetime,
    act: str,
) -> Import:
    """End an import and drop its bytes: what it brought in is in the rows."""
    sheet.parts.all().delete()
    changes = {"state": state, "ended_at": now, "report": report or sheet.report}
    return change_row(sheet, changes, actor=actor, now=now, act=act)


def _faulty(refused: int) -> RefusedError:
    return RefusedError(
        f"{refused:,} rows have faults; nothing was written.",
        code="rows-refused", field="only_good_rows",
        remedy="Put them right and send the file again, or ask for the good rows alone.",
    )  # fmt: skip
