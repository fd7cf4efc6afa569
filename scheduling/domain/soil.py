"""What the soil holds, how fast it takes water in, and how long a sprinkler may run on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from properties.domain.errors import InvalidInputError
from properties.domain.site import SoilTexture
from scheduling.domain.bounds import Numbers, number_within, within

_INCH_MM: Final = 25.4
_IN_FT_TO_MM_M: Final = 25.4 / 0.3048

# University of California, Davis, drought management, "Soil Characteristics" [in/ft]. Our textures
# are put into its classes; the plan takes the middle of the range.
AVAILABLE_RANGE_IN_FT: Final = {
    SoilTexture.SAND: (0.75, 1.25),
    SoilTexture.LOAMY_SAND: (0.75, 1.25),
    SoilTexture.SANDY_LOAM: (1.25, 1.75),
    SoilTexture.LOAM: (1.50, 2.30),
    SoilTexture.CLAY_LOAM: (1.75, 2.50),
    SoilTexture.SILTY_CLAY: (1.60, 2.50),
    SoilTexture.CLAY: (1.60, 2.50),
}

# Trade-association test protocol for weather-based controllers (8th draft) and 2005 scheduling
# guide; the numbers as repeated in a university course, the names of the textures from memory.
BASIC_INTAKE_IN_H: Final = {
    SoilTexture.SAND: 0.60,
    SoilTexture.LOAMY_SAND: 0.50,
    SoilTexture.SANDY_LOAM: 0.40,
    SoilTexture.LOAM: 0.35,
    SoilTexture.CLAY_LOAM: 0.20,
    SoilTexture.SILTY_CLAY: 0.15,
    SoilTexture.CLAY: 0.10,
}

# The same protocol: slopes of 0-3, 4-6, 7-12, 13 % and more [in]. The flat column as repeated in a
# university course, the others from memory. A slope between two classes takes the steeper one.
SLOPE_CLASS_TOPS_PERCENT: Final = (3.0, 6.0, 12.0)
ACCUMULATION_IN: Final = {
    SoilTexture.SAND: (0.40, 0.35, 0.30, 0.25),
    SoilTexture.LOAMY_SAND: (0.36, 0.30, 0.26, 0.22),
    SoilTexture.SANDY_LOAM: (0.33, 0.29, 0.24, 0.20),
    SoilTexture.LOAM: (0.30, 0.25, 0.21, 0.17),
    SoilTexture.CLAY_LOAM: (0.26, 0.22, 0.18, 0.15),
    SoilTexture.SILTY_CLAY: (0.23, 0.19, 0.16, 0.13),
    SoilTexture.CLAY: (0.20, 0.15, 0.10, 0.10),
}

# Common practice: flat heavy clay takes about 0.6 in in one watering day, however it is divided,
# before it runs off. That is three times what may stand on it; the same ratio carries the limit to
# slopes and to the two next soils finer than loam. From loam on an inch is gone within three hours,
# so cycle and soak and the store of the roots are limits enough.
HEAVY_CLAY_DAY_MM: Final = 0.6 * _INCH_MM
DAY_PER_ACCUMULATION: Final = 0.6 / ACCUMULATION_IN[SoilTexture.CLAY][0]
DAY_LIMITED: Final = frozenset({SoilTexture.CLAY, SoilTexture.SILTY_CLAY, SoilTexture.CLAY_LOAM})

FASTEST_MM_H: Final = 1000.0


@dataclass(frozen=True)
class SoilFacts:
    """What the tables say of one texture."""

    texture: SoilTexture
    available_mm_m: float
    available_range_mm_m: tuple[float, float]
    intake_mm_h: float
    accumulation_mm: tuple[float, ...]  # by slope class, flat to steep


def soil_facts(texture: SoilTexture | str) -> SoilFacts:
    """Return available water [mm per m], basic intake [mm/h] and allowable accumulation [mm].

    Raises
    ------
    InvalidInputError
        For an unknown texture; the remedy lists the known ones.
    """
    known = _texture(texture)
    low, high = AVAILABLE_RANGE_IN_FT[known]
    return SoilFacts(
        texture=known,
        available_mm_m=(low + high) / 2 * _IN_FT_TO_MM_M,
        available_range_mm_m=(low * _IN_FT_TO_MM_M, high * _IN_FT_TO_MM_M),
        intake_mm_h=BASIC_INTAKE_IN_H[known] * _INCH_MM,
        accumulation_mm=tuple(depth * _INCH_MM for depth in ACCUMULATION_IN[known]),
    )


def intake_mm_h(texture: SoilTexture | str) -> float:
    """Return the rate at which a wet soil goes on taking water in [mm/h]."""
    return BASIC_INTAKE_IN_H[_texture(texture)] * _INCH_MM


def accumulation_mm(texture: SoilTexture | str, slope_percent: float) -> float:
    """Return the depth that may stand on the surface before it runs off [mm].

    Parameters
    ----------
    texture : one of the soil textures.
    slope_percent : rise over run [%], 0 to 100.
    """
    slope = number_within(slope_percent, 0.0, 100.0, field="slope_percent")
    slope_class = sum(slope > top for top in SLOPE_CLASS_TOPS_PERCENT)
    return ACCUMULATION_IN[_texture(texture)][slope_class] * _INCH_MM


def watering_day_limit_mm(texture: SoilTexture | str, slope_percent: float) -> float:
    """Return the most that one watering day may put down, all cycles together [mm].

    Infinite from loam to sand, where other limits bind first. Common practice, see above.
    """
    standing_mm = accumulation_mm(texture, slope_percent)
    return DAY_PER_ACCUMULATION * standing_mm if _texture(texture) in DAY_LIMITED else np.inf


def max_cycle_min(
    rate_mm_h: ArrayLike, intake_mm_h: ArrayLike, accumulation_mm: ArrayLike
) -> Numbers:
    """Return how long water may run before it runs off [min]; infinite when the soil keeps up.

    Parameters
    ----------
    rate_mm_h : application rate [mm/h], 0 to 1000.
    intake_mm_h : basic intake rate [mm/h], 0 to 1000.
    accumulation_mm : depth that may stand on the surface [mm], 0 to 500.

    References
    ----------
    t = 60 ASA / (PR - IR): trade-association test protocol for weather-based controllers (8th
    draft); none when PR <= IR.
    """
    rate = within(rate_mm_h, 0.0, FASTEST_MM_H, field="rate_mm_h")
    intake = within(intake_mm_h, 0.0, FASTEST_MM_H, field="intake_mm_h")
    standing = within(accumulation_mm, 0.0, 500.0, field="accumulation_mm")
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        minutes = 60 * standing / (rate - intake)
    return np.where(rate > intake, minutes, np.inf)[()]


def soak_min(intake_mm_h: ArrayLike, accumulation_mm: ArrayLike) -> Numbers:
    """Return how long standing water takes to soak in [min].

    Parameters
    ----------
    intake_mm_h : basic intake rate [mm/h], above 0.
    accumulation_mm : what the cycle left standing [mm]: t (PR - IR) / 60, at the limit of the
        cycle the whole allowable accumulation. After the last cycle nobody need wait.
    """
    intake = within(intake_mm_h, 1e-3, FASTEST_MM_H, field="intake_mm_h")
    return 60 * within(accumulation_mm, 0.0, 500.0, field="accumulation_mm") / intake


def horton_cycle_min(
    rate_mm_h: ArrayLike, f0_mm_h: ArrayLike, fc_mm_h: ArrayLike, decay_per_h: ArrayLike
) -> Numbers:
    """Return how long water may run on a soil whose intake falls with time [min].

    Parameters
    ----------
    rate_mm_h : application rate P [mm/h]: at or above f0 the answer is 0, at or below fc infinite.
    f0_mm_h, fc_mm_h : first and final intake rate [mm/h], f0 not below fc.
    decay_per_h : decay b of the intake rate [1/h], above 0.

    References
    ----------
    t = [f0 - P + fc ln((f0 - fc) / (P - fc))] / (P b): Hung, "How long can you irrigate without
    runoff?"; Hung and Krinik 1995.
    """
    rate = within(rate_mm_h, 0.0, FASTEST_MM_H, field="rate_mm_h")
    f0 = within(f0_mm_h, 0.0, FASTEST_MM_H, field="f0_mm_h")
    fc = within(fc_mm_h, 0.0, FASTEST_MM_H, field="fc_mm_h")
    decay = within(decay_per_h, 1e-6, 1e6, field="decay_per_h")
    if np.any(f0 < fc):
        raise InvalidInputError(
            "The first intake rate lies below the final one.",
            field="f0_mm_h", code="intake-rises", remedy="Exchange the two rates.",
        )  # fmt: skip
    with np.errstate(divide="ignore", invalid="ignore"):
        hours = (f0 - rate + fc * np.log((f0 - fc) / (rate - fc))) / (rate * decay)
    return np.where(rate <= fc, np.inf, np.where(rate >= f0, 0.0, 60 * hours))[()]


def readily_available_mm(
    available_mm_m: ArrayLike, root_depth_mm: ArrayLike, allowed_depletion: ArrayLike
) -> Numbers:
    """Return the water that plants may use up between two waterings [mm].

    Parameters
    ----------
    available_mm_m : water between field capacity and wilting [mm per m of soil], 1 to 500.
    root_depth_mm : depth of the roots [mm], 1 to 5000.
    allowed_depletion : the part of it that may be used, 0.05 to 0.95.

    References
    ----------
    FAO-56, eq. 82 and 83.
    """
    available = within(available_mm_m, 1.0, 500.0, field="available_mm_m")
    depth = within(root_depth_mm, 1.0, 5000.0, field="root_depth_mm")
    return (
        available * depth / 1000 * within(allowed_depletion, 0.05, 0.95, field="allowed_depletion")
    )


def available_from_contents_mm_m(field_capacity: ArrayLike, wilting_point: ArrayLike) -> Numbers:
    """Return available water [mm per m of soil] from two water contents of a soil test.

    Parameters
    ----------
    field_capacity, wilting_point : volume of water in a volume of soil, 0 to 0.7; the second below
        the first.

    References
    ----------
    FAO-56, eq. 82, without the root depth.
    """
    full = within(field_capacity, 0.0, 0.7, field="field_capacity")
    empty = within(wilting_point, 0.0, 0.7, field="wilting_point")
    if np.any(full <= empty):
        raise InvalidInputError(
            "The soil holds no more at field capacity than at wilting point.",
            field="field_capacity", code="contents-crossed", remedy="Exchange the two.",
        )  # fmt: skip
    return 1000 * (full - empty)


def _texture(texture: SoilTexture | str) -> SoilTexture:
    try:
        return SoilTexture(texture)
    except ValueError:
        raise InvalidInputError(
            f"'{texture}' is not a soil texture.",
            field="texture", code="unknown-texture",
            remedy=f"Use one of: {', '.join(SoilTexture)}.",
        ) from None  # fmt: skip
