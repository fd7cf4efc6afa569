"""Drip emitters and sprinklers on hoses: water that comes from points, not from a zone's heads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from audits.domain.heads import HEADS, HeadGroupFacts
from audits.domain.nozzles import RATED_KPA
from audits.domain.ranges import FloatOrArray, Range
from audits.domain.supply_curve import SupplyCurve, flow_per_head_l_min, working_pressure_kpa
from audits.domain.uniformity import du_lq
from properties.domain.errors import InvalidInputError

EMITTER_L_MIN: Final = Range("flow of an emitter", "L/min", 0.0, 10.0)
EMITTER_SPACING_M: Final = Range("spacing of emitters", "m", 0.05, 20.0)
WETTED_PART: Final = Range("wetted part", "(as a fraction of 1)", 0.01, 1.0)
MAKER_CV: Final = Range("variation from the factory", "(as a fraction of 1)", 0.0, 0.5)
# 0 compensates for the pressure, 0.5 is an orifice, 1 a long thin path.
EMITTER_EXPONENT: Final = Range("exponent of an emitter", "(no unit)", 0.0, 1.0)
BUCKET_L: Final = Range("volume of the bucket", "L", 0.01, 1000.0)
BUCKET_S: Final = Range("time to fill the bucket", "s", 1.0, 3600.0)
WANTED_MM: Final = Range("depth", "mm", 0.1, 300.0)
SLOWEST_MM_H: Final = Range("rate", "mm/h", 0.001, 1000.0)
RUN_MIN: Final = Range("run time", "min", 0.0, 24 * 60.0)

# Mean of the low quarter of a normal distribution, in standard deviations below its mean.
_LOW_QUARTER_SCORE: Final = 1.27


def drip_rate_mm_h(
    emitter_flow_l_min: ArrayLike,
    emitter_spacing_m: ArrayLike,
    lateral_spacing_m: ArrayLike,
    wetted_part: ArrayLike = 1.0,
) -> FloatOrArray:
    """Return the rate of a grid of emitters over the ground that they wet.

    Parameters
    ----------
    emitter_flow_l_min : flow of one emitter [L/min], 0 to 10; 1 L/h is 1/60 L/min.
    emitter_spacing_m : along the lateral [m], 0.05 to 20.
    lateral_spacing_m : from lateral to lateral [m], 0.05 to 20.
    wetted_part : wetted over planted area [-], 0.01 to 1; 1 gives the rate over the planted area.
        All: floats or arrays of one shape.

    Returns
    -------
    rate [mm/h], the same shape.

    References
    ----------
    1 L on 1 m2 stands 1 mm deep.
    """
    flow = EMITTER_L_MIN.numbers(emitter_flow_l_min, field="emitter_flow_l_min")
    along = EMITTER_SPACING_M.numbers(emitter_spacing_m, field="emitter_spacing_m")
    across = EMITTER_SPACING_M.numbers(lateral_spacing_m, field="lateral_spacing_m")
    part = WETTED_PART.numbers(wetted_part, field="wetted_part")
    return flow * 60.0 / (along * across * part)


def emission_uniformity(emitter_flows_l_min: ArrayLike) -> FloatOrArray:
    """Return how evenly emitters drip: mean of the lowest quarter of their flows over the mean.

    Parameters
    ----------
    emitter_flows_l_min : measured flows, one lateral or zone along the last axis [L/min], 0 to
        10, not all 0.

    Returns
    -------
    a fraction from 0 to 1, the shape of the flows less the last axis.

    Raises
    ------
    InvalidInputError
        Code "no-emitters", "all-dry", "missing" or "out-of-range".

    References
    ----------
    Keller and Karmeli 1974, field emission uniformity (from memory); the quarter is that of
    `du_lq`.
    """
    flows = EMITTER_L_MIN.numbers(emitter_flows_l_min, field="emitter_flows_l_min")
    if flows.ndim == 0 or flows.shape[-1] == 0:
        raise InvalidInputError(
            "No flows of emitters were given.",
            field="emitter_flows_l_min", code="no-emitters",
            remedy="Give one list with the flow of each emitter.",
        )  # fmt: skip
    if not flows.any(axis=-1).all():
        raise InvalidInputError(
            "No emitter of a lateral drips.",
            field="emitter_flows_l_min", code="all-dry",
            remedy="Open the valve and flush the lateral, then measure again.",
        )  # fmt: skip
    return du_lq(flows / flows.max(axis=-1, keepdims=True))


def design_emission_uniformity(
    maker_cv: ArrayLike,
    emitters_per_plant: ArrayLike,
    *,
    lowest_kpa: ArrayLike,
    mean_kpa: ArrayLike,
    exponent: ArrayLike = 0.5,
) -> FloatOrArray:
    """Return the emission uniformity to expect of new emitters, before any of them clogs.

    Parameters
    ----------
    maker_cv : coefficient of variation from the factory [-], 0 to 0.5.
    emitters_per_plant : how many share a plant, 1 to 2000.
    lowest_kpa, mean_kpa : lowest and mean pressure at the emitters [kPa], 1 to 2500.
    exponent : of the pressure in the emitter's flow, 0 (compensating) to 1. All: floats or
        arrays of one shape.

    Returns
    -------
    a fraction from 0 to 1, the same shape.

    Raises
    ------
    InvalidInputError
        Code "lowest-above-mean", "missing" or "out-of-range".

    References
    ----------
    Keller and Karmeli 1974; ASAE EP405 (both from memory):
    EU = (1 - 1.27 v / sqrt(e)) q_min / q_mean.
    """
    variation = MAKER_CV.numbers(maker_cv, field="maker_cv")
    emitters = HEADS.numbers(emitters_per_plant, field="emitters_per_plant")
    lowest = RATED_KPA.numbers(lowest_kpa, field="lowest_kpa")
    mean = RATED_KPA.numbers(mean_kpa, field="mean_kpa")
    if np.any(lowest > mean):
        raise InvalidInputError(
            "The lowest pressure is above the mean pressure.",
            field="lowest_kpa", code="lowest-above-mean", remedy="Check both pressures.",
        )  # fmt: skip
    power = EMITTER_EXPONENT.numbers(exponent, field="exponent")
    return (1.0 - _LOW_QUARTER_SCORE * variation / np.sqrt(emitters)) * (lowest / mean) ** power


def bucket_flow_l_min(volume_l: ArrayLike, seconds: ArrayLike) -> FloatOrArray:
    """Return the flow of a hose or tap from the time that it takes to fill a bucket.

    Parameters
    ----------
    volume_l : of the bucket [L], 0.01 to 1000.
    seconds : to fill it [s], 1 to 3600; both floats or arrays of one shape.

    Returns
    -------
    flow [L/min], the same shape: of the open hose, which is more than a sprinkler on it lets out.
    """
    volume = BUCKET_L.numbers(volume_l, field="volume_l")
    return volume * 60.0 / BUCKET_S.numbers(seconds, field="seconds")


@dataclass(frozen=True)
class TandemFlow:
    """What each sprinkler of a tandem puts out [L/min], at which pressure [kPa].

    `alone_l_min` is what one of them would put out with the others taken off.
    """

    working_kpa: float
    flow_l_min: float
    alone_l_min: float

    @property
    def part_of_alone(self) -> float:
        """What each puts out against one alone, as a fraction."""
        return self.flow_l_min / self.alone_l_min


def tandem_flow(
    sprinklers: HeadGroupFacts, tap: str, taps: Mapping[str, SupplyCurve]
) -> TandemFlow:
    """Return what equal sprinklers on one tap put out together, each, and one alone.

    Parameters
    ----------
    sprinklers : how many in tandem, with their rated flow and pressure.
    tap : the name of the tap.
    taps : the supply at the end of the hose, by the name of the tap.

    Raises
    ------
    InvalidInputError
        Code "no-tap" if none is named, "unknown-tap" if the supply of that tap was not measured;
        "missing" if the rated pressure of the sprinklers is unknown.
    """
    supply = _supply_of(tap, taps)
    rated_kpa = RATED_KPA.number(sprinklers.rated_kpa, field="rated_kpa")
    alone, tandem = flow_per_head_l_min(
        [1, sprinklers.count],
        supply,
        rated_flow_l_min=sprinklers.rated_flow_l_min,
        rated_kpa=rated_kpa,
    )  # type: ignore[misc]
    return TandemFlow(working_pressure_kpa([sprinklers], supply), float(tandem), float(alone))


def minutes_for_depth(depth_mm: float, rate_mm_h: float) -> float:
    """Return how long a position takes for a mean depth [min].

    Parameters
    ----------
    depth_mm : wanted on the ground [mm], 0.1 to 300.
    rate_mm_h : at that position [mm/h], above 0 to 1000.
    """
    depth = WANTED_MM.number(depth_mm, field="depth_mm")
    return depth / SLOWEST_MM_H.number(rate_mm_h, field="rate_mm_h") * 60.0


def _supply_of(tap: str, taps: Mapping[str, SupplyCurve]) -> SupplyCurve:
    if not tap:
        raise InvalidInputError(
            "No tap is named.", field="tap", code="no-tap",
            remedy="Enter with the sprinklers which tap feeds them.",
        )  # fmt: skip
    if tap not in taps:
        raise InvalidInputError(
            f"The supply of tap {tap} is unknown.",
            field="tap", code="unknown-tap",
            remedy="Measure its static pressure, and flow and pressure with a sprinkler running.",
        )  # fmt: skip
    return taps[tap]
