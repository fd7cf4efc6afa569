"""Putting districts, their drought stages and the periods of those right, and retiring them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import (
    DroughtStage,
    Property,
    StaffMember,
    StagePeriod,
    WateringDistrict,
)
from properties.services.rows import change_what_differs


@transaction.atomic
def change_district(
    district: WateringDistrict,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> WateringDistrict:
    """Put a district right, or retire it; it is not retired while a property is in it."""
    held = WateringDistrict.objects.select_for_update().get(pk=district.pk)
    is_retiring = bool(changes.get("is_retired")) and not held.is_retired
    count = Property.objects.filter(watering_district=held).count() if is_retiring else 0
    if count:
        raise RefusedError(
            f"{held.name} has {count} propert{'y' if count == 1 else 'ies'}.",
            code="district-in-use", field="is_retired",
            remedy="Put each in another district first, or end the rules that no longer hold.",
        )  # fmt: skip
    return change_what_differs(
        held, changes, read_revision=read_revision, actor=actor, now=now,
        act="retired" if is_retiring else "changed",
    )  # fmt: skip


@transaction.atomic
def change_stage(
    stage: DroughtStage,
    changes: Mapping[str, Any],
    *,
    on: date,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> DroughtStage:
    """Put a stage right, or retire it; it is not retired while it is on, or still to come.

    `on` is the day by which that is judged. Answers of past dates follow what was put right.
    """
    held = DroughtStage.objects.select_for_update().get(pk=stage.pk)
    is_retiring = bool(changes.get("is_retired")) and not held.is_retired
    ahead = held.periods.filter(is_void=False).exclude(last_date__lt=on).first()
    if is_retiring and ahead is not None:
        raise RefusedError(
            f"{held.name} is on or to come: {ahead}.",
            code="stage-in-use", field="is_retired", remedy="End that period first.",
        )  # fmt: skip
    return change_what_differs(
        held, changes, read_revision=read_revision, actor=actor, now=now,
        act="retired" if is_retiring else "changed",
    )  # fmt: skip


@transaction.atomic
def change_period(
    period: StagePeriod,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> StagePeriod:
    """End a stage on a day, or put its days right; two of a district are never on together.

    Raises
    ------
    InvalidInputError
        When the last day would be before the first.
    RefusedError
        When the period is void, or would run into another one of the district.
    """
    district_id = period.stage.district_id
    WateringDistrict.objects.select_for_update().get(pk=district_id)
    held = StagePeriod.objects.select_related("stage").get(pk=period.pk)
    first = changes.get("first_date", held.first_date)
    last = changes.get("last_date", held.last_date)
    _refuse_void(held)
    _refuse_crossed(first, last, changes)
    _refuse_overlap(held, first, last, changes)
    act = "ended" if set(changes) == {"last_date"} else "changed"
    return change_what_differs(
        held, changes, read_revision=read_revision, actor=actor, now=now, act=act
    )


def _refuse_void(period: StagePeriod) -> None:
    if period.is_void:
        raise RefusedError(
            "This period was called off before it began.",
            code="period-void", field="first_date", remedy="Switch the stage on anew.",
        )  # fmt: skip


def _refuse_crossed(first: date, last: date | None, changes: Mapping[str, Any]) -> None:
    if last is not None and last < first:
        raise InvalidInputError(
            f"The stage would end on {last}, before it begins on {first}.",
            field="last_date" if "last_date" in changes else "first_date", code="dates-crossed",
            remedy="Give a last day that is not before the first; to call a stage off before it "
            "begins, switch the district on its first day.",
        )  # fmt: skip


def _refuse_overlap(
    period: StagePeriod, first: date, last: date | None, changes: Mapping[str, Any]
) -> None:
    others = StagePeriod.objects.filter(
        Q(last_date__isnull=True) | Q(last_date__gte=first),
        stage__district_id=period.stage.district_id, is_void=False,
    ).exclude(pk=period.pk)  # fmt: skip
    if last is not None:
        others = others.filter(first_date__lte=last)
    other = others.select_related("stage").order_by("first_date").first()
    if other is None:
        return
    is_before = other.first_date < first
    raise RefusedError(
        f"{other.stage.name} is on from {other}.",
        code="stages-overlap",
        field="first_date" if is_before and "first_date" in changes else "last_date",
        remedy=f"Begin after {other.last_date}."
        if is_before and other.last_date
        else f"End before {other.first_date}, or end that one first.",
    )
