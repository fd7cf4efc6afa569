"""The catch test: cups on the lawn, a measured run, and the rate at which the zone waters."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from numpy.typing import ArrayLike

from audits.domain.catch_cups import (
    CUPS,
    depth_mm_from_volume,
    pooled_depth_from_volume_mm,
    wetted_depths_mm,
)
from audits.domain.ranges import Range
from audits.domain.rate_interval import pooled_relative_half_width, relative_half_width
from audits.domain.uniformity import cu, du_lh, du_lq, run_time_multiplier
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

__all__ = [
    "CatchTest",
    "catch_test",
    "depth_mm_from_volume",
    "pooled_catch_test",
    "pooled_catch_test_from_volume",
    "pooled_depth_from_volume_mm",
    "require_uniformity",
]

# A quarter of fewer cups is not even one cup.
MIN_CUPS_FOR_UNIFORMITY: Final = 4
DURATION_MIN: Final = Range("duration of a test", "min", 0.1, 24 * 60.0)
RELATIVE_ERROR: Final = Range("relative error", "(as a fraction of 1)", 0.01, 1.0)


@dataclass(frozen=True)
class CatchTest:
    """What one test says of its zone; uniformity is None where the test cannot know it.

    `depths_mm` holds the single cups in the order given and is empty for a pooled test.
    `rate_interval_mm_h` holds the rate of the zone in 90 of 100 such tests.
    """

    cups: int
    duration_min: float
    mean_depth_mm: float
    rate_mm_h: float
    rate_interval_mm_h: tuple[float, float]
    depths_mm: tuple[float, ...] = ()
    du_lq: float | None = None
    du_lh: float | None = None
    cu: float | None = None
    run_time_multiplier: float | None = None

    @property
    def is_pooled(self) -> bool:
        """Whether the cups were poured together before they were measured."""
        return not self.depths_mm

    def cups_for(self, relative_error: float) -> int:
        """Return how many cups narrow the 90 % interval of the rate to +- a fraction of it.

        Parameters
        ----------
        relative_error : the half width wanted, as a fraction of the rate, 0.01 to 1.

        Notes
        -----
        The spread is held at what this test and the published field spread say together, so
        the half width falls with the square root of the cups.
        """
        wanted = RELATIVE_ERROR.number(relative_error, field="relative_error")
        half_width = self.rate_interval_mm_h[1] / self.rate_mm_h - 1.0
        return max(1, math.ceil(self.cups * (half_width / wanted) ** 2))


def catch_test(
    depths_mm: ArrayLike, duration_min: float, head_kind: HeadKind | None = None
) -> CatchTest:
    """Return what the depths of single cups say of the zone.

    Parameters
    ----------
    depths_mm : the depth in each cup, one dimension [mm], 0 to 300, not all dry.
    duration_min : how long the zone ran [min], 0.1 to 1440.
    head_kind : what wets the zone; its published spread enters the interval of the rate.

    Raises
    ------
    InvalidInputError
        Code "no-cups", "all-dry", "one-test-at-a-time", "missing" or "out-of-range".

    References
    ----------
    Irrigation Association, Landscape Irrigation Auditor worksheet "Catch Device Test".
    """
    depths = wetted_depths_mm(depths_mm)
    if depths.ndim != 1:
        raise InvalidInputError(
            "The depths of more than one test were given.",
            field="depths_mm", code="one-test-at-a-time",
            remedy="Give one list with the depth of each cup.",
        )  # fmt: skip
    half_width = float(relative_half_width(depths, head_kind))
    test = replace(
        _test_of_mean(float(depths.mean()), duration_min, half_width, cups=depths.size),
        depths_mm=tuple(depths.tolist()),
    )
    if test.cups < MIN_CUPS_FOR_UNIFORMITY:
        return test
    low_quarter = float(du_lq(depths))
    return replace(
        test,
        du_lq=low_quarter,
        du_lh=float(du_lh(depths)),
        cu=float(cu(depths)),
        run_time_multiplier=float(run_time_multiplier(low_quarter)),
    )


def pooled_catch_test(
    pooled_depth_mm: float, cups: int, duration_min: float, head_kind: HeadKind | None = None
) -> CatchTest:
    """Return what one depth says, measured after all equal cups were poured into one of them.

    The rate is exact; the uniformity is unknown.

    Parameters
    ----------
    pooled_depth_mm : the depth in the one straight-walled cup, not divided by the cups [mm],
        above 0 to 300. More water than one cup holds is measured by volume.
    cups : how many equal cups were poured together, 1 to 1000.
    duration_min : how long the zone ran [min], 0.1 to 1440.
    head_kind : what wets the zone; its published spread makes the interval of the rate.

    Raises
    ------
    InvalidInputError
        Code "all-dry", "missing", "not-whole" or "out-of-range".
    """
    (pooled,) = wetted_depths_mm([pooled_depth_mm])
    mean_depth_mm = float(pooled) / CUPS.whole(cups, field="cups")
    return _pooled_test(mean_depth_mm, cups, duration_min, head_kind)


def pooled_catch_test_from_volume(
    volume_ml: float,
    cups: int,
    rim_area_cm2: float | None,
    duration_min: float,
    *,
    head_kind: HeadKind | None = None,
) -> CatchTest:
    """Return the pooled test of cups of any shape, whose water was measured as one volume.

    Parameters
    ----------
    volume_ml : the water of all cups together [mL], above 0.
    cups : how many equal cups were poured together, 1 to 1000.
    rim_area_cm2 : area of the opening of one cup [cm2], 0.5 to 5000.
    duration_min : how long the zone ran [min], 0.1 to 1440.
    head_kind : as in `pooled_catch_test`.

    Raises
    ------
    InvalidInputError
        Code "all-dry", "missing", "not-whole" or "out-of-range".
    """
    mean_depth_mm = pooled_depth_from_volume_mm(volume_ml, cups, rim_area_cm2)
    return _pooled_test(mean_depth_mm, cups, duration_min, head_kind)


def require_uniformity(test: CatchTest) -> float:
    """Return the low-quarter uniformity of a test, a fraction, or refuse where it is unknown.

    Raises
    ------
    InvalidInputError
        Code "uniformity-unknown" for a pooled test or fewer than four cups.
    """
    if test.du_lq is not None:
        return test.du_lq
    cause = "its cups were poured together" if test.is_pooled else f"it has {test.cups} of 4 cups"
    raise InvalidInputError(
        f"The test cannot tell the uniformity: {cause}.",
        field="test", code="uniformity-unknown",
        remedy="Measure at least four cups one by one; an audit takes 24.",
    )  # fmt: skip


def _pooled_test(
    mean_depth_mm: float, cups: int, duration_min: float, head_kind: HeadKind | None
) -> CatchTest:
    wetted_depths_mm([mean_depth_mm])
    half_width = pooled_relative_half_width(cups, head_kind)
    return _test_of_mean(mean_depth_mm, duration_min, half_width, cups=int(cups))


def _test_of_mean(
    mean_depth_mm: float, duration_min: float, half_width: float, *, cups: int
) -> CatchTest:
    minutes = DURATION_MIN.number(duration_min, field="duration_min")
    rate_mm_h = mean_depth_mm * 60.0 / minutes
    return CatchTest(
        cups=cups,
        duration_min=minutes,
        mean_depth_mm=mean_depth_mm,
        rate_mm_h=rate_mm_h,
        rate_interval_mm_h=(rate_mm_h * max(0.0, 1.0 - half_width), rate_mm_h * (1.0 + half_width)),
    )
