"""Whether a change saved what was promised: the property's meter against its replayed water."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from uuid import UUID

import numpy as np

from audits.models import MeterReading
from properties.domain.errors import DomainError, InvalidInputError, RefusedError
from properties.models import Property
from scheduling.domain.meter_periods import MeteredDays, MeterPoint, meter_periods
from scheduling.domain.replay import replay
from scheduling.domain.replay_schedules import IdealSchedule, ReplayCase, ReplayDays
from scheduling.domain.savings import Missing, Promise, Saving, promise, saving
from scheduling.domain.water_columns import Array
from scheduling.models import Replay
from scheduling.selectors.replay_cases import FOUND, found_schedule
from scheduling.selectors.replay_weather import days_between, replay_weather
from scheduling.selectors.replay_zones import FoundZone, found_zones

LITRES_PER_M3: Final = 1000.0
LEAST_READINGS: Final = 2
SEED: Final = 20
MOST_USUAL_PART: Final = 0.1  # common practice: usual days tell nothing of the weather that was


@dataclass(frozen=True)
class PropertySaving:
    """What the meter says of a change, and how it stands to a promise [L a year].

    `zones` took part in taking the weather out; `zones_left_out` have no known litres.
    """

    property_: Property
    change_date: dt.date
    reference: str
    saving: Saving
    promised_l: float | None
    zones: int
    zones_left_out: int
    readings: int

    @property
    def verdict(self) -> Promise | None:
        """How the saving stands to the promise; None where nothing was promised."""
        return None if self.promised_l is None else promise(self.saving, self.promised_l)

    @property
    def money(self) -> float | None:
        """What the saved water of a usual year costs."""
        price, litres = self.property_.water_price_per_m3, self.saving.litres
        return None if price is None or litres is None else litres / LITRES_PER_M3 * float(price)


@dataclass(frozen=True)
class _Water:
    """Litres a day of all zones with an area, by the way that counts and by the one that may."""

    replayed_l: Array
    most_l: Array


def property_saving(
    property_: Property,
    change_date: dt.date,
    *,
    reference: str,
    base_l_day: float | None = None,
    promised_l: float | None = None,
) -> PropertySaving:
    """Return what a change saved in a usual year by the meter of a property.

    1. The readings, and the weather of all days between them.
    2. What the ideal, or the setting that ran last before the change, puts down on those days;
       both are looked at to tell periods without watering.
    3. The usual year: the same way of watering in the last whole years.

    Raises
    ------
    RefusedError
        Without a station or weather, and where no zone can be replayed.
    """
    points = _points(property_)
    weather = replay_weather(property_)
    zones = found_zones(property_, weather.latitude_deg, before=change_date)
    cases, others = _cases(zones, reference)
    counts = {"zones": len(cases), "zones_left_out": len(zones) - len(cases)}

    def answer(found: Saving) -> PropertySaving:
        return PropertySaving(
            property_, change_date, reference, found, promised_l, **counts, readings=len(points)
        )

    if len(points) < LEAST_READINGS or points[0].read_on == points[-1].read_on:
        return answer(Saving(missing=(_NO_READINGS,)))
    days, usual = days_between(property_, points[0].read_on, points[-1].read_on)
    if usual > MOST_USUAL_PART * days.dates.size:
        return answer(Saving(missing=(_NO_WEATHER,)))
    water = _water(cases, others, days)
    metered = MeteredDays(days.dates, water.replayed_l, water.most_l)
    in_years = _litres(cases, weather.days).sum() / weather.is_of_year.size
    if in_years <= 0.0:
        return answer(Saving(missing=(_NO_WATER,)))
    return answer(
        saving(
            meter_periods(points, metered),
            change_date,
            usual_year_l=float(in_years),
            base_l_day=base_l_day,
            seed=SEED,
        )
    )


def promised_litres(property_: Property, replay_id: UUID, variant: str) -> float:
    """Return what a stored replay promised of a variant: litres of a mean year less the first's."""
    row = Replay.objects.filter(property=property_, pk=replay_id).first()
    variants = (row.answer or {}).get("variants", []) if row else []
    for each in variants:
        if each["name"] == variant and each["difference"]:
            return -float(each["difference"]["litres"])
    raise InvalidInputError(
        "This property has no answered replay with a difference of that name.",
        field="variant" if variants else "replay", code="no-promise",
        remedy="Name a replay of this property and one of its variants after the first.",
    )  # fmt: skip


_NO_READINGS: Final = Missing(
    "no-readings", "The meter was not read on two days. Read it once a month, before and after."
)
_NO_WEATHER: Final = Missing(
    "no-weather", "Too many days between the readings have no weather. Import the station's days."
)
_NO_WATER: Final = Missing(
    "no-watering", "By this way of watering nothing is put down in a usual year. Use the other one."
)


def _points(property_: Property) -> list[MeterPoint]:
    zone = zoneinfo.ZoneInfo(property_.time_zone)
    readings = MeterReading.objects.filter(property=property_).order_by("read_at", "id")
    return [
        MeterPoint(
            reading.read_at.astimezone(zone).date(), reading.reading_l, reading.meter_changed
        )
        for reading in readings
    ]


def _cases(zones: Sequence[FoundZone], reference: str) -> tuple[list[ReplayCase], list[ReplayCase]]:
    """Return the zones under the way that counts, and under the other one."""
    counts: list[ReplayCase] = []
    others: list[ReplayCase] = []
    refusal: DomainError | None = None
    for zone in zones:
        try:
            ideal, found = _ideal(zone), _found(zone, must_be=reference == FOUND)
        except DomainError as error:
            refusal = error
            continue
        pair = (found, ideal) if reference == FOUND else (ideal, found)
        counts += [pair[0]] if pair[0] else []
        others += [pair[1]] if pair[1] else []
    if not counts:
        raise RefusedError(
            f"Not one zone can be replayed. {refusal.detail if refusal else 'No zone is active.'}",
            code="nothing-to-replay", field="property",
            remedy=refusal.remedy if refusal else "Enter the zones of the property.",
        )  # fmt: skip
    return counts, others


def _ideal(zone: FoundZone) -> ReplayCase:
    if zone.refusal is not None:
        raise zone.refusal
    assert zone.ready is not None
    if zone.ready.facts.area_m2 is None:
        raise RefusedError(
            f"Zone {zone.zone} has no area, so its litres are unknown.",
            code="no-area", field="area_m2", remedy="Enter the zone's area.",
        )  # fmt: skip
    return ReplayCase(zone.ready, IdealSchedule())


def _found(zone: FoundZone, *, must_be: bool) -> ReplayCase | None:
    if zone.setting is None and not must_be:
        return None
    assert zone.ready is not None
    return ReplayCase(zone.ready, found_schedule(zone))


def _water(cases: Sequence[ReplayCase], others: Sequence[ReplayCase], days: ReplayDays) -> _Water:
    """Where the setting of a zone is not known, it may have run on any day that is not frozen."""
    replayed = _litres(cases, days)
    most = np.maximum(replayed, _litres(others, days)) if others else replayed
    if len(others) < len(cases):
        most = np.where(days.is_resting, most, most.max())
    return _Water(replayed, most)


def _litres(cases: Sequence[ReplayCase], days: ReplayDays) -> Array:
    areas = np.array([case.zone.facts.area_m2 for case in cases], dtype=np.float64)
    litres: Array = (replay(cases, days).gross_mm * areas).sum(axis=1)
    return litres
