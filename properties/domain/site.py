"""The words for what stands in a zone: heads, plants, soil and sun."""

from __future__ import annotations

from enum import StrEnum


class HeadKind(StrEnum):
    """What puts the water out."""

    SPRAY = "spray"
    ROTARY_NOZZLE = "rotary_nozzle"
    ROTOR = "rotor"
    IMPACT = "impact"
    BUBBLER = "bubbler"
    DRIP = "drip"
    HOSE_END = "hose_end"


class PlantType(StrEnum):
    """What the water is for."""

    COOL_TURF = "cool_turf"
    WARM_TURF = "warm_turf"
    WOODY_WET_CLIMATE = "woody_wet_climate"
    WOODY_DRY_CLIMATE = "woody_dry_climate"
    ANNUAL_FLOWERS = "annual_flowers"
    DESERT_PLANTS = "desert_plants"


class SoilTexture(StrEnum):
    """What holds the water, coarse to fine."""

    SAND = "sand"
    LOAMY_SAND = "loamy_sand"
    SANDY_LOAM = "sandy_loam"
    LOAM = "loam"
    CLAY_LOAM = "clay_loam"
    SILTY_CLAY = "silty_clay"
    CLAY = "clay"


class WaterUse(StrEnum):
    """How much water plants are known to use; for beds whose plants tell more than their kind."""

    HIGH = "high"
    MODERATE = "moderate"
    LOW = "low"
    VERY_LOW = "very_low"


class Exposure(StrEnum):
    """How much sun the zone gets over the day."""

    FULL_SUN = "full_sun"
    PART_SHADE = "part_shade"
    FULL_SHADE = "full_shade"
