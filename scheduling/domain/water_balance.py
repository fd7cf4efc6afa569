"""The daily water account of the root zone: what came in, what the plants used, what was lost.

All arrays are days x zones. An input may also be days x 1 (one weather for all zones) or have one
value for each zone; it is spread without being copied.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from properties.domain.errors import InvalidInputError
from scheduling.domain.water_columns import Array, column, spread, start_of

# Zones that are carried through the days together: their rows stay in the processor's cache.
ZONES_AT_ONCE: Final = 8192
_ROUNDING_MM: Final = 1e-9


@dataclass(frozen=True, kw_only=True)
class RootZone:
    """What the roots can hold.

    storage_mm : water that can be used without stress [mm], 0 to 5000 (readily available, or the
        working storage of a test protocol); days x zones where the root depth changes.
    reserve_mm : water below it that is used under stress [mm]; 0 (the default) is no stress: the
        plants use all of the need until the store is empty, and nothing then.
    start_mm : what is stored before the first day [mm], the reserve included; full when None.
    """

    storage_mm: ArrayLike
    reserve_mm: ArrayLike = 0.0
    start_mm: ArrayLike | None = None


@dataclass(frozen=True, kw_only=True)
class Waterings:
    """What was put down, all of it gross depths [mm].

    gross_mm : depth put down on the day.
    net_fraction : what reaches the roots evenly, 0.05 to 1: an efficiency, or the inverse of the
        run-time multiplier.
    runoff_mm, soak_runoff_mm : what ran off, because a cycle was too long or the soak before it too
        short (see `water_events.cycle_losses`).
    """

    gross_mm: ArrayLike
    net_fraction: ArrayLike = 1.0
    runoff_mm: ArrayLike = 0.0
    soak_runoff_mm: ArrayLike = 0.0


@dataclass(frozen=True, kw_only=True)
class WaterAccount:
    """The account, days x zones [mm]; `start_mm` is what was stored before the first day.

    gross = uneven loss + net; net = net runoff + net soak runoff + irrigation overflow + what was
    stored; and over all days rain + net = used + runoffs + overflows + out of reach + change of
    the store.
    """

    need_mm: Array
    effective_rain_mm: Array
    gross_mm: Array
    net_fraction: Array
    gross_runoff_mm: Array
    gross_soak_runoff_mm: Array
    capacity_mm: Array
    start_mm: Array
    stored_mm: Array = field(repr=False)
    deficit_mm: Array = field(repr=False)
    rain_overflow_mm: Array = field(repr=False)
    irrigation_overflow_mm: Array = field(repr=False)

    @property
    def net_mm(self) -> Array:
        """What would reach the roots if nothing ran off."""
        return self.gross_mm * self.net_fraction

    @property
    def uneven_loss_mm(self) -> Array:
        """What the uneven application costs: gross less net."""
        return self.gross_mm - self.net_mm

    @property
    def runoff_mm(self) -> Array:
        """Runoff of too long cycles, as net depth."""
        return self.gross_runoff_mm * self.net_fraction

    @property
    def soak_runoff_mm(self) -> Array:
        """Runoff of too short soaks, as net depth."""
        return self.gross_soak_runoff_mm * self.net_fraction

    @property
    def used_mm(self) -> Array:
        """What the plants used: need less deficit."""
        return self.need_mm - self.deficit_mm

    @property
    def surplus_mm(self) -> Array:
        """What drained below the roots, of rain and of irrigation."""
        return self.rain_overflow_mm + self.irrigation_overflow_mm

    @property
    def out_of_reach_mm(self) -> Array:
        """What lay below the roots when the store became smaller with the month."""
        before = np.concatenate((self.start_mm[np.newaxis], self.stored_mm[:-1]))
        return np.maximum(before - self.capacity_mm, 0.0)


@dataclass(frozen=True)
class DayRows:
    """Where one day of some zones is written to."""

    stored_mm: Array
    deficit_mm: Array
    rain_overflow_mm: Array
    irrigation_overflow_mm: Array


def simulate(
    need_mm: ArrayLike, effective_rain_mm: ArrayLike, waterings: Waterings, root_zone: RootZone
) -> WaterAccount:
    """Return the daily account of the root zone for any number of days and zones.

    Order of a day: the store is cut to its capacity of the day; rain; irrigation; need. Need is
    last because plants draw by day on what the night and the morning brought. Rain is before
    irrigation so that each overflow has one cause: what rain alone would have overfilled is the
    rain's, and all that irrigation adds to that is the irrigation's, also where the rain fell after
    the watering. That is the strictest reading for whoever waters.

    Parameters
    ----------
    need_mm : crop evapotranspiration [mm d-1], 0 to 50.
    effective_rain_mm : what rain adds to the root zone [mm d-1], 0 to 2000 (see `rain`).
    waterings, root_zone : see there.

    Raises
    ------
    InvalidInputError
        For NaN or a value out of range, shapes that do not spread to days x zones, more runoff than
        was put down, or a start above the capacity; the field is named.

    References
    ----------
    FAO-56, eq. 85 (balance) and eq. 84 (stress coefficient, with the store after rain and
    irrigation of the day). Losses by surface are taken out at their net depth.
    """
    columns = _columns(need_mm, effective_rain_mm, waterings, root_zone)
    reserve = columns["reserve_mm"] if np.any(root_zone.reserve_mm) else None
    capacity = columns["storage_mm"]
    if reserve is not None:
        capacity = capacity + reserve
    start = start_of(root_zone.start_mm, capacity)
    rows = DayRows(*(np.empty(columns["need_mm"].shape) for _ in range(4)))
    account = WaterAccount(
        need_mm=columns["need_mm"],
        effective_rain_mm=columns["effective_rain_mm"],
        gross_mm=columns["gross_mm"],
        net_fraction=columns["net_fraction"],
        gross_runoff_mm=columns["runoff_mm"],
        gross_soak_runoff_mm=columns["soak_runoff_mm"],
        capacity_mm=capacity,
        start_mm=start,
        **vars(rows),
    )
    for first in range(0, start.size, ZONES_AT_ONCE):
        _carry(account, reserve, slice(first, first + ZONES_AT_ONCE))
    return account


def pass_day(
    store: Array, capacity: Array, rain: Array, water: Array, need: Array, into: DayRows
) -> None:
    """Carry the store through one day without stress and write the day down; changes `store`.

    Parameters
    ----------
    store : what is stored at the end of the day before [mm], not above `capacity`.
    capacity, rain, water, need : of the day [mm]; `water` is what soaks in evenly.
    into : the rows of the day.
    """
    _fill(store, rain, capacity, into.rain_overflow_mm)
    _fill(store, water, capacity, into.irrigation_overflow_mm)
    np.subtract(need, store, out=into.deficit_mm)
    np.maximum(into.deficit_mm, 0.0, out=into.deficit_mm)
    np.subtract(store, need, out=store)
    np.maximum(store, 0.0, out=store)
    into.stored_mm[:] = store


def _fill(store: Array, water: Array, capacity: Array, overflow: Array) -> None:
    np.add(store, water, out=store)
    np.subtract(store, capacity, out=overflow)
    np.maximum(overflow, 0.0, out=overflow)
    np.minimum(store, capacity, out=store)


def _carry(account: WaterAccount, reserve: Array | None, zones: slice) -> None:
    store = account.start_mm[zones].copy()
    water = np.empty_like(store)
    for day in range(account.need_mm.shape[0]):
        at = (day, zones)
        np.minimum(store, account.capacity_mm[at], out=store)
        _soaked_in(account, at, water)
        into = DayRows(
            account.stored_mm[at],
            account.deficit_mm[at],
            account.rain_overflow_mm[at],
            account.irrigation_overflow_mm[at],
        )
        rain, need = account.effective_rain_mm[at], account.need_mm[at]
        if reserve is not None:
            need = need * _stress(store + rain + water, account.capacity_mm[at], reserve[at])
        pass_day(store, account.capacity_mm[at], rain, water, need, into)
        if reserve is not None:
            into.deficit_mm[:] += account.need_mm[at] - need


def _soaked_in(account: WaterAccount, at: tuple[int, slice], water: Array) -> None:
    np.subtract(account.gross_mm[at], account.gross_runoff_mm[at], out=water)
    np.subtract(water, account.gross_soak_runoff_mm[at], out=water)
    np.multiply(water, account.net_fraction[at], out=water)


def _stress(wet_mm: Array, capacity: Array, reserve: Array) -> Array:
    """FAO-56, eq. 84: Ks = what is left of all available water over the part used under stress."""
    left = np.minimum(wet_mm, capacity)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(left < reserve, left / reserve, 1.0)


def _columns(
    need_mm: ArrayLike, effective_rain_mm: ArrayLike, waterings: Waterings, root_zone: RootZone
) -> dict[str, Array]:
    given = {
        "need_mm": need_mm,
        "effective_rain_mm": effective_rain_mm,
        "storage_mm": root_zone.storage_mm,
        "reserve_mm": root_zone.reserve_mm,
        **vars(waterings),
    }
    checked = {name: column(values, field=name) for name, values in given.items()}
    if checked["runoff_mm"].any() or checked["soak_runoff_mm"].any():
        _refuse_more_runoff_than_water(checked)
    return spread(checked)


def _refuse_more_runoff_than_water(columns: dict[str, Array]) -> None:
    lost, gross = columns["runoff_mm"] + columns["soak_runoff_mm"], columns["gross_mm"]
    if np.any(lost > gross + _ROUNDING_MM):
        raise InvalidInputError(
            "More water runs off than is put down.",
            field="runoff_mm", code="runoff-over-gross",
            remedy="Give runoff as gross depth of the same day.",
        )  # fmt: skip
