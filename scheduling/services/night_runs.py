"""The nightly look at all zones: started once a date, divided, done by any number of workers.

1. After NIGHT_HOUR of the company's clock a tick asks for the start of the night, until there is a
   run of that date; a second start finds it and does nothing.
   The office may ask for one more, which a job divides: the request makes the run alone.
2. The start asks for fresh forecasts, divides the zones by station into slices, and asks for a job
   for each: some minutes later where forecasts are fetched.
3. A slice reads, computes, and writes what differs, in the transaction of its job; one whose worker
   died is taken over by the next. One with the weather and the plans of an earlier slice of the
   date is not computed again: the mark that the division left tells of the plans. What changes
   after the division is seen by the next run.
4. Whoever ends the last slice ends the run, and asks for its news to be told. A slice, or a run
   before its division, that was given up ends as failed; a tick sees to it.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import time
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import Exists, OuterRef

from properties.domain.errors import RefusedError
from properties.models import Company, Job
from properties.models.jobs import OPEN_STATES
from properties.selectors.company import the_company
from properties.services.job_subjects import subject_of
from properties.services.jobs import ask_for, ask_for_each
from properties.services.ticks import ask_when_idle
from scheduling.domain.night_outlook import NightOutlook, NightWeather, night_outlook
from scheduling.domain.refill import RefillRule, rule_for
from scheduling.models import NightRun, NightSlice, NightState
from scheduling.selectors.night_inputs import (
    NightPlans,
    SliceBounds,
    Told,
    night_plans,
    night_slices,
    night_weather,
)
from scheduling.selectors.night_rules import night_rules
from scheduling.services.job_kinds import NIGHT_AGAIN, NIGHT_NEWS, NIGHT_SLICE, NIGHT_START
from scheduling.services.outlooks import write_outlooks
from scheduling.services.plan_months import make_plan_months
from scheduling.services.weather_fetches import ask_for_weather

FORECASTS_TAKE: Final = dt.timedelta(minutes=5)


@dataclass(frozen=True)
class SliceFound:
    """What a slice found: how many zones it has, and the outlooks that differ."""

    zones: int
    differing: list[tuple[UUID, Told]]
    days_usual: int
    digest: str
    seconds: float


def start_night_when_due(*, now: dt.datetime) -> None:
    """Ask for the start of the night, once the hour has come and while there is no run."""
    company = Company.objects.first()
    if company is None:
        return
    here = now.astimezone(ZoneInfo(company.time_zone))
    regular = NightRun.objects.filter(date=here.date(), number=1)
    if here.hour >= settings.NIGHT_HOUR and not regular.exists():
        ask_when_idle(NIGHT_START, company.pk, now=now)


def read_new_plans(subject_id: UUID, now: dt.datetime) -> int:
    """Do what takes long before a night, batch by batch, before the transaction of its start."""
    return make_plan_months()


def start_night(company_id: UUID, now: dt.datetime, read: int = 0) -> dict[str, Any]:
    """Do the background job of that name: make the run of the date and its slices, once.

    Before the hour there is none: a start that was left lying over midnight is not tomorrow's.
    """
    company = Company.objects.get(pk=company_id)
    here = now.astimezone(ZoneInfo(company.time_zone))
    if here.hour < settings.NIGHT_HOUR:
        return {}
    date = here.date()
    run, is_new = NightRun.objects.get_or_create(date=date, number=1, defaults={"started_at": now})
    if is_new:
        _divide(run, now)
    return {"run": str(run.pk), "slices": run.slices, "new_plans": read}


@transaction.atomic
def run_again(*, now: dt.datetime) -> NightRun:
    """Look at all zones once more on a date that had its night, at the office's wish."""
    company = Company.objects.select_for_update().get()
    date = now.astimezone(ZoneInfo(company.time_zone)).date()
    newest = NightRun.objects.filter(date=date).first()
    if newest is not None and newest.state == NightState.OPEN:
        raise RefusedError(
            f"The night of {date} is under way.",
            code="night-under-way", remedy="Wait for it to end.",
        )  # fmt: skip
    number = newest.number + 1 if newest else 2  # the first is the night's own
    run = NightRun.objects.create(date=date, number=number, started_at=now)
    ask_for(NIGHT_AGAIN, run.pk, asked_by=None, now=now)
    return run


def divide_run(run_id: UUID, now: dt.datetime, read: int = 0) -> dict[str, Any]:
    """Do the background job of that name: divide a run that the office asked for, once."""
    run = subject_of(NightRun.objects.select_for_update(), run_id)
    if run.state == NightState.OPEN and not run.parts.exists():
        _divide(run, now)
    return {"run": str(run.pk), "slices": run.slices, "new_plans": read}


def look_at_slice(slice_id: UUID, now: dt.datetime) -> SliceFound | None:
    """Read and compute a slice, before the transaction of its job; None when it has ended."""
    began = time.perf_counter()
    part = subject_of(NightSlice.objects.select_related("run", "station"), slice_id)
    if part.state != NightState.OPEN:
        return None
    weather, days_usual = night_weather(part.station, part.run.date, part.run_id)
    rule = rule_for(leaves_room=the_company().leaves_room_for_rain)
    days = night_rules(part.run_id, part.run.date)
    same = _done_alike(part, _digest(weather, rule, days.mark, part.mark))
    if same is not None:
        zones, differing, digest = same.zones, [], same.digest
    else:
        bounds = SliceBounds(part.station_id, part.first_zone, part.last_zone, part.mark)
        plans = night_plans(bounds, part.run.date.month, days)
        outlook = night_outlook(plans.zones, weather, rule)
        differing = _differing(plans, outlook, part.run.date)
        zones, digest = len(plans.zone_ids), _digest(weather, rule, days.mark, plans.mark)
    return SliceFound(zones, differing, days_usual, digest, time.perf_counter() - began)


