"""The days of a running plan: what was, what is ahead, and what is known of each day's morning."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind
from scheduling.domain.lived_days import LivedDays, lived_days
from scheduling.domain.plant_lives import LifeStage
from scheduling.domain.program_waterings import DatedWaterings
from scheduling.domain.rain import daily_effective_rain_mm
from scheduling.domain.refill import RefillRule
from scheduling.domain.treatment_days import (
    NOT_BY_RULES,
    TreatedDay,
    TreatmentDays,
    treated_days,
)
from scheduling.domain.water_columns import Array
from scheduling.domain.weather_facts import FROST_C
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts

# Common practice: no spray falls on leaves or paving, so frost lets these run.
FROST_PROOF: Final = frozenset({HeadKind.DRIP, HeadKind.BUBBLER})
LIKELY_PERCENT: Final = 50.0  # common practice: for a less likely rain nobody waits
LONGEST_GAP_DAYS: Final = 31

Truths = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class PastDays:
    """Days up to yesterday: weather without gaps, and what was put down, taken from settings [mm].

    `is_usual` marks days that nobody has, on which the usual need stands in, and no rain.
    """

    dates: NDArray[np.datetime64]
    et0_mm: Array
    rain_mm: Array
    is_usual: Truths
    waterings: DatedWaterings


@dataclass(frozen=True, kw_only=True)
class AheadDays:
    """Days from today on: ET0 [mm]; where forecast, rain [mm], its chance [%], the lowest [degC].

    NaN is "nobody says". `is_forecast` marks days whose ET0 is forecast; that of the others is
    usual. `is_shut` marks days of months whose usual nights freeze.
    """

    dates: NDArray[np.datetime64]
    et0_mm: Array
    rain_mm: Array
    rain_probability_percent: Array
    tmin_c: Array
    is_forecast: Truths
    is_shut: Truths

    def __post_init__(self) -> None:
        for name, values in vars(self).items():
            if values.shape != self.dates.shape:
                raise InvalidInputError(
                    f"{name} has {values.size} values for {self.dates.size} days.",
                    field=name, code="length", remedy="Give one value a day.",
                )  # fmt: skip
        if not self.dates.size:
            raise InvalidInputError(
                "There is not one day.", field="dates", code="no-days", remedy="Give a day."
            )

    @property
    def likely_rain_mm(self) -> Array:
        """Effective rain that is worth waiting for if it is enough [mm]; 0 where none is likely."""
        unlikely = self.rain_probability_percent < LIKELY_PERCENT  # an unknown chance counts
        rain_mm = np.where(unlikely, 0.0, np.nan_to_num(self.rain_mm))
        return np.asarray(daily_effective_rain_mm(rain_mm, self.et0_mm))

    @property
    def is_frost(self) -> Truths:
        """Whether a night at or below 3 degC is forecast; what nobody says is none."""
        return np.asarray(self.tmin_c <= FROST_C)


@dataclass(frozen=True, kw_only=True)
class Morning:
    """What is known of a day on its morning, whatever the roots hold [mm].

    until_next_mm : need until the next day on which it may water.
    rain_need_mm : need up to and with the next rain worth waiting for; None without one.
    rain_is_first : that rain comes before the next day on which it may water.
    """

    place: int
    date: dt.date
    zone: ZoneFacts
    stage: LifeStage
    et0_mm: float
    need_mm: float
    raw_mm: float
    reserve_mm: float
    until_next_mm: float
    rain_need_mm: float | None
    rain_is_first: bool
    block: str | None
    treated: TreatedDay


def mornings(
    zone: ZoneFacts,
    limits: WateringLimits,
    ahead: AheadDays,
    treatments: Sequence[TreatmentDays],
    rule: RefillRule,
) -> tuple[Morning, ...]:
    """Return what is known of each day ahead.

    Parameters
    ----------
    zone, limits, ahead, treatments : see there.
    rule : a rain is worth waiting for when it is worth a watering of this rule, and a day.
    """
    lived = lived_days(zone, ahead.dates, ahead.et0_mm)
    days = [lived.day(place) for place in range(ahead.dates.size)]
    blocks = _weather_and_rules(zone, limits, ahead, days)
    treated = treated_days(treatments, days, blocks)
    # A day that the rules open for a treatment alone is none to count on for the next watering.
    closed = [_joined(block, each) for block, each in zip(blocks, treated, strict=True)]
    blocks = [None if each.relief else block for block, each in zip(closed, treated, strict=True)]
    rain_mm = ahead.likely_rain_mm
    worth_mm = np.maximum(rule.least_net_mm, lived.need_mm)
    is_worth = (rain_mm >= worth_mm) & (rain_mm > 0.0)
    return tuple(
        _morning(place, ahead, lived, blocks[place], treated[place],
                 gap_days=_gap_days(place, days, closed, zone, limits), is_worth=is_worth)
        for place in range(len(days))
    )  # fmt: skip


def _joined(block: str | None, treated: TreatedDay) -> str | None:
    """Weather and rules go before treatments, but for one that they leave no day at all."""
    return treated.block if treated.block == "no-water-in" else block or treated.block


def _weather_and_rules(
    zone: ZoneFacts, limits: WateringLimits, ahead: AheadDays, days: Sequence[dt.date]
) -> list[str | None]:
    is_sprinkler = zone.head_kind not in FROST_PROOF
    frost, shut = ahead.is_frost, ahead.is_shut
    codes: list[str | None] = []
    for place, day in enumerate(days):
        if shut[place]:
            codes.append("winter")
        elif is_sprinkler and frost[place]:
            codes.append("frost")
        else:
            codes.append(None if limits.allows(day) else NOT_BY_RULES)
    return codes


def _gap_days(
    place: int,
    days: Sequence[dt.date],
    blocks: Sequence[str | None],
    zone: ZoneFacts,
    limits: WateringLimits,
) -> int:
    """Return the days until it may be watered again after a watering on that day."""
    for gap in range(zone.min_days_between, LONGEST_GAP_DAYS):
        then = place + gap
        if then < len(days):
            is_open = blocks[then] is None
        else:
            is_open = limits.allows(days[place] + dt.timedelta(days=gap))
        if is_open:
            return gap
    return LONGEST_GAP_DAYS


def _morning(
    place: int,
    ahead: AheadDays,
    lived: LivedDays,
    block: str | None,
    treated: TreatedDay,
    *,
    gap_days: int,
    is_worth: Truths,
) -> Morning:
    rains = np.flatnonzero(is_worth[place:])
    rain_in = int(rains[0]) if rains.size else None
    return Morning(
        place=place,
        date=lived.day(place),
        zone=lived.zones[place],
        stage=lived.stages[place],
        et0_mm=float(ahead.et0_mm[place]),
        need_mm=float(lived.need_mm[place]),
        raw_mm=float(lived.raw_mm[place]),
        reserve_mm=float(lived.reserve_mm[place]),
        until_next_mm=_need_over(lived, place, gap_days),
        rain_need_mm=None if rain_in is None else _need_over(lived, place, rain_in + 1),
        rain_is_first=rain_in is not None and rain_in < gap_days,
        block=block,
        treated=treated,
    )


def _need_over(lived: LivedDays, place: int, days: int) -> float:
    """Return the need of some days from one on [mm]; beyond the last it goes on like that day."""
    known = lived.need_mm[place : place + days]
    beyond = days - known.size
    return float(known.sum() + beyond * lived.need_mm[-1])
