"""How much of the reference need a plant has, how deep it roots and how far it may dry out."""

from __future__ import annotations

from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.site import Exposure, PlantType
from scheduling.domain.bounds import number_within

MONTHS: Final = 12

# University of California Agriculture and Natural Resources, Center for Landscape and Urban
# Horticulture, "Turfgrass Crop Coefficients", Table 1 (from Meyer et al. 1985), January to December
# north of the equator.
TURF_FACTORS: Final = {
    PlantType.COOL_TURF: (
        0.61, 0.64, 0.75, 1.04, 0.95, 0.88, 0.94, 0.86, 0.74, 0.75, 0.69, 0.60,
    ),
    PlantType.WARM_TURF: (
        0.61, 0.54, 0.76, 0.72, 0.79, 0.68, 0.71, 0.71, 0.62, 0.54, 0.58, 0.55,
    ),
}  # fmt: skip

# Turf: the annual values printed in the same table, not the mean of its months. The others:
# ANSI/ASABE S623.1 (January 2017), values from memory.
ANNUAL_FACTORS: Final = {
    PlantType.COOL_TURF: 0.80,
    PlantType.WARM_TURF: 0.60,
    PlantType.WOODY_WET_CLIMATE: 0.7,
    PlantType.WOODY_DRY_CLIMATE: 0.5,
    PlantType.ANNUAL_FLOWERS: 0.8,
    PlantType.DESERT_PLANTS: 0.3,
}

DEFAULT_QUALITY_FACTOR: Final = 1.0  # no stress accepted (Texas A&M AgriLife ET network)

# Common practice: a fully shaded area uses half of the water of one in full sun; part shade lies
# between them.
EXPOSURE_FACTORS: Final = {
    Exposure.FULL_SUN: 1.0,
    Exposure.PART_SHADE: 0.75,
    Exposure.FULL_SHADE: 0.5,
}

# Microclimate factor of the landscape coefficient method (Costello et al. 2000), from memory.
MICROCLIMATE_RANGE: Final = (0.5, 1.4)

# Common practice: mown turf is taken to root 150 to 200 mm deep, far less than the 0.5 to 1.0 m of
# FAO-56, Table 22. A guess on the shallow side costs a few more waterings, one on the deep side
# water below the roots. A probe of the zone replaces it.
ROOT_DEPTHS_MM: Final = {
    PlantType.COOL_TURF: 150.0,
    PlantType.WARM_TURF: 200.0,
    PlantType.WOODY_WET_CLIMATE: 500.0,
    PlantType.WOODY_DRY_CLIMATE: 500.0,
    PlantType.ANNUAL_FLOWERS: 200.0,
    PlantType.DESERT_PLANTS: 600.0,
}

# Turf: FAO-56, Table 22 (from memory). The others: common practice.
ALLOWED_DEPLETIONS: Final = {
    PlantType.COOL_TURF: 0.40,
    PlantType.WARM_TURF: 0.50,
    PlantType.WOODY_WET_CLIMATE: 0.50,
    PlantType.WOODY_DRY_CLIMATE: 0.50,
    PlantType.ANNUAL_FLOWERS: 0.35,
    PlantType.DESERT_PLANTS: 0.60,
}


def plant_factors(plant_type: PlantType, latitude_deg: float) -> tuple[float, ...]:
    """Return the part of reference need that the plant has, January to December.

    Parameters
    ----------
    plant_type : what grows there; turf changes with the season, the others are constant.
    latitude_deg : [degrees]; south of the equator the seasons are shifted by six months.
    """
    number_within(latitude_deg, -90.0, 90.0, field="latitude_deg")
    months = TURF_FACTORS.get(plant_type, (ANNUAL_FACTORS[plant_type],) * MONTHS)
    half = MONTHS // 2
    return months[half:] + months[:half] if latitude_deg < 0 else months


def annual_plant_factor(plant_type: PlantType) -> float:
    """Return the factor for a whole year, as printed: it is not the mean of the months."""
    return ANNUAL_FACTORS[plant_type]


def default_root_depth_mm(plant_type: PlantType) -> float:
    """Return the root depth to plan with until somebody probes [mm]."""
    return ROOT_DEPTHS_MM[plant_type]


def default_allowed_depletion(plant_type: PlantType) -> float:
    """Return the part of available water that may be used between two waterings."""
    return ALLOWED_DEPLETIONS[plant_type]


def site_factor(exposure: Exposure | None = None, microclimate: float | None = None) -> float:
    """Return what the place does to the need, from its exposure or from a microclimate factor.

    Parameters
    ----------
    exposure : how much sun the zone gets.
    microclimate : the factor itself, 0.5 to 1.4.

    Raises
    ------
    InvalidInputError
        When both or none are given: they describe the same thing and would count twice.
    """
    if exposure is not None and microclimate is None:
        return EXPOSURE_FACTORS[exposure]
    if microclimate is not None and exposure is None:
        return number_within(microclimate, *MICROCLIMATE_RANGE, field="microclimate")
    found = "neither exposure nor" if exposure is None else "both exposure and"
    raise InvalidInputError(
        f"The zone has {found} microclimate factor.",
        field="exposure", code="exposure-or-microclimate", remedy="Give exactly one of them.",
    )  # fmt: skip
