from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.soil import max_cycle_min, soak_min
from scheduling.domain.water_events import cycle_losses, runs_for

CLAY = {
    "rate_mm_h": 30.0,
    "intake_mm_h": 6.0,
    "accumulation_mm": 4.0,
}  # 10 min, then 40 min of soak


def by_minutes(cycles, cycle_min, soak_min, *, rate_mm_h, intake_mm_h, accumulation_mm):
    """Second route: the film on the surface, second by second; all that runs off."""
    film = lost = 0.0
    for _ in range(cycles):
        for second in range(60 * (cycle_min + soak_min)):
            rate = rate_mm_h if second < 60 * cycle_min else 0.0
            film = max(0.0, film + (rate - intake_mm_h) / 3600)
            lost += max(0.0, film - accumulation_mm)
            film = min(film, accumulation_mm)
    return lost


def test_cycles_and_soaks_within_their_limits_lose_nothing():
    longest, soak = max_cycle_min(30.0, 6.0, 4.0), soak_min(6.0, 4.0)

    losses = cycle_losses(4, longest, soak, **CLAY)

    assert (longest, soak) == (10.0, 40.0)
    assert losses.runoff_mm == pytest.approx(0.0)
    assert losses.soak_runoff_mm == pytest.approx(0.0)


def test_a_long_cycle_runs_off_and_a_short_soak_does_too():
    # Arithmetic: 5 min beyond the longest at 24 mm/h are 2 mm; a soak of 30 min leaves 1 mm.
    long = cycle_losses(1, 15, 0, **CLAY)
    short_soak = cycle_losses(3, 10, 30, **CLAY)

    assert (long.runoff_mm, long.soak_runoff_mm) == (pytest.approx(2.0), pytest.approx(0.0))
    assert (short_soak.runoff_mm, short_soak.soak_runoff_mm) == (0.0, pytest.approx(2.0))


def test_both_losses_of_one_watering_are_told_apart():
    losses = cycle_losses(3, 15, 30, **CLAY)

    assert losses.runoff_mm == pytest.approx(6.0)
    assert losses.soak_runoff_mm == pytest.approx(2.0)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    st.integers(1, 4),
    st.integers(1, 30),
    st.integers(0, 60),
    st.floats(2, 60),
    st.floats(1, 30),
    st.floats(0.5, 8),
)
def test_losses_are_those_of_the_film_on_the_surface(cycles, run, soak, rate, intake, standing):
    soil = {"rate_mm_h": rate, "intake_mm_h": intake, "accumulation_mm": standing}

    losses = cycle_losses(cycles, run, soak, **soil)

    lost = by_minutes(cycles, run, soak, **soil)
    assert losses.runoff_mm + losses.soak_runoff_mm == pytest.approx(lost, abs=0.02 * cycles)
    assert min(losses.runoff_mm, losses.soak_runoff_mm) >= 0.0


def test_losses_take_days_by_zones():
    losses = cycle_losses([[1], [3]], 15, 30, **{**CLAY, "accumulation_mm": [4.0, 50.0]})

    np.testing.assert_allclose(losses.runoff_mm, [[2.0, 0.0], [6.0, 0.0]])
    np.testing.assert_allclose(losses.soak_runoff_mm, [[0.0, 0.0], [2.0, 0.0]], atol=1e-12)


def test_a_depth_becomes_the_fewest_equal_cycles_on_the_step():
    # Arithmetic: 18 mm at 30 mm/h are 36 min; at most 10 min at once are 4 cycles of 9 min.
    runs = runs_for([18.0, 5.0, 0.0], 30.0, 10.9, step_min=1.0)

    assert runs.cycles.tolist() == [4.0, 1.0, 0.0]
    assert runs.cycle_min.tolist() == [9.0, 10.0, 0.0]
    assert runs.gross_mm.tolist() == [18.0, 5.0, 0.0]


def test_an_endless_cycle_is_one_cycle():
    runs = runs_for(18.0, 30.0, math.inf, step_min=1.0)

    assert (runs.cycles, runs.cycle_min) == (1.0, 36.0)


@given(st.floats(0, 60), st.floats(1, 60), st.floats(1, 100), st.sampled_from([0.5, 1.0, 5.0]))
def test_no_cycle_is_longer_than_the_surface_takes(gross, rate, longest, step):
    runs = runs_for(gross, rate, longest, step_min=step)

    assert runs.cycle_min <= max(longest, step) + 1e-9
    assert runs.gross_mm == pytest.approx(gross, abs=float(runs.cycles) * step * rate / 120 + 1e-9)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: runs_for(-1.0, 30.0, 10.0, step_min=1.0), "gross_mm"),
        (lambda: runs_for(1.0, 0.0, 10.0, step_min=1.0), "rate_mm_h"),
        (lambda: runs_for(1.0, 30.0, math.nan, step_min=1.0), "longest_cycle_min"),
        (lambda: runs_for(1.0, 30.0, 10.0, step_min=0.0), "step_min"),
        (lambda: cycle_losses(-1, 10, 10, **CLAY), "cycles"),
        (lambda: cycle_losses(1, 10, math.nan, **CLAY), "soak_min"),
        (lambda: cycle_losses(1, 2000, 10, **CLAY), "cycle_min"),
    ],
)
def test_impossible_runs_are_refused(call, field):
    with pytest.raises(InvalidInputError) as refusal:
        call()

    assert refusal.value.field == field