def _done_alike(part: NightSlice, digest: str) -> NightSlice | None:
    """Return a slice of the date that found the same zones with the same plans and weather."""
    return NightSlice.objects.filter(
        run__date=part.run.date, state=NightState.DONE, station=part.station,
        first_zone=part.first_zone, last_zone=part.last_zone, digest=digest,
    ).first()  # fmt: skip


def store_slice(slice_id: UUID, now: dt.datetime, found: SliceFound | None) -> dict[str, Any]:
    """Write what differs, end the slice, and with the last one the run."""
    part = subject_of(NightSlice.objects.select_related("run"), slice_id)
    if found is not None:
        write_outlooks(found.differing, on=part.run.date)
        NightSlice.objects.filter(pk=part.pk, state=NightState.OPEN).update(
            state=NightState.DONE,
            zones=found.zones,
            changed=len(found.differing),
            days_usual=found.days_usual,
            digest=found.digest,
            seconds=found.seconds,
        )
        _end_run(part.run_id, now)
    return {"slice": str(part.pk)}


def end_given_up_slices(*, now: dt.datetime) -> None:
    """Take slices whose job was given up for failed, so that their run can end.

    A run whose division was given up ends with them, or no other could be asked for that date.
    """
    for part in NightSlice.objects.filter(~_is_alive(NIGHT_SLICE), state=NightState.OPEN):
        _give_up(part, now)
    whole = NightRun.objects.filter(state=NightState.OPEN, parts=None)
    for run in whole.filter(~_is_alive(NIGHT_AGAIN)):
        _give_up_run(run, now)


def _is_alive(kind: str) -> Exists:
    at_work = Job.objects.filter(kind=kind, subject_id=OuterRef("pk"), state__in=OPEN_STATES)
    return Exists(at_work)


@transaction.atomic
def _give_up_run(run: NightRun, now: dt.datetime) -> None:
    if Job.objects.filter(kind=NIGHT_AGAIN, subject_id=run.pk).exists():
        still_open = NightRun.objects.filter(pk=run.pk, state=NightState.OPEN, parts=None)
        still_open.update(state=NightState.FAILED, ended_at=now)
    else:
        ask_for(NIGHT_AGAIN, run.pk, asked_by=None, now=now)


@transaction.atomic
def _give_up(part: NightSlice, now: dt.datetime) -> None:
    job = Job.objects.filter(kind=NIGHT_SLICE, subject_id=part.pk).order_by("-id").first()
    if job is None:  # lost with its row; the zones are still to be looked at
        ask_for(NIGHT_SLICE, part.pk, asked_by=None, now=now)
        return
    still_open = NightSlice.objects.filter(pk=part.pk, state=NightState.OPEN)
    still_open.update(state=NightState.FAILED, problem=job.problem)
    _end_run(part.run_id, now)


def _end_run(run_id: UUID, now: dt.datetime) -> None:
    """End the run if this was its last open slice; the lock makes two last ones queue."""
    run = NightRun.objects.select_for_update().get(pk=run_id)
    states = set(run.parts.values_list("state", flat=True))
    if run.state != NightState.OPEN or NightState.OPEN in states:
        return
    run.state = NightState.FAILED if NightState.FAILED in states else NightState.DONE
    run.ended_at = now
    run.save(update_fields=["state", "ended_at"])
    ask_for(NIGHT_NEWS, run.pk, asked_by=None, now=now)


def _divide(run: NightRun, now: dt.datetime) -> None:
    parts = [NightSlice(run=run, **vars(bounds)) for bounds in night_slices(run.date.month)]
    NightSlice.objects.bulk_create(parts)
    run.slices = len(parts)
    run.save(update_fields=["slices"])
    due_at = now
    if ask_for_weather(now=now):
        due_at = now + FORECASTS_TAKE
    ask_for_each(NIGHT_SLICE, [part.pk for part in parts], now=now, due_at=due_at)
    if not parts:
        _end_run(run.pk, now)


def _differing(plans: NightPlans, outlook: NightOutlook, today: dt.date) -> list[tuple[UUID, Told]]:
    days, percent, due = (
        column.tolist() for column in (outlook.days_between, outlook.percent, outlook.next_in_days)
    )
    dates = [today + dt.timedelta(days=ahead) for ahead in range(max(due, default=0) + 1)]
    next_on = [dates[ahead] if ahead >= 0 else None for ahead in due]
    told = zip(days, percent, next_on, strict=True)
    found = zip(plans.zone_ids, told, plans.stored, strict=True)
    return [(zone, now) for zone, now, stored in found if now != stored]


def _digest(weather: NightWeather, rule: RefillRule, *marks: str) -> str:
    numbers = (weather.et0_mm, weather.rain_mm, weather.forecast_rain_mm)
    parts = (*(part.tobytes() for part in numbers), f"{rule} {marks}".encode())
    return hashlib.sha256(b"".join(parts)).hexdigest()
