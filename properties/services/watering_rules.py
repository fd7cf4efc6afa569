"""Keeping the rules of districts: adding, changing and retiring them, and declaring a drought."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any, TypeVar

from django.db import transaction

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import (
    DroughtStage,
    Row,
    StaffMember,
    StagePeriod,
    WaterBudget,
    WateringDistrict,
    WateringRule,
)
from properties.services.rows import add_row, change_row, change_what_differs

AnyDated = TypeVar("AnyDated", WateringRule, WaterBudget)
_DAY = timedelta(days=1)


@transaction.atomic
def add_rule(
    values: Mapping[str, Any], *, actor: StaffMember | None, now: datetime
) -> WateringRule:
    """Add a rule to a district; one that leaves no day or hour, or contradicts itself, is not."""
    _check_stage(WateringRule(**values))
    WateringRule(**values).as_rule()
    return add_row(WateringRule, values, actor=actor, now=now)


@transaction.atomic
def change_rule(
    rule: WateringRule,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> WateringRule:
    """Change a rule that was entered wrongly; a rule that was changed by its makers is retired.

    The whole rule is checked as it will stand. With the revision that the caller read, a change
    that somebody else made since is not written over.
    """
    held = WateringRule.objects.select_for_update().get(pk=rule.pk)
    as_it_will_be = WateringRule(**_own_values(held))
    for name, value in changes.items():
        setattr(as_it_will_be, name, value)
    _check_stage(as_it_will_be)
    as_it_will_be.as_rule()
    return change_what_differs(held, changes, read_revision=read_revision, actor=actor, now=now)


@transaction.atomic
def retire_dated(
    row: AnyDated,
    *,
    last_date: date,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> AnyDated:
    """Let a rule or a budget hold until a date and no longer; what was before can still be told."""
    held = type(row)._default_manager.select_for_update().get(pk=row.pk)
    if held.last_date is not None and held.last_date < last_date:
        raise RefusedError(
            f"{held.name} ends on {held.last_date} already.",
            code="retired-already", field="last_date",
            remedy="Give that day or an earlier one, or add it anew.",
        )  # fmt: skip
    if held.first_date is not None and last_date < held.first_date:
        raise InvalidInputError(
            f"{held.name} begins on {held.first_date}.",
            field="last_date", code="dates-crossed", remedy="Give a day that is not before it.",
        )  # fmt: skip
    return change_what_differs(
        held, {"last_date": last_date}, read_revision=read_revision,
        actor=actor, now=now, act="retired",
    )  # fmt: skip


@transaction.atomic
def switch_stage(
    district: WateringDistrict,
    stage: DroughtStage | None,
    *,
    first_date: date,
    last_date: date | None = None,
    actor: StaffMember,
    now: datetime,
) -> StagePeriod | None:
    """Switch a district to a drought stage from a date on, or back to its usual rules.

    A stage that is on by then ends on the day before, and does not come back by itself; one that
    would begin on that very day is void, so that a slip of the same day can be put right. Without a
    last date a stage is on until the next switch.

    Raises
    ------
    RefusedError
        When the district has switched a later date already, which this one would run into; or
        when nothing is on that could be switched off.
    """
    _check_switch(district, stage, first_date, last_date)
    WateringDistrict.objects.select_for_update().get(pk=district.pk)
    periods = StagePeriod.objects.filter(stage__district=district, is_void=False)
    if stage is not None:
        _refuse_later(periods, first_date, last_date)
    ended = [
        _end(period, first_date, actor=actor, now=now)
        for period in periods.exclude(last_date__lt=first_date).filter(first_date__lte=first_date)
    ]
    if stage is None:
        return _the_ended(ended, district)
    values = {"stage": stage, "first_date": first_date, "last_date": last_date}
    return add_row(StagePeriod, values, actor=actor, now=now, act="switched")


def _check_switch(
    district: WateringDistrict, stage: DroughtStage | None, first: date, last: date | None
) -> None:
    if stage is not None and stage.district_id != district.pk:
        raise InvalidInputError(
            "This stage is of another district.",
            field="stage", remedy="Choose a stage of the district itself.",
        )  # fmt: skip
    if stage is not None and stage.is_retired:
        raise RefusedError(
            f"{stage.name} is retired.",
            code="stage-retired", field="stage",
            remedy="Choose another stage, or take this one back first.",
        )  # fmt: skip
    if last is not None and (stage is None or last < first):
        raise InvalidInputError(
            "The last day is before the first, or stands without a stage.",
            field="last_date", code="dates-crossed",
            remedy="Give a last day not before the first; none where no stage is switched on.",
        )  # fmt: skip


def _refuse_later(periods: Any, first_date: date, last_date: date | None) -> None:
    later = periods.filter(first_date__gt=first_date).select_related("stage").first()
    if later is not None and (last_date is None or later.first_date <= last_date):
        raise RefusedError(
            f"{later.stage.name} begins on {later.first_date} already.",
            code="stages-overlap", field="last_date",
            remedy="End this stage before that day, or switch that one off first.",
        )  # fmt: skip


def _end(period: StagePeriod, on: date, *, actor: StaffMember, now: datetime) -> StagePeriod:
    changes: dict[str, Any] = {"last_date": on - _DAY}
    if period.first_date == on:
        changes = {"is_void": True}
    return change_row(period, changes, actor=actor, now=now, act="ended")


def _the_ended(ended: list[StagePeriod], district: WateringDistrict) -> StagePeriod:
    if not ended:
        raise RefusedError(
            f"{district.name} has no drought stage on that day.",
            code="no-stage", field="stage", remedy="Name the stage to switch on, or another day.",
        )  # fmt: skip
    return ended[0]


def _check_stage(rule: WateringRule) -> None:
    if rule.stage is not None and rule.stage.district_id != rule.district_id:
        raise InvalidInputError(
            "This stage is of another district.",
            field="stage", remedy="Choose a stage of the rule's own district.",
        )  # fmt: skip


def _own_values(row: Row) -> dict[str, Any]:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
