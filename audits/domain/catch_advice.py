"""What to say to whoever set the cups: nothing here refuses a test, all of it may better one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from audits.domain.catch_cups import VOLUME_ML
from audits.domain.catch_test import CatchTest
from audits.domain.placement import ABOVE_GROUND_SPRAY
from audits.domain.ranges import Range
from properties.domain.site import HeadKind
from properties.domain.units import dimension, to_canonical

_AUDIT_GUIDELINES: Final = (
    "Irrigation Association, Recommended Audit Guidelines, September 2009 (cites ASAE S398.1)"
)
_CUP_COUNT: Final = (
    "UC Davis CCUH, L. Oki, Measuring Distribution Uniformity and Calculating Run Time"
)
_FEW_COLLECTORS: Final = (
    "JAWRA 2007, doi 10.1111/j.1752-1688.2007.00075.x: 2 to 8 collectors give +-25 % in 90 of "
    "100 tests of in-ground systems"
)
_CATCH_SIZE: Final = "Irrigation Association guidelines (from memory)"
_RULER: Final = "arithmetic: a ruler in whole mm errs by up to 0.5 mm, a tenth of 5 mm"
_COMMON_PRACTICE: Final = "common practice"
_RUN_LENGTH: Final = (
    "Irrigation Association guidelines (from memory): spray about 5 min, heads that turn several "
    "full turns, about 10 to 15 min"
)
_SIMULATED: Final = (
    "simulated: a 90 % interval from random cups holds the mean of patterns whose standard "
    "deviation is up to 0.55 of it, and less often beyond"
)
_OUTLIERS: Final = (
    "Iglewicz and Hoaglin 1993, How to Detect and Handle Outliers (from memory): modified z "
    "score above 3.5"
)

WIND_M_S: Final = Range("wind speed", "m/s", 0.0, 115.0)
WIND_LIMIT_M_S: Final = to_canonical(5.0, "mph", dimension("speed"))
MIN_AUDIT_CUPS: Final = 24
MAX_AUDIT_CUPS: Final = 40
MIN_RATE_CUPS: Final = 8
WIDEST_SPREAD: Final = 0.55
MIN_READ_VOLUME_ML: Final = 25.0
MIN_READ_DEPTH_MM: Final = 5.0

# Shorter runs are mostly filling of the pipes and the first, unsteady turn (see _RUN_LENGTH).
LEAST_RUN_MIN: Final = {
    HeadKind.SPRAY: 5.0, HeadKind.ROTARY_NOZZLE: 10.0, HeadKind.ROTOR: 10.0, HeadKind.IMPACT: 10.0,
}  # fmt: skip

_FAR_SCORE: Final = 3.5
# Scales the median deviation of a normal distribution to its standard deviation.
_SCORE_SCALE: Final = 0.6745
# Cups that agree within a tenth of the mean agree; the rest is reading and placing.
_LEAST_DEVIATION: Final = 0.1
_MIN_CUPS_TO_COMPARE: Final = 4


class Purpose(StrEnum):
    """What the test is to tell."""

    RATE = "rate"
    AUDIT = "audit"


@dataclass(frozen=True)
class Advice:
    """One thing to do better, in a sentence, and who set the limit."""

    code: str
    sentence: str
    source: str


def advice(
    test: CatchTest,
    *,
    purpose: Purpose,
    wind_m_s: float | None = None,
    read_volume_ml: float | None = None,
    has_uneven_cups: bool = False,
    head_kind: HeadKind | None = None,
) -> tuple[Advice, ...]:
    """Return what would make the test more worth believing, empty if nothing.

    Parameters
    ----------
    test : the test.
    purpose : a rate only, or an audit that reports the uniformity too.
    wind_m_s : highest wind during the test [m/s], 0 to 115; None if not measured.
    read_volume_ml : mean volume of one reading [mL]; of a pooled test, the one volume. None if
        depths were read with a ruler.
    has_uneven_cups : the technician flagged cups of unequal size or out of level.
    head_kind : what waters the zone; None leaves the length of the run and a wind that nobody
        measured unjudged.
    """
    return (
        *_wind(wind_m_s, head_kind),
        *_short_run(test.duration_min, head_kind),
        *_cup_count(test.cups, purpose),
        *_wide_spread(test),
        *_small_catch(test, read_volume_ml),
        *_uneven_cups(has_uneven_cups),
        *_far_cup(test),
    )


def _wind(wind_m_s: float | None, head_kind: HeadKind | None) -> Iterator[Advice]:
    if wind_m_s is None:
        if head_kind in ABOVE_GROUND_SPRAY:
            yield Advice(
                "wind-not-measured",
                "The wind was not measured, and it may have carried water past the cups: note its "
                "highest speed with the next test, and test at 5 mph (2.2 m/s) or less.",
                _AUDIT_GUIDELINES,
            )
        return
    speed = WIND_M_S.number(wind_m_s, field="wind_m_s")
    if speed > WIND_LIMIT_M_S:
        yield Advice(
            "wind-too-high",
            f"The wind of {speed:.1f} m/s is over 5 mph (2.2 m/s) and carries water past the cups: "
            "repeat the test in calm air.",
            _AUDIT_GUIDELINES,
        )


def _short_run(run_min: float, head_kind: HeadKind | None) -> Iterator[Advice]:
    least_min = LEAST_RUN_MIN.get(head_kind, 0.0) if head_kind else 0.0
    if run_min < least_min:
        turns = "" if head_kind is HeadKind.SPRAY else ", several full turns of each head"
        yield Advice(
            "run-too-short",
            f"A run of {run_min:g} min is too short for such heads: run the zone at least "
            f"{least_min:g} min{turns}.",
            _RUN_LENGTH,
        )


def _cup_count(cups: int, purpose: Purpose) -> Iterator[Advice]:
    if purpose is Purpose.RATE:
        yield from _rate_cup_count(cups)
    elif cups < MIN_AUDIT_CUPS:
        yield Advice(
            "too-few-cups",
            f"An audit takes at least {MIN_AUDIT_CUPS} cups, and this test has {cups}.",
            _CUP_COUNT,
        )
    elif cups > MAX_AUDIT_CUPS:
        yield Advice(
            "more-cups-than-needed",
            f"More than {MAX_AUDIT_CUPS} cups are not needed, and this test has {cups}.",
            _CUP_COUNT,
        )
    if purpose is Purpose.AUDIT and cups % 4:
        yield Advice(
            "cups-not-divisible-by-four",
            f"The driest quarter of {cups} cups is not a whole number of cups: set a multiple of "
            "four.",
            _CUP_COUNT,
        )


def _rate_cup_count(cups: int) -> Iterator[Advice]:
    if cups < MIN_RATE_CUPS:
        yield Advice(
            "too-few-cups",
            f"A rate to within a quarter may take {MIN_RATE_CUPS} cups, and this test has {cups}.",
            _FEW_COLLECTORS,
        )


def _wide_spread(test: CatchTest) -> Iterator[Advice]:
    depths = np.asarray(test.depths_mm)
    if not _MIN_CUPS_TO_COMPARE <= depths.size < MAX_AUDIT_CUPS:
        return
    spread = float(depths.std(ddof=1) / depths.mean())
    if spread > WIDEST_SPREAD and _single_far_cup(test) is None:
        more = min(MAX_AUDIT_CUPS, max(MIN_AUDIT_CUPS, 2 * depths.size))
        yield Advice(
            "more-cups",
            f"The catches differ by {spread:.0%} of their mean, so that few cups may miss the "
            f"driest or wettest place: set {more} cups, or test the parts of the zone apart.",
            _SIMULATED,
        )


def _small_catch(test: CatchTest, read_volume_ml: float | None) -> Iterator[Advice]:
    if read_volume_ml is None:
        read_depth_mm = test.mean_depth_mm * (test.cups if test.is_pooled else 1)
        if read_depth_mm < MIN_READ_DEPTH_MM:
            yield Advice(
                "catch-too-small",
                f"A depth of {read_depth_mm:.1f} mm is too little to read with a ruler: run the "
                f"zone until it is {MIN_READ_DEPTH_MM:g} mm (0.2 in).",
                _RULER,
            )
        return
    volume = VOLUME_ML.number(read_volume_ml, field="read_volume_ml")
    if volume < MIN_READ_VOLUME_ML:
        yield Advice(
            "catch-too-small",
            f"A catch of {volume:.0f} mL is too little to read: run the zone until the mean is "
            f"about {MIN_READ_VOLUME_ML:g} mL.",
            _CATCH_SIZE,
        )


def _uneven_cups(has_uneven_cups: bool) -> Iterator[Advice]:
    if has_uneven_cups:
        yield Advice(
            "uneven-cups",
            "Cups of unequal size or out of level catch unequal shares: use one kind, set level.",
            _COMMON_PRACTICE,
        )


def _far_cup(test: CatchTest) -> Iterator[Advice]:
    cup = _single_far_cup(test)
    if cup is not None:
        share = test.depths_mm[cup] / test.mean_depth_mm
        yield Advice(
            "cup-far-from-mean",
            f"Cup {cup + 1} alone caught {share:.0%} of the mean: look whether it was tipped, "
            "shaded or hit by a jet.",
            _OUTLIERS,
        )


def _single_far_cup(test: CatchTest) -> int | None:
    """Return the place of the one cup far off; two or more are a pattern on the ground."""
    depths = np.asarray(test.depths_mm)
    if depths.size < _MIN_CUPS_TO_COMPARE:
        return None
    deviations = np.abs(depths - np.median(depths))
    scale = max(float(np.median(deviations)), _LEAST_DEVIATION * test.mean_depth_mm)
    far = np.flatnonzero(_SCORE_SCALE * deviations > _FAR_SCORE * scale)
    return int(far[0]) if far.size == 1 else None
