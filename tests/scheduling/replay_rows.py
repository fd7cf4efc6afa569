"""Settings, meter readings and answered questions around the cast's garden, for replays."""

from __future__ import annotations

import datetime as dt
from typing import Any

from audits.models import MeterReading
from properties.models import Controller, Zone
from properties.services.jobs import run_job
from scheduling.models import Replay
from scheduling.services.replays import ask_for_replay
from tests import cast


def make_setting(controller: Controller, minutes: dict[Zone, int], **changes: Any) -> None:
    """Monday, Wednesday and Friday at five, since the year before last."""
    values = {"source": "found", "since": dt.date(2024, 6, 3), **cast.ROW, **changes}
    setting = controller.settings.create(**values)
    program = setting.programs.create(name="A", weekdays=[0, 2, 4], starts=["05:00"])
    for zone, run_min in minutes.items():
        program.runs.create(zone=zone, run_min=run_min)


def make_question(property_: Any, actor: Any, **question: Any) -> tuple[Replay, Any]:
    return ask_for_replay(property_, question, actor=actor, now=cast.NOW)


def make_answer(property_: Any, actor: Any, **question: Any) -> dict[str, Any]:
    row, job = make_question(property_, actor, **question)
    run_job(job.pk, now=cast.NOW)
    row.refresh_from_db()
    return dict(row.answer or {})


def make_readings(property_: Any, first: dt.date, litres: list[float], every: int = 30) -> None:
    """The first reading is nothing; each number is what was used until the next one."""
    total = 0.0
    for number, used in enumerate([0.0, *litres]):
        total += used
        moment = dt.datetime.combine(
            first + dt.timedelta(days=number * every), dt.time(18), tzinfo=dt.UTC
        )
        MeterReading.objects.create(property=property_, read_at=moment, reading_l=total, **cast.ROW)
