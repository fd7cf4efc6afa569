"""Which of several weather stations speaks for a place, and which help it out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scheduling.domain.bounds import number_within
from scheduling.domain.distance import great_circle_km

# Common practice: weather changes with height some hundred times as fast as along the ground. At
# the standard lapse of 6.5 degC/km (ISO 2533) 10 m are 0.065 degC, about what 1 km brings.
CLIMB_M_PER_KM: Final = 10.0
RECENT_DAYS: Final = 30  # common practice: behind the newest station around by more, it has ceased
ENOUGH_DAYS: Final = 1461  # four fifths of the five years that a usual year asks for


@dataclass(frozen=True)
class Place:
    """A position [deg] and its height above the sea [m], None where nobody knows it."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None = None


@dataclass(frozen=True)
class Candidate:
    """A station and how far its weather goes: the newest whole day, and whether it has many."""

    code: str
    place: Place
    last_date: dt.date | None
    has_enough_days: bool


@dataclass(frozen=True)
class RankedStation:
    """A station as it stands to a place; the first of a ranking speaks for it."""

    code: str
    distance_km: float
    effective_km: float
    is_recent: bool
    has_enough_days: bool


def effective_distance_km(here: Place, there: Place) -> float:
    """Return the distance [km] with 1 km added for each 10 m of difference in height.

    Where a height is unknown the distance along the ground stands alone.

    Parameters
    ----------
    here, there : two places; latitude -90 to 90, longitude -180 to 180 [deg], elevation [m].

    Raises
    ------
    InvalidInputError
        For a position that is not on the globe.

    References
    ----------
    Common practice; see `CLIMB_M_PER_KM`.
    """
    along = _along_km(here, there)
    if here.elevation_m is None or there.elevation_m is None:
        return along
    return along + abs(here.elevation_m - there.elevation_m) / CLIMB_M_PER_KM


def ranked_stations(
    here: Place, candidates: Sequence[Candidate], *, farthest_km: float
) -> tuple[RankedStation, ...]:
    """Return the stations within reach, the best first.

    1. Out of reach is what lies farther away than `farthest_km` along the ground.
    2. A station with enough days that still reports comes before one that has only enough days,
       that before one that only reports, and that before all others: a plan needs both, but a
       short record is better than none.
    3. Among equals the smaller effective distance decides, then the code.

    A station still reports when it is at most `RECENT_DAYS` behind the newest day of all those in
    reach, so that the choice needs no clock and does not turn when all files are late alike.

    Parameters
    ----------
    here : the place.
    candidates : stations that have weather.
    farthest_km : reach along the ground [km], 0 or more.
    """
    number_within(farthest_km, 0.0, 20_100.0, field="farthest_km")
    near = [
        (candidate, along)
        for candidate in candidates
        if (along := _along_km(here, candidate.place)) <= farthest_km
    ]
    newest = max((one.last_date for one, _ in near if one.last_date), default=None)
    ranked = [_ranked(here, candidate, along, newest) for candidate, along in near]
    return tuple(sorted(ranked, key=_order))


def _ranked(
    here: Place, candidate: Candidate, along_km: float, newest: dt.date | None
) -> RankedStation:
    last = candidate.last_date
    return RankedStation(
        code=candidate.code,
        distance_km=along_km,
        effective_km=effective_distance_km(here, candidate.place),
        is_recent=bool(last and newest and (newest - last).days <= RECENT_DAYS),
        has_enough_days=candidate.has_enough_days,
    )


def _order(station: RankedStation) -> tuple[bool, bool, float, str]:
    return (
        not station.has_enough_days,
        not station.is_recent,
        station.effective_km,
        station.code,
    )


def _along_km(here: Place, there: Place) -> float:
    return great_circle_km(_position(here), _position(there))


def _position(place: Place) -> tuple[float, float]:
    return (
        number_within(place.latitude_deg, -90.0, 90.0, field="latitude"),
        number_within(place.longitude_deg, -180.0, 180.0, field="longitude"),
    )
