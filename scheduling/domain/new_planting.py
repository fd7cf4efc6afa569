"""New plantings: short and frequent at first, then less often as the roots go down.

Nothing else is special about them. Shallow roots reach little water, so the days between come out
short and the depth small; as the roots grow the plan tapers into the usual one by itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from properties.domain.site import PlantType
from scheduling.domain.bounds import Numbers, within


@dataclass(frozen=True)
class Establishment:
    """How a planting begins: its root depth when set [mm], and the days until it is established."""

    first_root_mm: float
    days: int


# Common practice: sod is set with 25 to 50 mm of roots and is established in about two months;
# bedding plants come in pots of some 75 mm and root through in six weeks; the ball of a shrub or
# small tree is 150 to 250 mm deep, and it takes a growing season or two to leave it.
_TURF: Final = Establishment(50.0, 60)
_WOODY: Final = Establishment(200.0, 365)
ESTABLISHMENTS: Final = {
    PlantType.COOL_TURF: _TURF,
    PlantType.WARM_TURF: _TURF,
    PlantType.WOODY_WET_CLIMATE: _WOODY,
    PlantType.WOODY_DRY_CLIMATE: _WOODY,
    PlantType.ANNUAL_FLOWERS: Establishment(75.0, 45),
    PlantType.DESERT_PLANTS: _WOODY,
}


def establishing_root_depth_mm(
    plant_type: PlantType, full_root_depth_mm: ArrayLike, days_since_planting: ArrayLike
) -> Numbers:
    """Return how deep the roots of a planting reach [mm].

    They grow evenly from the depth at planting to the full one. A planting of the future counts
    as established: what stands there now is not it.

    Parameters
    ----------
    plant_type : what was planted.
    full_root_depth_mm : depth of the established roots [mm], 10 to 5000.
    days_since_planting : [d], any shape.

    References
    ----------
    Common practice; see the table of establishments.
    """
    full = within(full_root_depth_mm, 10.0, 5000.0, field="full_root_depth_mm")
    days = within(days_since_planting, -1e5, 1e5, field="days_since_planting")
    start = ESTABLISHMENTS[plant_type]
    first = np.minimum(start.first_root_mm, full)
    grown = first + (full - first) * np.clip(days / start.days, 0.0, 1.0)
    return np.where(days < 0, full, grown)[()]


def is_establishing(plant_type: PlantType, days_since_planting: int) -> bool:
    """Return whether a planting still lives on shallow roots."""
    return 0 <= days_since_planting < ESTABLISHMENTS[plant_type].days
