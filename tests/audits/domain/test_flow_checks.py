"""Meter, nozzles and cups against each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.flow_checks import (
    Share,
    caught_share,
    caught_volume_l,
    leak_share,
    metered_error_l_min,
    metered_flow_l_min,
    pressure_drop_kpa,
    register_span_l,
)
from audits.domain.nozzles import nominal_rate_mm_h
from properties.domain.errors import InvalidInputError


def code_of(refusal):
    return refusal.value.code


def test_metered_flow_is_the_difference_over_the_minutes():
    # Arithmetic.
    assert metered_flow_l_min(1000, 1090, 4) == pytest.approx(22.5)
    assert metered_flow_l_min(1000, 1000, 4) == 0


def test_refuses_a_meter_that_ran_backwards_by_name():
    with pytest.raises(InvalidInputError, match="40 L below the first: the meter ran") as refusal:
        metered_flow_l_min(1090, 1050, 4)

    assert code_of(refusal) == "meter-ran-backwards"


def test_accepts_a_register_that_came_round_to_zero_if_it_is_stated():
    # Arithmetic: four wheels of 10 L come round at 100 000 L; 99 950 to 40 L are 90 L.
    register_l = register_span_l(4, 10)

    assert register_l == 100_000
    assert metered_flow_l_min(99_950, 40, 4, register_l=register_l) == pytest.approx(22.5)
    assert metered_flow_l_min(1000, 1090, 4, register_l=register_l) == pytest.approx(22.5)


def test_swapped_readings_are_no_round_of_the_register():
    with pytest.raises(InvalidInputError) as refusal:
        metered_flow_l_min(1090, 1000, 1440, register_l=100_000)

    assert code_of(refusal) == "meter-ran-backwards"


def test_half_of_a_register_may_run_through_and_no_more():
    assert metered_flow_l_min(60, 10, 10, register_l=100) == pytest.approx(5.0)
    with pytest.raises(InvalidInputError, match="ran backwards"):
        metered_flow_l_min(60, 11, 10, register_l=100)


@pytest.mark.parametrize(("before", "after"), [(100_000, 40), (99_000, 100_000)])
def test_refuses_a_reading_that_the_register_cannot_show(before, after):
    with pytest.raises(InvalidInputError) as refusal:
        metered_flow_l_min(before, after, 4, register_l=100_000)

    assert code_of(refusal) == "beyond-register"


@pytest.mark.parametrize(
    ("before", "after", "minutes"),
    [(-1, 10, 4), (0, 10, 0), (0, None, 4), (0, 1e9, 1), (float("nan"), 10, 4)],
)
def test_refuses_impossible_readings(before, after, minutes):
    with pytest.raises(InvalidInputError):
        metered_flow_l_min(before, after, minutes)


@pytest.mark.parametrize(("digits", "step"), [(0, 1), (2.5, 1), (4, 0)])
def test_refuses_impossible_registers(digits, step):
    with pytest.raises(InvalidInputError):
        register_span_l(digits, step)


def test_both_readings_may_err_against_each_other():
    # Arithmetic: half a litre each over four minutes.
    assert metered_error_l_min(0.5, 4) == pytest.approx(0.25)


def test_a_leak_is_what_the_nozzles_do_not_account_for():
    # Arithmetic: 30 L/min metered, 24 out of the nozzles; +-1 L/min and +-5 %.
    share = leak_share(30, 24, metered_error_l_min=1.0, nozzle_relative_error=0.05)

    assert share.value == pytest.approx(0.2)
    assert share.low == pytest.approx(1 - 25.2 / 29)
    assert share.high == pytest.approx(1 - 22.8 / 31)


def test_clogged_nozzles_show_as_a_share_below_zero():
    assert leak_share(20, 24).high < 0


def test_a_nozzle_is_believed_within_a_twentieth_unless_told_otherwise():
    assert leak_share(20, 20).low == pytest.approx(-0.05)
    assert leak_share(20, 20, nozzle_relative_error=0).low == 0


@pytest.mark.parametrize(("metered", "error"), [(0, 0), (1, 1), (1, 2)])
def test_refuses_a_leak_from_a_meter_that_hardly_moved(metered, error):
    with pytest.raises(InvalidInputError) as refusal:
        leak_share(metered, 0.5, metered_error_l_min=error)

    assert code_of(refusal) == "reading-too-coarse"
    assert refusal.value.field == "metered_l_min"


def test_caught_water_is_rate_by_area_by_time():
    # Arithmetic: 30 mm/h on 50 m2 for 20 min.
    assert caught_volume_l(30, 50, 20) == pytest.approx(500)


def test_what_missed_the_lawn_is_the_rest():
    # Arithmetic: 500 of 625 L; +-10 % and +-25 L.
    share = caught_share(500, 625, caught_relative_error=0.10, metered_error_l=25)

    assert share == Share(pytest.approx(0.8), pytest.approx(450 / 650), pytest.approx(550 / 600))


def test_a_little_more_caught_than_metered_is_within_the_errors():
    assert caught_share(105, 100, caught_relative_error=0.10).high > 1


def test_refuses_cups_that_caught_more_than_was_metered():
    with pytest.raises(InvalidInputError, match="112% of the water") as refusal:
        caught_share(112, 100, caught_relative_error=0.10)

    assert code_of(refusal) == "caught-more-than-metered"


def test_refuses_a_share_of_nothing():
    with pytest.raises(InvalidInputError) as refusal:
        caught_share(0, 0)

    assert code_of(refusal) == "reading-too-coarse"
    assert refusal.value.field == "metered_l"


def test_running_pressure_is_below_static_by_the_drop():
    assert pressure_drop_kpa(400, 310) == 90
    assert pressure_drop_kpa(400, 400) == 0


def test_refuses_running_pressure_above_static():
    with pytest.raises(InvalidInputError, match="cannot exceed the static pressure") as refusal:
        pressure_drop_kpa(400, 401)

    assert code_of(refusal) == "running-above-static"


def test_a_booster_pump_may_lift_the_running_pressure():
    assert pressure_drop_kpa(400, 450, has_booster_pump=True) == -50


@given(
    st.floats(5, 1000), st.floats(0.1, 1000), st.floats(0, 4), st.floats(0, 0.2), st.floats(0.1, 10)
)
def test_the_interval_holds_the_share_and_does_not_depend_on_the_scale(
    metered, nozzle, error, relative, factor
):
    share = leak_share(metered, nozzle, metered_error_l_min=error, nozzle_relative_error=relative)
    scaled = leak_share(
        metered * factor,
        nozzle * factor,
        metered_error_l_min=error * factor,
        nozzle_relative_error=relative,
    )

    assert share.low <= share.value <= share.high < 1.0 + 1e-9
    assert scaled.value == pytest.approx(share.value, abs=1e-9)
    assert scaled.low == pytest.approx(share.low, abs=1e-9)


@given(st.floats(0.1, 500), st.floats(0.1, 5000), st.floats(1, 600))
def test_what_a_nominal_rate_catches_is_all_that_flowed(flow_l_min, area_m2, minutes):
    rate = min(float(nominal_rate_mm_h(flow_l_min, area_m2)), 1000.0)
    flowed_l = rate * area_m2 / 60 * minutes

    assert caught_volume_l(rate, area_m2, minutes) == pytest.approx(flowed_l)


def test_a_long_run_may_err_by_more_than_a_reading():
    # Arithmetic: 240 m3 through a meter that errs by 5 % are 12 m3 to either side.
    share = caught_share(200_000.0, 240_000.0, metered_error_l=12_000.0)

    assert (share.low, share.high) == (
        pytest.approx(200 / 252), pytest.approx(200 / 228),
    )  # fmt: skip
