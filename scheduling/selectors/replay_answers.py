"""The answer of a replay as JSON: metric, rounded once, a list of values for the years."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import DomainError
from scheduling.domain.program_waterings import MONTHS
from scheduling.domain.replay import Replay
from scheduling.domain.replay_schedules import ReplayCase
from scheduling.domain.replay_totals import PickedYears, Totals, ZonesTogether
from scheduling.domain.water_columns import Array
from scheduling.selectors.replay_variants import Against

LITRES_PER_M3: Final = 1000.0
DEPTHS: Final = (
    "need_mm", "effective_rain_mm", "gross_mm", "net_mm", "uneven_loss_mm", "runoff_mm",
    "drained_mm", "drained_rain_mm", "deficit_mm",
)  # fmt: skip
COUNTS: Final = ("watering_days", "stress_days", "dry_days")
SCORES: Final = ("adequacy", "excess", "scheduling_efficiency")
_DIGITS: Final = {
    "litres": 0, "runoff_l": 0, "drained_l": 0, "stress_days": 1, "dry_days": 1, "adequacy": 4,
    "excess": 4, "money": 2,
}  # fmt: skip
MONTHLY: Final = ("need_mm", "gross_mm", "runoff_mm", "drained_mm", "deficit_mm")


@dataclass(frozen=True)
class Shown:
    """What of a replay is shown: which years have weather, and which three stand for the rest."""

    years: tuple[int, ...]
    is_of_year: NDArray[np.bool_]
    picked: PickedYears
    price_per_m3: float | None

    @property
    def by_month(self) -> tuple[int, ...]:
        """The years that go by month; one may be dry and wet at once."""
        return tuple(dict.fromkeys(vars(self.picked).values()))


def zone_answer(case: ReplayCase, result: Replay, place: int, shown: Shown) -> dict[str, Any]:
    """Return the years of one zone, and its months in the dry, the median and the wet year."""
    area_m2 = case.zone.facts.area_m2
    years = _zone_columns(result.years, place, shown.is_of_year)
    return {
        "area_m2": area_m2,
        "net_fraction": _rounded(case.zone.net_fraction, 4),
        "years": {
            **_depths(years, DEPTHS),
            **{name: [int(value) for value in years[name]] for name in COUNTS},
            **{name: _listed(years[name], 4) for name in SCORES},
            **_water(years, area_m2, shown.price_per_m3),
        },
        "months": [_months(result, place, year, area_m2) for year in shown.by_month],
    }


def refused(refusal: DomainError) -> dict[str, str]:
    """Return a refusal as JSON."""
    return {
        "code": refusal.code,
        "field": refusal.field,
        "detail": refusal.detail,
        "remedy": refusal.remedy,
    }


def against_answer(told: Against | None) -> dict[str, Any] | None:
    """Return how a variant stands to the first one, over how many zones, and how sure that is."""
    if told is None:
        return None
    digits = {"percent": 1, "stress_days": 1, "money": 2}
    numbers = {
        name: None if value is None else _rounded(value, digits.get(name, 0))
        for name, value in asdict(told.difference).items()
        if name != "sentence"
    }
    return {
        **numbers,
        "sentence": told.difference.sentence,
        "zones": told.zones,
        "interval": _interval(told),
        "parts": {
            name: {
                "zones": [str(zone_id) for zone_id in part.zone_ids],
                "litres": _rounded(part.interval.litres, 0),
                "litres_low": _rounded(part.interval.low, 0),
                "litres_high": _rounded(part.interval.high, 0),
            }
            for name, part in told.parts.items()
        },
    }


def summary_answer(together: ZonesTogether, shown: Shown) -> dict[str, Any]:
    """Return a mean year of the property, and its dry, its median and its wet year."""
    columns = vars(together)
    if shown.price_per_m3 is not None:
        money = together.litres / LITRES_PER_M3 * shown.price_per_m3
        columns = {**columns, "money": money}
    mean_year = {name: _mean(values) for name, values in columns.items()}
    named = {
        f"{name}_year": {key: values[shown.years.index(year)] for key, values in columns.items()}
        for name, year in vars(shown.picked).items()
    }
    return {name: _period(values) for name, values in {"mean_year": mean_year, **named}.items()}


def _mean(values: Array) -> float:
    """Return the mean of the years that have a value."""
    known = values[~np.isnan(values)]
    return float(known.mean()) if known.size else math.nan


def _period(values: dict[str, float]) -> dict[str, Any]:
    rounded = {name: _rounded(value, _DIGITS[name]) for name, value in values.items()}
    return {"money": None, **rounded}


def _interval(told: Against) -> dict[str, Any]:
    interval = told.interval
    return {
        "litres_low": _rounded(interval.low, 0),
        "litres_high": _rounded(interval.high, 0),
        "years_half": None if interval.years_half is None else _rounded(interval.years_half, 0),
        "rates_low": _rounded(interval.rates_low, 0),
        "rates_high": _rounded(interval.rates_high, 0),
        "zones_unmeasured": told.zones_unmeasured,
        "sentence": _made_of(told),
    }


def _made_of(told: Against) -> str:
    """Return in words what the interval is made of, and what is not in it."""
    words = "The interval holds nine of ten coming years, by the errors of the measured rates"
    if told.interval.years_half is None:
        words += "; a single year shows no spread from year to year."
    else:
        words += " and the spread from year to year."
    if told.zones_unmeasured == 1:
        words += " The rate of one zone is estimated: its error is not in it."
    elif told.zones_unmeasured:
        words += f" The rates of {told.zones_unmeasured} zones are estimated: not in it."
    return words


def _months(result: Replay, place: int, year: int, area_m2: float | None) -> dict[str, Any]:
    first = (year - result.first_year) * MONTHS
    rows = np.zeros(result.months.gross_mm.shape[0], dtype=np.bool_)
    rows[first : first + MONTHS] = True
    months = _zone_columns(result.months, place, rows)
    return {
        "year": year,
        **_depths(months, MONTHLY),
        **{name: [int(value) for value in months[name]] for name in COUNTS},
        "litres": _water(months, area_m2, None)["litres"],
    }


def _zone_columns(totals: Totals, place: int, rows: NDArray[np.bool_]) -> dict[str, Array]:
    return {name: values[rows, place] for name, values in vars(totals).items()}


def _depths(columns: dict[str, Array], names: Iterable[str]) -> dict[str, list[float | None]]:
    return {name: _listed(columns[name], 2) for name in names}


def _water(
    columns: dict[str, Array], area_m2: float | None, price_per_m3: float | None
) -> dict[str, Any]:
    """Return litres and money; what is not known is null."""
    if area_m2 is None:
        return {"litres": None, "net_litres": None, "money": None}
    litres = columns["gross_mm"] * area_m2
    money = None if price_per_m3 is None else _listed(litres / LITRES_PER_M3 * price_per_m3, 2)
    return {
        "litres": _listed(litres, 1),
        "net_litres": _listed(columns["net_mm"] * area_m2, 1),
        "money": money,
    }


def _listed(values: Array, digits: int) -> list[float | None]:
    return [_rounded(float(value), digits) for value in values]


def _rounded(value: float, digits: int) -> float | None:
    return round(value, digits) + 0.0 if math.isfinite(value) else None
