"""Questions to past weather: stored with a job, answered once, outside of any transaction."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any, Final
from uuid import UUID

from django.db import transaction

from properties.domain.errors import DomainError, InvalidInputError, RefusedError
from properties.models import Job, JobState, Property, StaffMember
from properties.services.events import record_event
from properties.services.jobs import ask_for
from properties.services.rows import add_row
from scheduling.domain.replay_schedules import ALWAYS_WHOLE
from scheduling.domain.what_if import SetPercents
from scheduling.models import Replay
from scheduling.selectors.replay_answers import refused
from scheduling.selectors.replay_cases import PROGRAM, changes_of, programs_of
from scheduling.selectors.replay_weather import MOST_YEARS
from scheduling.selectors.replays import replay_answer, usual_variants
from scheduling.selectors.weather import stations_near
from scheduling.services.job_kinds import REPLAY

MOST_VARIANTS: Final = 8


@transaction.atomic
def ask_for_replay(
    property_: Property,
    question: Mapping[str, Any],
    *,
    actor: StaffMember,
    now: dt.datetime,
) -> tuple[Replay, Job]:
    """Store a question and ask for the job that answers it.

    `question` holds `first_year` and `last_year` (both or neither: the last five), `variants` and
    `entered`, the variants as they were sent; without variants the ideal and what is fitted are
    held against the found program.

    Raises
    ------
    InvalidInputError
        For years or variants that cannot be; the variant is named.
    RefusedError
        Without zones or a station, for then nothing can be replayed.
    """
    variants = list(question.get("variants") or usual_variants(property_))
    _check_years(question.get("first_year"), question.get("last_year"), now)
    _check_variants(variants, property_)
    stations_near(property_)
    asked = {
        "first_year": question.get("first_year"),
        "last_year": question.get("last_year"),
        "variants": variants,
        "entered": question.get("entered") or [],
    }
    values = {"property": property_, "asked": asked}
    row = add_row(Replay, values, actor=actor, now=now, act="asked")
    return row, ask_for(REPLAY, row.pk, asked_by=actor, now=now)


def gather_answer(replay_id: UUID, now: dt.datetime) -> dict[str, Any] | None:
    """Compute the answer; None where there is one. A refusal is an answer too: ask anew later."""
    row = Replay.objects.select_related("property").get(pk=replay_id)
    if row.answered_at is not None:
        return None
    try:
        return replay_answer(row, partial(_tell_progress, replay_id))
    except DomainError as refusal:
        return {"refusal": refused(refusal)}


def store_answer(
    replay_id: UUID, now: dt.datetime, answer: dict[str, Any] | None
) -> dict[str, Any]:
    """Do the background job of that name: the first answer stays.

    The event does not repeat the answer, which may be large and stands in the row.
    """
    row = Replay.objects.get(pk=replay_id)
    waiting = Replay.objects.filter(pk=replay_id, answered_at__isnull=True)
    changes = {"answer": answer, "answered_at": now, "changed_at": now}
    if answer is not None and waiting.update(**changes, revision=row.revision + 1):
        told = {"answered_at": now.isoformat(), "state": state_of(answer)}
        record_event(row, act="answered", actor=None, now=now, after=told)
    return {"state": state_of(Replay.objects.get(pk=replay_id).answer)}


def state_of(answer: Mapping[str, Any] | None) -> str:
    """Return how far a replay is: waiting, refused or answered."""
    if answer is None:
        return "waiting"
    return "refused" if "refusal" in answer else "answered"


def _tell_progress(replay_id: UUID, done: int, of: int) -> None:
    """Let those who wait see how many variants are done; the end of the job replaces it."""
    running = Job.objects.filter(kind=REPLAY, subject_id=replay_id, state=JobState.RUNNING)
    running.update(result={"variants_done": done, "variants": of})


def _check_years(first: int | None, last: int | None, now: dt.datetime) -> None:
    if (first is None) != (last is None):
        raise InvalidInputError(
            "Only one end of the years is given.",
            field="last_year" if last is None else "first_year", code="half-span",
            remedy="Give first_year and last_year, or neither for the last five.",
        )  # fmt: skip
    if first is None or last is None:
        return
    if not first <= last < first + MOST_YEARS:
        raise InvalidInputError(
            f"From {first} to {last} are no years to replay.",
            field="last_year", code="years",
            remedy=f"Give a last year from the first one on, {MOST_YEARS} years in all at most.",
        )  # fmt: skip
    if last > now.year:
        raise InvalidInputError(
            f"The year {last} has no weather yet.",
            field="last_year", code="future", remedy="Choose years that are over.",
        )  # fmt: skip


def _check_variants(variants: Sequence[Mapping[str, Any]], property_: Property) -> None:
    zone_ids = {
        str(pk) for pk in property_.zones.filter(is_active=True).values_list("pk", flat=True)
    }
    if not zone_ids:
        raise RefusedError(
            "This property has no active zone.",
            code="no-zones", field="property", remedy="Enter its zones first.",
        )  # fmt: skip
    names = [variant["name"] for variant in variants]
    if len(set(names)) < len(names):
        raise _wrong("Two variants have the same name.", "name-twice", "Give each its own name.")
    for variant in variants:
        _check_variant(variant, zone_ids)


def _check_variant(variant: Mapping[str, Any], zone_ids: set[str]) -> None:
    named = f"Variant {variant['name']}:"
    of_program = any(variant.get(name) for name in ("seasonal_percent", "anchor"))
    if variant["base"] != PROGRAM and of_program:
        raise _wrong(
            f"{named} seasonal_percent and anchor belong to a given program.",
            "programs", "Leave them out, or change the percentage by a change of that kind.",
        )  # fmt: skip
    if (variant["base"] == PROGRAM) != bool(variant.get("programs")):
        raise _wrong(
            f"{named} programs are given where the base is none, or the other way round.",
            "programs", "Give programs with the base 'program', and with no other.",
        )  # fmt: skip
    foreign = sorted(_zones_named(variant) - zone_ids)
    if foreign:
        raise _wrong(
            f"{named} the property has no active zone {foreign[0]}.",
            "foreign-zone", "Name active zones of this property.",
        )  # fmt: skip
    try:
        changes_of(variant)
        programs_of({"programs": variant.get("programs") or ()})
        SetPercents(seasonal_percent=tuple(variant.get("seasonal_percent") or ALWAYS_WHOLE))
    except InvalidInputError as wrong:
        detail = f"{named} {wrong.field}: {wrong.detail}"
        raise _wrong(detail, wrong.code, wrong.remedy) from wrong


def _zones_named(variant: Mapping[str, Any]) -> set[str]:
    programs = variant.get("programs") or ()
    in_programs = {run["zone"] for program in programs for run in program["runs"]}
    return in_programs | {zone for change in variant["changes"] for zone in change.get("zones", ())}


def _wrong(detail: str, code: str, remedy: str) -> InvalidInputError:
    return InvalidInputError(detail, field="variants", code=code, remedy=remedy)
