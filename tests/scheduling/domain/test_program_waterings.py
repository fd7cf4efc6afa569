from __future__ import annotations

from datetime import date, time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.found_program import FoundProgram, weekly_depth_mm
from properties.domain.errors import InvalidInputError
from scheduling.domain.program_waterings import Surface, dated_waterings

MONDAY = date(2026, 6, 1)
WEEK = np.datetime64(MONDAY) + np.arange(7)
LAWN = Surface(rate_mm_h=30.0, intake_mm_h=10.0, accumulation_mm=5.0)


def program(minutes=20.0, starts=("05:00",), weekdays=frozenset({0, 3}), interval_days=None):
    return FoundProgram(
        start_times=tuple(time.fromisoformat(start) for start in starts),
        zone_minutes=(("lawn", minutes),),
        weekdays=weekdays,
        interval_days=interval_days,
    )


def run(*programs, dates=WEEK, percent=100.0, since=MONDAY, zone="lawn", surface=LAWN):
    return dated_waterings(
        programs, zone, dates, seasonal_percent=percent, since=since, surface=surface
    )


def test_weekdays_run_on_their_days():
    # Arithmetic: 20 min at 30 mm/h are 10 mm, on Monday and Thursday.
    assert run(program()).gross_mm.tolist() == [10, 0, 0, 10, 0, 0, 0]


def test_an_interval_counts_from_the_day_on_which_the_setting_holds():
    every_third = program(weekdays=None, interval_days=3)

    assert run(every_third).gross_mm.tolist() == [10, 0, 0, 10, 0, 0, 10]
    assert run(every_third, since=date(2026, 6, 3)).gross_mm.tolist() == [0, 0, 10, 0, 0, 10, 0]


def test_programs_starts_and_percentage_add_up():
    # Arithmetic: (2 starts x 20 min + 10 min) x 50 % x 30 mm/h = 12.5 mm on Monday.
    both = run(program(starts=("05:00", "09:00")), program(minutes=10.0), percent=50.0)

    assert both.gross_mm[0] == pytest.approx(12.5)


def test_another_zone_gets_nothing():
    assert not run(program(), zone="beds").gross_mm.any()


def test_a_run_beyond_what_may_stand_runs_off():
    # Arithmetic: 20 min gather (30 - 10) x 20 / 60 = 6.67 mm on the surface, 5 of which may stand.
    lost = run(program())

    assert lost.runoff_mm[0] == pytest.approx(20 / 3 - 5)
    assert lost.soak_runoff_mm[0] == pytest.approx(0.0)


def test_starts_too_close_run_off_because_the_soak_is_short():
    # Arithmetic: a run of 12 min leaves 4 mm standing; 18 min later 1 mm of it, and 4 mm more.
    near = run(program(minutes=12.0, starts=("05:00", "05:30")))
    far = run(program(minutes=12.0, starts=("05:00", "06:00")))

    assert near.soak_runoff_mm[0] == pytest.approx(0.0)  # 1 + 4 are 5: just what may stand
    nearer = run(program(minutes=12.0, starts=("05:00", "05:18")))
    assert nearer.soak_runoff_mm[0] == pytest.approx(2.0)  # 6 min take 1 of 4 mm; 3 + 4 - 5
    assert not far.soak_runoff_mm.any()


@given(
    st.floats(0, 120), st.integers(1, 4), st.floats(0, 300),
    st.frozensets(st.integers(0, 6), min_size=1),
)  # fmt: skip
def test_a_week_is_that_of_the_audit(minutes, starts, percent, weekdays):
    one = program(minutes, tuple(f"{5 + n:02}:00" for n in range(starts)), weekdays)
    found = run(one, percent=percent)

    # Second route: the weekly depth as the audit computes it.
    assert found.gross_mm.sum() == pytest.approx(
        weekly_depth_mm([one], "lawn", percent, LAWN.rate_mm_h)
    )
    assert (found.runoff_mm + found.soak_runoff_mm <= found.gross_mm + 1e-9).all()


def test_an_absurd_percentage_is_refused_by_name():
    with pytest.raises(InvalidInputError) as refusal:
        run(program(), percent=301.0)

    assert refusal.value.field == "seasonal_percent"
