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
Counts = NDArray[np.int64]

_ROUNDING_MM: Final = 1e-9


@dataclass(frozen=True, kw_only=True)
class RefillRule:
    """When a zone is due and how full it is made.

    room : part of the storage that a watering leaves free, 0 to 0.9: for rain, and for an account
        that thinks the soil drier than it is.
    most_room_mm : the room at most [mm], 0 to 500: a large store keeps more in hand instead.
    portion : part of the storage that is used between two waterings, 0.05 to 1; room and portion
        together at most 1. What is left below is kept, for an account that thinks the soil wetter
        than it is.
    least_net_mm : a watering of less waits [mm], unless the need of the day is not covered.
    """

    room: float = 0.4
    most_room_mm: float = 10.0
    portion: float = 0.4
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


# As the plan of a month: fill the roots, and water again when they are used up.
USED_UP: Final = RefillRule(room=0.0, portion=1.0)


def rule_for(*, leaves_room: bool) -> RefillRule:
    """Return the rule of a company: that of the month's plan, or one that leaves room for rain."""
    return RefillRule() if leaves_room else USED_UP


@dataclass(frozen=True, kw_only=True)
class RefillZones:
    """What binds the waterings of the zones; each one value for each zone, or days x zones.

    storage_mm : water that can be used without stress [mm].
    net_fraction : net over gross depth, 0.05 to 1: an efficiency, or 1 / run-time multiplier.
    day_limit_mm : the most that one watering day may put down, gross [mm]; infinite is none.
    min_days_between : days from one watering to the next at least [d]; 1 is every day.
    max_days_between : days after which a zone that has room is watered anyway [d].
    waterings_a_day : the most waterings of one day, 1 to 24. More than one are only for roots that
        hold less than a day of need, and only where the zone may be watered every day.
    may_water : whether rules, frost or a winter let the zone be watered on the day.
    start_mm : what is stored before the first day [mm]; full when None.
    """

    storage_mm: ArrayLike
    net_fraction: ArrayLike = 1.0
    day_limit_mm: ArrayLike = np.inf
    min_days_between: ArrayLike = 1
    max_days_between: ArrayLike = 366
    waterings_a_day: ArrayLike = 1
    may_water: ArrayLike = True
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

    `net_mm` and `gross_mm` are of all waterings of a day together. `is_postponed`: the zone was
    due, and a forecast rain put its refill off.
    """

    net_mm: Array
    gross_mm: Array
    stored_mm: Array
    deficit_mm: Array
    waterings: Counts
    is_postponed: Truths


def refill_when_due(weather: RefillWeather, zones: RefillZones, rule: RefillRule) -> Refills:
    """Decide day by day whether each zone is watered and how deep, as the account stands.

    1. The account is kept with the weather up to the day before.
    2. A zone is due when the store, less the expected need until it may be watered again, would
       fall below what is kept; or when it has room and the longest time has passed.
    3. It is not due before its shortest time has passed, nor on a day on which it may not be
       watered. Until it may be watered again is the next such day after its shortest time.
    4. A forecast rain postpones the refill: the zone gets only what its store lacks until it may be
       watered again, mostly nothing. The forecast never fills the store.
    5. Else it gets what fills it up to the room that the rule leaves, but at least what is used
       until it may be watered again; never more than the soil's limit of a day.
    6. Where the roots hold less than a day of need, the day has as many equal parts as it takes,
       up to the waterings that it may have. Each part gets what it needs; what the store still
       holds lessens the first, and the limit of the day the last.
    7. The day passes: rain, irrigation, need, as in `simulate`; or rain, and then each part so.

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
    for day in range(days):
        today = {name: array[day] for name, array in given.items()}
        today["parts"] = _parts(today)
        np.minimum(store, today["storage_mm"], out=store)
        since += 1
        due = _due(store, since, today, rule)
        waits = due & _rain_comes(today, rule)
        full = np.where(waits, _until_next_mm(today), _full_mm(today, rule))
        net = np.where(due, _net_mm(store, full, today), 0.0)
        since[net > 0.0] = 0.0
        outcome.net_mm[day], outcome.is_postponed[day] = net, waits
        _pass_parts(store, _parts_mm(store, full, net, today), today, outcome, day)
    np.divide(outcome.net_mm, given["net_fraction"], out=outcome.gross_mm)
    return outcome


