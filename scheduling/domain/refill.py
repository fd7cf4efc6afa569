"""The daily way of watering: each morning the account says whether a zone is due, and how deep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within
from scheduling.domain.water_balance import DayRows, pass_day
from scheduling.domain.water_columns import Array, column, spread, start_of

Truths = NDArray[np.bool_]

_ROUNDING_MM: Final = 1e-9


@dataclass(frozen=True, kw_only=True)
class RefillRule:
    """When a zone is due and how full it is made.

    room : part of the storage that a watering leaves free, 0 to 0.9: for rain, and for an account
        that thinks the soil drier than it is.
    most_room_mm : the room at most [mm], 0 to 500: a large store keeps more in hand instead, for an
        account that thinks the soil wetter than it is.
    portion : part of the storage that is used between two waterings, 0.05 to 1; room and portion
        together at most 1. What is left below is kept.
    least_net_mm : a watering of less waits [mm], unless the need of the day is not covered.
    """

    room: float = 0.4
    most_room_mm: float = 10.0
    portion: float = 0.5
    least_net_mm: float = 2.0

    def __post_init__(self) -> None:
        number_within(self.room, 0.0, 0.9, field="room")
        number_within(self.most_room_mm, 0.0, 500.0, field="most_room_mm")
        number_within(self.portion, 0.05, 1.0, field="portion")
        number_within(self.least_net_mm, 0.0, 50.0, field="least_net_mm")
        if self.room + self.portion > 1.0 + 1e-9:
            raise InvalidInputError(
                "Room and portion are more than the storage.",
                field="portion", code="portion-over-storage",
                remedy="Give room and portion that come to 1 at most.",
            )  # fmt: skip

    def full_mm(self, storage_mm: Array) -> Array:
        """Return what a watering fills the store to [mm]."""
        return storage_mm - np.minimum(self.room * storage_mm, self.most_room_mm)

    def kept_mm(self, storage_mm: Array) -> Array:
        """Return the store below which a zone is due [mm]."""
        return np.maximum(self.full_mm(storage_mm) - self.portion * storage_mm, 0.0)


@dataclass(frozen=True, kw_only=True)
class RefillZones:
    """What binds the waterings of the zones; each one value for each zone, or days x zones.

    storage_mm : water that can be used without stress [mm].
    net_fraction : net over gross depth, 0.05 to 1: an efficiency, or 1 / run-time multiplier.
    day_limit_mm : the most that one watering day may put down, gross [mm]; infinite is none.
    min_days_between : days from one watering to the next at least [d]; 1 is every day.
    max_days_between : days after which a zone that has room is watered anyway [d].
    start_mm : what is stored before the first day [mm]; full when None.
    """

    storage_mm: ArrayLike
    net_fraction: ArrayLike = 1.0
    day_limit_mm: ArrayLike = np.inf
    min_days_between: ArrayLike = 1
    max_days_between: ArrayLike = 366
    start_mm: ArrayLike | None = None


@dataclass(frozen=True)
class RefillWeather:
    """What the account is kept from, and what is known of a day on its morning [mm d-1].

    need_mm, effective_rain_mm : as they turned out; a decision sees them only up to the day before.
    expected_need_mm : what is thought of the day's need; None takes the need of the day before.
    forecast_rain_mm : effective rain that is forecast for the day; None is no forecast.
    """

    need_mm: ArrayLike
    effective_rain_mm: ArrayLike
    expected_need_mm: ArrayLike | None = None
    forecast_rain_mm: ArrayLike | None = None


@dataclass(frozen=True)
class Refills:
    """What was decided, days x zones [mm], and what the account held at the end of each day.

    `is_postponed`: the zone was due, and a forecast rain put its refill off.
    """

    net_mm: Array
    gross_mm: Array
    stored_mm: Array
    deficit_mm: Array
    is_postponed: Truths


def refill_when_due(weather: RefillWeather, zones: RefillZones, rule: RefillRule) -> Refills:
    """Decide day by day whether each zone is watered and how deep, as the account stands.

    1. The account is kept with the weather up to the day before.
    2. A zone is due when the store, less the expected need until it may be watered again, would
       fall below what is kept; or when it has room and the longest time has passed.
    3. It is not due before its shortest time has passed.
    4. A forecast rain postpones the refill: the zone gets only what its store lacks until it may be
       watered again, mostly nothing. The forecast never fills the store.
    5. Else it gets what fills it up to the room that the rule leaves, but at least what is used
       until it may be watered again; never more than the soil's limit of a day.
    6. The day passes: rain, irrigation, need, as in `simulate`.

    Parameters
    ----------
    weather, zones, rule : see there.

    Raises
    ------
    InvalidInputError
        For NaN, values out of range, shapes that do not spread to days x zones, or a start above
        the storage.
    """
    given = _columns(weather, zones)
    days, count = given["need_mm"].shape
    store = start_of(zones.start_mm, given["storage_mm"])
    since = given["min_days_between"][0] - 1.0  # may be watered on the first day
    outcome = _nothing_yet(days, count)
    lost = np.empty((2, count))
    for day in range(days):
        today = {name: array[day] for name, array in given.items()}
        np.minimum(store, today["storage_mm"], out=store)
        since += 1
        due = _due(store, since, today, rule)
        waits = due & _rain_comes(today, rule)
        full = np.where(waits, _until_next_mm(today), _full_mm(today, rule))
        net = np.where(due, _net_mm(store, full, today), 0.0)
        since[net > 0.0] = 0.0
        outcome.net_mm[day], outcome.is_postponed[day] = net, waits
        into = DayRows(outcome.stored_mm[day], outcome.deficit_mm[day], lost[0], lost[1])
        rain, need = today["effective_rain_mm"], today["need_mm"]
        pass_day(store, today["storage_mm"], rain, net, need, into)
    np.divide(outcome.net_mm, given["net_fraction"], out=outcome.gross_mm)
    return outcome


def _nothing_yet(days: int, zones: int) -> Refills:
    net, gross, stored, deficit = (np.zeros((days, zones)) for _ in range(4))
    return Refills(net, gross, stored, deficit, np.zeros((days, zones), dtype=np.bool_))


def _due(store: Array, since: Array, today: dict[str, Array], rule: RefillRule) -> Truths:
    storage, expected = today["storage_mm"], today["expected_need_mm"]
    left = store - expected * today["min_days_between"]
    wanted = _full_mm(today, rule) - store
    is_short = store < expected
    has_room = (wanted >= rule.least_net_mm - _ROUNDING_MM) | is_short
    is_dry = left < rule.kept_mm(storage) - _ROUNDING_MM
    is_late = since >= today["max_days_between"]
    may_run = since >= today["min_days_between"]
    return np.asarray((is_dry | is_late) & has_room & may_run)


def _rain_comes(today: dict[str, Array], rule: RefillRule) -> Truths:
    """A forecast rain is worth waiting for when it is worth a watering and a day."""
    worth = np.maximum(rule.least_net_mm, today["expected_need_mm"])
    return np.asarray(today["forecast_rain_mm"] >= np.maximum(worth, _ROUNDING_MM))


def _net_mm(store: Array, full: Array, today: dict[str, Array]) -> Array:
    most = today["day_limit_mm"] * today["net_fraction"]
    return np.minimum(np.maximum(full - store, 0.0), most)


def _until_next_mm(today: dict[str, Array]) -> Array:
    """What the plants want before the zone may be watered again, as far as the roots hold it."""
    wanted = today["expected_need_mm"] * today["min_days_between"]
    return np.asarray(np.minimum(wanted, today["storage_mm"]))


def _full_mm(today: dict[str, Array], rule: RefillRule) -> Array:
    """No room is left that the plants want before the zone may be watered again."""
    return np.asarray(np.maximum(rule.full_mm(today["storage_mm"]), _until_next_mm(today)))


def _columns(weather: RefillWeather, zones: RefillZones) -> dict[str, Array]:
    need = column(weather.need_mm, field="need_mm")
    expected = weather.expected_need_mm
    if expected is None:
        rows = np.atleast_2d(need)
        expected = np.concatenate((rows[:1], rows[:-1]))
    given = {
        "need_mm": need,
        "effective_rain_mm": weather.effective_rain_mm,
        "expected_need_mm": expected,
        "forecast_rain_mm": 0.0 if weather.forecast_rain_mm is None else weather.forecast_rain_mm,
        "storage_mm": zones.storage_mm,
        "net_fraction": zones.net_fraction,
        "day_limit_mm": zones.day_limit_mm,
        "min_days_between": zones.min_days_between,
        "max_days_between": zones.max_days_between,
    }
    return spread({name: column(values, field=name) for name, values in given.items()})
