"""The need of a week, by hand and against the season of a zone."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.domain.climate import Climate
from scheduling.domain.needs import weekly_need_mm

ET0 = tuple(1.0 + month / 2 for month in range(12))


def climate():
    zeros = (0.0,) * 12
    return Climate(
        et0_mm_day=ET0, rain_mm=zeros, effective_rain_mm=zeros, tmin_c=(9.0,) * 12,
        tmax_c=(20.0,) * 12, years_used=6, days_used=2190, days_skipped=0,
        first_date=dt.date(2015, 1, 1), last_date=dt.date(2020, 12, 31),
    )  # fmt: skip


# Arithmetic: 5 mm a day at factor 0.8, quality 0.9 and place 0.5 are 1.8 mm a day, 12.6 a week.
def test_need_is_the_reference_times_all_factors_for_seven_days():
    factors = (0.0,) * 8 + (0.8,) + (0.0,) * 3

    need = weekly_need_mm(climate(), factors, quality_factor=0.9, site_factor=0.5)

    assert need[8] == pytest.approx(12.6)
    assert sum(need) == pytest.approx(12.6)
