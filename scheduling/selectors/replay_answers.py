"""The answer of a replay as JSON: metric, rounded once, a list of values for the years."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import DomainError
from scheduling.domain.replay import Replay
from scheduling.domain.replay_differences import Difference
from scheduling.domain.replay_schedules import MONTHS, ReplayCase
from scheduling.domain.replay_totals import Totals
from scheduling.domain.water_columns import Array

LITRES_PER_M3: Final = 1000.0
DEPTHS: Final = (
    "need_mm", "effective_rain_mm", "gross_mm", "net_mm", "uneven_loss_mm", "runoff_mm",
    "drained_mm", "drained_rain_mm", "deficit_mm",
)  # fmt: skip
COUNTS: Final = ("watering_days", "stress_days", "dry_days")
SCORES: Final = ("adequacy", "excess", "scheduling_efficiency")
MONTHLY: Final = ("need_mm", "gross_mm", "runoff_mm", "drained_mm", "deficit_mm")


@dataclass(frozen=True)
class Shown:
    """What of a replay is shown: which years have weather, and which three go by month."""

    years: tuple[int, ...]
    is_of_year: NDArray[np.bool_]
    by_month: tuple[int, ...]
    price_per_m3: float | None


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


def difference_answer(difference: Difference, zones: int) -> dict[str, Any]:
    """Return how a variant stands to the first one, and over how many zones."""
    told = asdict(difference)
    digits = {"percent": 1, "stress_days": 1, "money": 2}
    numbers = {
        name: None if value is None else _rounded(value, digits.get(name, 0))
        for name, value in told.items()
        if name != "sentence"
    }
    return {**numbers, "sentence": difference.sentence, "zones": zones}


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
