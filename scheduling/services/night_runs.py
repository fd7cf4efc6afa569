"""The nightly look at all zones: started once a date, divided, done by any number of workers.

1. After NIGHT_HOUR of the company's clock a tick asks for the start of the night, until there is a
   run of that date; a second start finds it and does nothing.
   The office may ask for one more.
2. The start asks for fresh forecasts, divides the zones by station into slices, and asks for a job
   for each: some minutes later where forecasts are fetched.
3. A slice reads, computes, and writes what differs, in the transaction of its job; one whose worker
   died is taken over by the next. One with the weather and the plans of an earlier slice of the
   date is not computed again.
4. Whoever ends the last slice ends the run, and asks for its news to be told. A slice that was
   given up ends as failed; a tick sees to it.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import time
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import Exists, OuterRef

from properties.domain.errors import RefusedError
from properties.models import Company, Job, JobState
from properties.selectors.company import the_company
from properties.services.jobs import ask_for, ask_for_each
from scheduling.domain.night_outlook import NightOutlook, NightWeather, night_outlook
from scheduling.domain.refill import rule_for
from scheduling.models import NightRun, NightSlice, NightState
from scheduling.selectors.night_inputs import (
    SLICE_ZONES,
    NightPlans,
    Told,
    night_plans,
    night_weather,
    plans_mark,
    stored_outlooks,
    zones_by_station,
)
from scheduling.services.job_kinds import FORECAST, NIGHT_NEWS, NIGHT_SLICE, NIGHT_START
from scheduling.services.outlooks import write_outlooks
from scheduling.services.plan_months import make_plan_months

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
    if here.hour >= settings.NIGHT_HOUR and not NightRun.objects.filter(date=here.date()).exists():
        ask_for(NIGHT_START, company.pk, asked_by=None, now=now)


def read_new_plans(company_id: UUID, now: dt.datetime) -> int:
    """Do what takes long before a night, batch by batch, before the transaction of its start."""
    return make_plan_months()


def start_night(company_id: UUID, now: dt.datetime, read: int = 0) -> dict[str, Any]:
    """Do the background job of that name: make the run of the date and its slices, once."""
    company = Company.objects.get(pk=company_id)
    date = now.astimezone(ZoneInfo(company.time_zone)).date()
    read += make_plan_months()
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
    make_plan_months()
    number = newest.number + 1 if newest else 1
    run = NightRun.objects.create(date=date, number=number, started_at=now)
    _divide(run, now)
    return run


def look_at_slice(slice_id: UUID, now: dt.datetime) -> SliceFound | None:
    """Read and compute a slice, before the transaction of its job; None when it has ended."""
    began = time.perf_counter()
    part = NightSlice.objects.select_related("run", "station").get(pk=slice_id)
    if part.state != NightState.OPEN:
        return None
    today = part.run.date
    weather, days_usual = night_weather(part.station, today)
    zones = part.station_id, part.first_zone, part.last_zone, today.month
    digest = _digest(weather, plans_mark(*zones))
    known = NightSlice.objects.filter(
        run__date=today, state=NightState.DONE, station=part.station, first_zone=part.first_zone,
        last_zone=part.last_zone, digest=digest,
    ).first()  # fmt: skip
    if known is not None:
        return SliceFound(known.zones, [], days_usual, digest, time.perf_counter() - began)
    plans = night_plans(*zones)
    rule = rule_for(leaves_room=the_company().leaves_room_for_rain)
    told = _told(plans, night_outlook(plans.zones, weather, rule), today)
    stored = stored_outlooks(*zones)
    differing = [(zone, found) for zone, found in told if stored.get(zone) != found]
    return SliceFound(len(told), differing, days_usual, digest, time.perf_counter() - began)


def store_slice(slice_id: UUID, now: dt.datetime, found: SliceFound | None) -> dict[str, Any]:
    """Write what differs, end the slice, and with the last one the run."""
    part = NightSlice.objects.select_related("run").get(pk=slice_id)
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
    """Take slices whose job was given up for failed, so that their run can end."""
    alive = Job.objects.filter(
        kind=NIGHT_SLICE,
        subject_id=OuterRef("pk"),
        state__in=(JobState.WAITING, JobState.RUNNING),
    )
    for part in NightSlice.objects.filter(~Exists(alive), state=NightState.OPEN):
        _give_up(part, now)


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
    parts = [
        NightSlice(run=run, station_id=station, first_zone=zones[0], last_zone=zones[-1])
        for station, zones in _in_slices(run.date.month)
    ]
    NightSlice.objects.bulk_create(parts)
    run.slices = len(parts)
    run.save(update_fields=["slices"])
    due_at = now
    if settings.FORECAST_SOURCES:
        ask_for_each(FORECAST, {part.station_id for part in parts}, now=now)
        due_at = now + FORECASTS_TAKE
    ask_for_each(NIGHT_SLICE, [part.pk for part in parts], now=now, due_at=due_at)
    if not parts:
        _end_run(run.pk, now)


def _in_slices(month: int) -> Iterator[tuple[UUID, list[UUID]]]:
    """Yield station and zones, at most so many together."""
    for station, rows in groupby(zones_by_station(month), key=itemgetter(0)):
        zones: list[UUID] = []
        for _, zone in rows:
            zones.append(zone)
            if len(zones) == SLICE_ZONES:
                yield station, zones
                zones = []
        if zones:
            yield station, zones


def _told(plans: NightPlans, outlook: NightOutlook, today: dt.date) -> list[tuple[UUID, Told]]:
    days, percent, due = (
        column.tolist() for column in (outlook.days_between, outlook.percent, outlook.next_in_days)
    )
    dates = [today + dt.timedelta(days=ahead) for ahead in range(max(due, default=0) + 1)]
    return [
        (zone, (days[at], percent[at], dates[due[at]] if due[at] >= 0 else None))
        for at, zone in enumerate(plans.zone_ids)
    ]


def _digest(weather: NightWeather, mark: str) -> str:
    parts = (weather.et0_mm, weather.rain_mm, weather.forecast_rain_mm)
    return hashlib.sha256(b"".join(part.tobytes() for part in parts) + mark.encode()).hexdigest()
