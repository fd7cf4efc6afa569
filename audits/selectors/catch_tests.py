"""A stored catch test, seen again as the domain sees it."""

from __future__ import annotations

from audits.domain.catch_advice import Advice, Purpose, advice
from audits.domain.catch_test import CatchTest as Result
from audits.models import CatchTest
from properties.domain.site import HeadKind

ML_PER_MM_CM2 = 0.1
VOLUME_WAYS = frozenset({"volumes_ml", "pooled_volume_ml"})


def result_of(test: CatchTest) -> Result:
    """Return the domain's view of a stored test; its readings should be prefetched."""
    return Result(
        cups=test.cups,
        duration_min=test.run_min,
        mean_depth_mm=test.mean_depth_mm,
        rate_mm_h=test.rate_mm_h,
        rate_interval_mm_h=(test.rate_low_mm_h, test.rate_high_mm_h),
        depths_mm=tuple(reading.depth_mm for reading in test.readings.all()),
        du_lq=test.du_lq,
        du_lh=test.du_lh,
        cu=test.cu,
    )


def advice_of(test: CatchTest) -> tuple[Advice, ...]:
    """Return what would make a stored test more worth believing."""
    return advice(
        result_of(test),
        purpose=Purpose.RATE if test.is_pooled else Purpose.AUDIT,
        wind_m_s=test.wind_m_s,
        read_volume_ml=_read_volume_ml(test),
        has_uneven_cups=not test.cups_level,
        head_kind=HeadKind(test.zone.head_kind),
    )


def _read_volume_ml(test: CatchTest) -> float | None:
    """Return the volume of one reading, if volumes were read at all."""
    if test.throat_area_cm2 is None or not VOLUME_WAYS & test.entered.keys():
        return None
    readings = test.cups if test.is_pooled else 1
    return test.mean_depth_mm * test.throat_area_cm2 * ML_PER_MM_CM2 * readings
