"""Fitting a station's temperature-only ET0 to its fuller days, and using it on the others.

An office asks for a fit; an import asks for one by itself when a station has come to enough full
days, or to a month of new ones since its last fit.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db import transaction
from django.db.models import Count, Q

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import StaffMember
from properties.services.events import record_event, snapshot
from properties.services.jobs import ask_for
from scheduling.domain.et0_calibration import ENOUGH_DAYS, LocalCalibration, local_calibration
from scheduling.domain.et0_methods import Et0Method
from scheduling.models import StationCalibration, WeatherDay, WeatherStation
from scheduling.services.et0 import set_et0, station_days
from scheduling.services.job_kinds import REFIT_STATION

BATCH_DAYS: Final = 2000
REFIT_AFTER_DAYS: Final = 30
"""So many full days more than those of the last fit call for a new one."""

_FITTED: Final = (
    "slope", "offset_mm", "days", "first_date", "last_date", "bias_before_mm", "rmse_before_mm",
    "rmse_after_mm",
)  # fmt: skip


@dataclass(frozen=True)
class CalibrationReport:
    """A station's calibration, the months that it stands on, and how many days got another ET0."""

    calibration: StationCalibration
    is_new: bool
    season: str
    days_changed: int


@transaction.atomic
def calibrate_station(
    station: WeatherStation, *, now: dt.datetime, actor: StaffMember | None = None
) -> CalibrationReport:
    """Fit a station's calibration to all its stored days with both, and compute their ET0 anew.

    1. The station is locked, so that two calibrations of it follow one another.
    2. The fit is stored with its event, unless it is the stored one.
    3. The station's days are computed anew batch by batch; only rows that differ are written.

    Raises
    ------
    RefusedError
        Code "too-few-days" or "no-relation" of the fit; "no-better" when days that the fit did not
        see come out no better with it. Nothing is changed then.
    """
    station = WeatherStation.objects.select_for_update().get(pk=station.pk)
    found = _fit(station)
    calibration, is_new = _store(station, found, now, actor)
    changed = sum(_compute_anew(batch, calibration) for batch in _batches(station))
    return CalibrationReport(calibration, is_new, found.season, changed)


def calibrate_station_by_id(station_id: UUID, now: dt.datetime) -> dict[str, Any]:
    """Do the background job of that name."""
    report = calibrate_station(WeatherStation.objects.get(pk=station_id), now=now)
    return {
        "slope": report.calibration.slope,
        "offset_mm": report.calibration.offset_mm,
        "days": report.calibration.days,
        "season": report.season,
        "days_changed": report.days_changed,
    }


def ask_for_refits(stations: Iterable[WeatherStation], *, now: dt.datetime) -> None:
    """Ask for a new fit of each station whose full days have grown enough since the last one."""
    is_full = Q(days__et0_method=Et0Method.PENMAN_MONTEITH.value, days__analysed=0)
    full = Count("days", filter=is_full)
    rows = WeatherStation.objects.filter(pk__in=[station.pk for station in stations])
    for station, days, fitted_on in rows.annotate(full=full).values_list(
        "pk", "full", "calibration__days"
    ):
        least = ENOUGH_DAYS if fitted_on is None else fitted_on + REFIT_AFTER_DAYS
        if days >= least:
            ask_for(REFIT_STATION, station, asked_by=None, now=now)


def refit_station_by_id(station_id: UUID, now: dt.datetime) -> dict[str, Any]:
    """Do the background job of that name; a fit that would not help leaves what is stored."""
    try:
        return calibrate_station_by_id(station_id, now)
    except RefusedError as refusal:
        return {"kept": refusal.detail}


def _fit(station: WeatherStation) -> LocalCalibration:
    columns = [_both_methods(batch) for batch in _batches(station)]
    dates = np.array([date for each, _, _ in columns for date in each], dtype="datetime64[D]")
    plain, full = (
        np.concatenate([each[place] for each in columns] or [np.array([])]) for place in (1, 2)
    )
    try:
        found = local_calibration(plain, full, dates=dates)
    except InvalidInputError as lack:
        raise RefusedError(
            lack.detail, code=lack.code, field="station", remedy=lack.remedy
        ) from lack
    _refuse_no_better(found)
    return found


def _both_methods(batch: list[WeatherDay]) -> tuple[list[dt.date], Any, Any]:
    """Return both ET0 of each day; what a model made of it teaches nothing of the station."""
    columns = station_days(batch, {})
    is_analysis = np.array([day.analysed > 0 for day in batch])
    full = np.where(is_analysis, np.nan, columns.in_full())
    return [day.date for day in batch], columns.by_temperatures(), full


def _refuse_no_better(found: LocalCalibration) -> None:
    if found.helps:
        return
    raise RefusedError(
        f"A calibration would not help: the error of days that it did not see is "
        f"{found.rmse_after_mm:.2f} mm, without it {found.rmse_before_mm:.2f} mm.",
        code="no-better", field="station",
        remedy="Keep the plain ET0 here, or try again with more days.",
    )  # fmt: skip


def _store(
    station: WeatherStation, found: LocalCalibration, now: dt.datetime, actor: StaffMember | None
) -> tuple[StationCalibration, bool]:
    stored = StationCalibration.objects.filter(station=station).first()
    values = {name: getattr(found, name) for name in _FITTED} | {"months": list(found.months)}
    if stored and values == {name: getattr(stored, name) for name in values}:
        return stored, False
    calibration = StationCalibration(station=station, computed_at=now, **values)
    calibration.full_clean(validate_unique=False)
    calibration.save()
    before = snapshot(stored) if stored else {}
    record_event(
        station, act="calibrated", actor=actor, now=now, before=before, after=snapshot(calibration)
    )
    return calibration, True


def _batches(station: WeatherStation) -> Iterator[list[WeatherDay]]:
    """The station's days in order of date, a bounded number at a time."""
    days = station.days.select_for_update().order_by("date")
    last = dt.date.min
    while batch := list(days.filter(date__gt=last)[:BATCH_DAYS]):
        yield batch
        last = batch[-1].date


def _compute_anew(batch: list[WeatherDay], calibration: StationCalibration) -> int:
    before = [(day.et0_mm, day.et0_method) for day in batch]
    line = (calibration.slope, calibration.offset_mm)
    set_et0(batch, {calibration.station_id: line})
    changed = [
        day for day, old in zip(batch, before, strict=True) if old != (day.et0_mm, day.et0_method)
    ]
    WeatherDay.objects.bulk_create(
        changed,
        update_conflicts=True,
        unique_fields=["id"],
        update_fields=["et0_mm", "et0_method"],
    )
    return len(changed)
