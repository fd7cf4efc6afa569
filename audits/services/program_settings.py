"""Recording what a controller is set to: the whole of it, every leftover start included."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, Final

from django.db import transaction

from audits.domain.found_program import FoundProgram
from audits.models import ProgramSetting, SettingProgram, SettingRun
from audits.services.field_records import check_may_record
from properties.domain.errors import InvalidInputError
from properties.models import Controller, StaffMember
from properties.services.rows import add_row

MOST_PROGRAMS: Final = 12  # as many as a controller may have


@transaction.atomic
def record_program_setting(
    values: Mapping[str, Any],
    programs: Sequence[Mapping[str, Any]],
    *,
    actor: StaffMember,
    now: datetime,
) -> ProgramSetting:
    """Store a controller's setting with its programs and the minutes of each zone."""
    controller, visit = values["controller"], values.get("visit")
    if visit is not None:
        check_may_record(visit, actor=actor, happened_at=now, now=now)
    _check_controller(controller, visit)
    _check_since(values["since"], now)
    _check_count(programs)
    _check_names(programs)
    for program in programs:
        _check_program(program, controller)
    setting = add_row(ProgramSetting, values, actor=actor, now=now, act="set down")
    for program in programs:
        _store_program(setting, program)
    return setting


def _check_controller(controller: Controller, visit: Any) -> None:
    if visit is not None and visit.property_id != controller.property_id:
        raise InvalidInputError(
            "This controller hangs at another property than the visit's.",
            field="controller", remedy="Choose a controller of the property that is visited.",
        )  # fmt: skip


def _check_since(since: date, now: datetime) -> None:
    if since > now.date() + timedelta(days=1):
        raise InvalidInputError(
            "This day lies in the future.",
            field="since", code="future",
            remedy="Record what the controller runs once it runs it.",
        )  # fmt: skip


def _check_count(programs: Sequence[Mapping[str, Any]]) -> None:
    if len(programs) > MOST_PROGRAMS:
        raise InvalidInputError(
            f"No controller holds {len(programs)} programs.",
            field="programs", code="too-many-programs",
            remedy=f"Record at most {MOST_PROGRAMS}, as the controller names them.",
        )  # fmt: skip


def _check_names(programs: Sequence[Mapping[str, Any]]) -> None:
    seen: set[str] = set()
    for program in programs:
        if program["name"] in seen:
            raise InvalidInputError(
                f"Program {program['name']} stands twice in the setting.",
                field="programs", code="name-twice",
                remedy="Give each program its own name.",
            )  # fmt: skip
        seen.add(program["name"])


def _check_program(program: Mapping[str, Any], controller: Controller) -> None:
    for run in program["runs"]:
        if run["zone"].controller_id != controller.pk:
            raise InvalidInputError(
                f"Zone {run['zone']} is not wired to this controller.",
                field="programs", code="foreign-zone",
                remedy="Name zones of this controller only.",
            )  # fmt: skip
    try:
        _found_program(program)
    except InvalidInputError as refusal:
        raise InvalidInputError(
            f"Program {program['name']}: {refusal.detail}",
            field="programs", code=refusal.code, remedy=refusal.remedy,
        ) from refusal  # fmt: skip


def _found_program(program: Mapping[str, Any]) -> FoundProgram:
    return FoundProgram(
        weekdays=frozenset(program["weekdays"]) or None,
        interval_days=program.get("interval_days"),
        start_times=tuple(program["starts"]),
        zone_minutes=tuple((run["zone"].pk, run["run_min"]) for run in program["runs"]),
    )


def _store_program(setting: ProgramSetting, program: Mapping[str, Any]) -> None:
    starts: Sequence[time] = program["starts"]
    stored = SettingProgram.objects.create(
        setting=setting,
        name=program["name"],
        weekdays=sorted(set(program["weekdays"])),
        interval_days=program.get("interval_days"),
        starts=[start.strftime("%H:%M") for start in sorted(starts)],
    )
    SettingRun.objects.bulk_create(SettingRun(program=stored, **run) for run in program["runs"])