def _nothing_yet(days: int, zones: int) -> Refills:
    net, gross, stored, deficit = (np.zeros((days, zones)) for _ in range(4))
    waterings = np.zeros((days, zones), dtype=np.int64)
    return Refills(net, gross, stored, deficit, waterings, np.zeros_like(waterings, dtype=np.bool_))


def _parts(today: dict[str, Array]) -> Array:
    """Into how many equal parts a day falls, so that the roots hold the expected need of each."""
    need, storage = today["expected_need_mm"], today["storage_mm"]
    if today["waterings_a_day"].max(initial=1.0) < 2.0:
        return np.ones_like(need)
    days = np.divide(need, storage, out=np.ones_like(need), where=storage > 0.0)
    most = np.where(today["min_days_between"] > 1.0, 1.0, np.floor(today["waterings_a_day"]))
    return np.asarray(np.clip(np.ceil(days - _ROUNDING_MM), 1.0, most))


def _parts_mm(store: Array, full: Array, net: Array, today: dict[str, Array]) -> Array:
    """Return what each part of the day is watered with, parts x zones [mm]; 0 beyond the last."""
    parts = today["parts"]
    most = parts.max(initial=1.0)
    if most == 1.0:
        return net[np.newaxis]
    number = np.arange(1.0, most + 1.0)[:, np.newaxis]
    wanted = full * np.minimum(number / parts, 1.0) - store
    given = np.minimum(np.maximum(wanted, 0.0), net)
    return np.diff(given, axis=0, prepend=0.0)


def _pass_parts(
    store: Array, water: Array, today: dict[str, Array], outcome: Refills, day: int
) -> None:
    """Carry the store through the parts of a day; it rains before the first."""
    rain, need = today["effective_rain_mm"], today["need_mm"] / today["parts"]
    deficit, *lost = np.empty((3, store.size))
    for number, part in enumerate(water):
        into = DayRows(outcome.stored_mm[day], deficit, *lost)
        pass_day(store, today["storage_mm"], rain, part, need * (number < today["parts"]), into)
        outcome.deficit_mm[day] += deficit
        rain = np.zeros_like(store)
    np.sum(water > 0.0, axis=0, out=outcome.waterings[day])


def _due(store: Array, since: Array, today: dict[str, Array], rule: RefillRule) -> Truths:
    storage, expected = today["storage_mm"], today["expected_need_mm"]
    left = store - expected * today["gap_days"]
    wanted = _full_mm(today, rule) - store
    is_short = store < expected
    has_room = (wanted >= rule.least_net_mm - _ROUNDING_MM) | is_short
    is_dry = left < rule.kept_mm(storage) - _ROUNDING_MM
    is_late = since >= today["max_days_between"]
    may_run = (since >= today["min_days_between"]) & (today["may_water"] > 0.0)
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
    need, storage = today["expected_need_mm"], today["storage_mm"]
    held = np.maximum(np.minimum(need, storage * today["parts"]), storage)
    return np.asarray(np.minimum(need * today["gap_days"], held))


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
        "waterings_a_day": zones.waterings_a_day,
        "may_water": zones.may_water,
    }
    columns = spread({name: column(values, field=name) for name, values in given.items()})
    return columns | {"gap_days": _gap_days(columns)}


def _gap_days(columns: dict[str, Array]) -> Array:
    """Days from each day to the next on which the zone may be watered after its shortest time.

    Nobody knows what comes after the last day: it is taken for a day of watering.
    """
    shortest, may_water = columns["min_days_between"], columns["may_water"]
    if may_water.all():
        return shortest
    days = np.arange(len(may_water))[:, np.newaxis]
    allowed = np.where(may_water > 0.0, days, len(may_water))
    following = np.minimum.accumulate(allowed[::-1])[::-1]
    after = np.minimum(days + shortest.astype(np.int64), len(may_water) - 1)
    found = np.take_along_axis(following, after, axis=0) - days
    return np.asarray(np.maximum(found, shortest), dtype=np.float64)
