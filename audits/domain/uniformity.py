"""How evenly the cups of a test were filled, and what that asks of the run time.

Every statistic takes depths of any shape and works along the last axis, one test per row. Volumes
serve as well as depths where all cups have the same throat.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from audits.domain.catch_cups import wetted_depths_mm
from audits.domain.ranges import FRACTION, FloatOrArray, Range

# The older multiplier has no value at zero.
ABOVE_ZERO: Final = Range("uniformity", "(as a fraction of 1)", 0.01, 1.0)


def du_lq(depths_mm: ArrayLike) -> FloatOrArray:
    """Return the low-quarter distribution uniformity, mean of the driest quarter over mean.

    The low quarter of n cups holds n/4 of them, halves rounded up, and at least one.

    Parameters
    ----------
    depths_mm : catch depths, tests along the last axis [mm], 0 to 300, not all dry.

    Returns
    -------
    a fraction from 0 to 1, the shape of the depths less the last axis.

    References
    ----------
    Irrigation Association, Landscape Irrigation Auditor worksheet "Catch Device Test".
    """
    return _low_part_over_mean(depths_mm, parts=4)


def du_lh(depths_mm: ArrayLike) -> FloatOrArray:
    """Return the low-half distribution uniformity; as `du_lq`, with the driest half of the cups.

    References
    ----------
    von Bernuth and Mecham, "Defining the Run Time Multiplier".
    """
    return _low_part_over_mean(depths_mm, parts=2)


def cu(depths_mm: ArrayLike) -> FloatOrArray:
    """Return Christiansen's uniformity: 1 less the mean absolute deviation over the mean.

    Parameters
    ----------
    depths_mm : catch depths, tests along the last axis [mm], 0 to 300, not all dry.

    Returns
    -------
    a fraction, at most 1 and possibly negative, the shape of the depths less the last axis.

    References
    ----------
    Christiansen 1942, University of California Bulletin 670.
    """
    depths = wetted_depths_mm(depths_mm)
    mean = depths.mean(axis=-1, keepdims=True)
    uniformity: FloatOrArray = 1.0 - np.abs(depths / mean - 1.0).mean(axis=-1)
    return uniformity


def run_time_multiplier(low_quarter_uniformity: ArrayLike) -> FloatOrArray:
    """Return by how much the run time grows so that the drier parts get enough.

    Parameters
    ----------
    low_quarter_uniformity : DU_lq as a fraction, any shape, 0 to 1.

    Returns
    -------
    the multiplier, 1.0 (perfect) to 2.5, the same shape.

    References
    ----------
    Irrigation Association scheduling method, 2005 onward: 1 / (0.4 + 0.6 DU_lq). Mecham 2010
    (ASABE IRR10-10040) reports why it replaced the older 1 / DU_lq.
    """
    fractions = FRACTION.numbers(low_quarter_uniformity, field="low_quarter_uniformity")
    return 1.0 / (0.4 + 0.6 * fractions)


def older_run_time_multiplier(low_quarter_uniformity: ArrayLike) -> FloatOrArray:
    """Return the multiplier of audits before 2005, to read an old report beside a new one.

    Parameters
    ----------
    low_quarter_uniformity : DU_lq as a fraction, any shape, 0.01 to 1.

    References
    ----------
    Auditor method before 2005: 1 / DU_lq. It overstates the need (Mecham 2010).
    """
    return 1.0 / ABOVE_ZERO.numbers(low_quarter_uniformity, field="low_quarter_uniformity")


def scheduling_coefficient(depths_mm: ArrayLike) -> FloatOrArray:
    """Return by how much the run would grow to give even the driest cup the mean.

    Parameters
    ----------
    depths_mm : depths, or rates, along the last axis, any shape before it.

    Returns
    -------
    mean over driest, at least 1, the shape less the last axis; infinite where a cup stayed dry.
    """
    depths = wetted_depths_mm(depths_mm)
    driest = depths.min(axis=-1)
    with np.errstate(divide="ignore"):
        coefficient: FloatOrArray = depths.mean(axis=-1) / driest
    return coefficient


def _low_part_over_mean(depths_mm: ArrayLike, parts: int) -> FloatOrArray:
    depths = np.sort(wetted_depths_mm(depths_mm), axis=-1)
    cups = depths.shape[-1]
    low_cups = max(1, (2 * cups + parts) // (2 * parts))
    ratio: FloatOrArray = depths[..., :low_cups].mean(axis=-1) / depths.mean(axis=-1)
    # Equal cups may come out one rounding step above 1, which no uniformity can be.
    return np.minimum(ratio, 1.0)
