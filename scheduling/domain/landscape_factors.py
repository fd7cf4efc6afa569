"""The landscape coefficient: what plants of one water use need, by how dense and where they stand.

Agencies cut the classes of water use differently, so each table stands here with its source and
the office chooses one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from properties.domain.site import PlantType, WaterUse
from scheduling.domain.bounds import number_within
from scheduling.domain.plants import MICROCLIMATE_RANGE, MONTHS, plant_factors


@dataclass(frozen=True, kw_only=True)
class WaterUseTable:
    """Species factors by class of water use: the part of ET0, lowest and highest of the class."""

    ranges: Mapping[WaterUse, tuple[float, float]]
    source: str

    def factor(self, use: WaterUse) -> float:
        """Return the species factor to plan with: the middle of its class."""
        low, high = self.ranges[use]
        return (low + high) / 2.0


class TableName(StrEnum):
    """Which agency cut the classes."""

    UNIVERSITY = "university"
    WATER_AUTHORITY = "water_authority"


WATER_USE_TABLES: Final[dict[TableName, WaterUseTable]] = {
    TableName.UNIVERSITY: WaterUseTable(
        ranges={
            WaterUse.HIGH: (0.70, 0.90),
            WaterUse.MODERATE: (0.40, 0.60),
            WaterUse.LOW: (0.10, 0.30),
            WaterUse.VERY_LOW: (0.00, 0.10),
        },
        source="University of California, WUCOLS IV, Categories of Water Needs",
    ),
    TableName.WATER_AUTHORITY: WaterUseTable(
        ranges={
            WaterUse.HIGH: (0.60, 1.00),
            WaterUse.MODERATE: (0.30, 0.60),
            WaterUse.LOW: (0.10, 0.30),
            WaterUse.VERY_LOW: (0.00, 0.10),
        },
        source="San Diego County Water Authority (waternewsnetwork.com, 19 July 2018)",
    ),
}

# Guide to the landscape coefficient method (University of California, ch. 2), from memory: sparse
# plantings 0.5 to 0.9, average 1.0, several layers 1.1 to 1.3.
DENSITY_RANGE: Final = (0.5, 1.3)
SPECIES_RANGE: Final = (0.0, 1.0)


def landscape_coefficient(
    species_factor: float, density_factor: float = 1.0, microclimate_factor: float = 1.0
) -> float:
    """Return the part of ET0 that a planting needs.

    Parameters
    ----------
    species_factor : by the water use of the plants, 0 to 1; see `WaterUseTable`.
    density_factor : how densely they stand, 0.5 (sparse) to 1.3 (trees over shrubs over cover).
    microclimate_factor : 0.5 (sheltered, shaded) to 1.4 (between hot walls or in the wind).

    Raises
    ------
    InvalidInputError
        Naming the factor that lies outside its range.

    References
    ----------
    KL = ks kd kmc: University of California, guide to the landscape coefficient method, ch. 1.
    """
    species = number_within(species_factor, *SPECIES_RANGE, field="species_factor")
    density = number_within(density_factor, *DENSITY_RANGE, field="density_factor")
    place = number_within(microclimate_factor, *MICROCLIMATE_RANGE, field="microclimate_factor")
    return species * density * place


@dataclass(frozen=True, kw_only=True)
class Planting:
    """What tells the need of a zone's plants, the first that is known.

    1. Its own factors, January to December.
    2. Its own factor for every month.
    3. The water use of its plants by an agency's table.
    4. The published factors of its plant type.

    `density_factor` [-], 0.5 to 1.3, scales any of them.
    """

    plant_type: PlantType
    months: tuple[float, ...] | None = None
    factor: float | None = None
    water_use: WaterUse | None = None
    table: WaterUseTable = WATER_USE_TABLES[TableName.UNIVERSITY]
    density_factor: float = 1.0


def planting_factors(planting: Planting, latitude_deg: float) -> tuple[float, ...]:
    """Return the part of ET0 that a planting needs, January to December.

    Parameters
    ----------
    planting : what is known of its plants.
    latitude_deg : [degrees]; south of the equator the published seasons are six months later.
    """
    density = number_within(planting.density_factor, *DENSITY_RANGE, field="density_factor")
    return tuple(factor * density for factor in _factors(planting, latitude_deg))


def _factors(planting: Planting, latitude_deg: float) -> tuple[float, ...]:
    if planting.months is not None:
        return planting.months
    if planting.factor is not None:
        return (planting.factor,) * MONTHS
    if planting.water_use is not None:
        return (planting.table.factor(planting.water_use),) * MONTHS
    return plant_factors(planting.plant_type, latitude_deg)


class AcceptedStress(StrEnum):
    """How much the plants may suffer before somebody minds."""

    NONE = "none"
    LOW = "low"
    NORMAL = "normal"
    HIGH = "high"
    VERY_HIGH = "very_high"


# Texas A&M AgriLife ET network, as two unrelated pages quote its table.
QUALITY_FACTORS: Final = {
    AcceptedStress.NONE: 1.0,
    AcceptedStress.LOW: 0.8,
    AcceptedStress.NORMAL: 0.6,
    AcceptedStress.HIGH: 0.5,
    AcceptedStress.VERY_HIGH: 0.4,
}
