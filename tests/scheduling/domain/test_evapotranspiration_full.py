"""Penman-Monteith against the published examples, and what must hold for any weather."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.air import wind_at_2m
from scheduling.domain.blocks import BLOCK
from scheduling.domain.evapotranspiration import (
    extraterrestrial_radiation,
    hargreaves,
    hourly_penman_monteith,
    penman_monteith,
    soil_heat_of_hour,
    tall_reference,
)
from scheduling.domain.humidity import vapour_pressure_from_dew_point

UCCLE = {
    "tmin_c": 12.3, "tmax_c": 21.5, "ea_kpa": 1.409, "rs_mj": 22.07, "u2_m_s": 2.078,
    "latitude_deg": 50.8, "day_of_year": 187, "elevation_m": 100.0,
}  # fmt: skip
# ASCE-EWRI 2005, Table C-3, 1 and 2 July 2000 (J 183 and 184), from memory: anemometer at 3 m.
TABLE_C3 = [
    ((10.9, 32.4, 1.27, 22.4), 1.94, 183, 5.71, 7.34),
    ((12.2, 33.6, 1.19, 26.8), 2.14, 184, 6.71, 8.68),
]


def test_uccle_is_that_of_the_published_example():
    # ET-09: FAO-56, Example 18, printed 3.9 mm/d; its intermediate values give 3.88.
    assert penman_monteith(**UCCLE) == pytest.approx(3.88, abs=0.05)


def test_lyon_with_missing_data_is_that_of_the_published_example():
    # ET-11: FAO-56, Example 20, from memory: dew point = Tmin, wind 2 m/s, Rs of Example 15.
    ea_kpa = vapour_pressure_from_dew_point(14.8)

    et0 = penman_monteith(14.8, 26.6, ea_kpa, 22.29, 2.0, 45 + 43 / 60, 196, 200.0)

    assert et0 == pytest.approx(4.56, abs=0.05)


@pytest.mark.parametrize(("air", "u3_m_s", "day", "short_mm", "tall_mm"), TABLE_C3)
def test_both_references_are_those_of_the_published_table(air, u3_m_s, day, short_mm, tall_mm):
    # ET-18, ET-19.
    rest = (wind_at_2m(u3_m_s, 3.0), 40.41, day, 1462.4)

    assert penman_monteith(*air, *rest) == pytest.approx(short_mm, abs=0.05)
    assert tall_reference(*air, *rest) == pytest.approx(tall_mm, abs=0.05)


def test_the_hours_are_those_of_the_published_example():
    # ET-13: FAO-56, Example 19, N'Diaye, 1 October, 8 m, from memory.
    day = hourly_penman_monteith(38.0, 3.445, 1.749, soil_heat_of_hour(1.749), 3.3, 8.0)
    night = hourly_penman_monteith(28.0, 3.402, -0.100, soil_heat_of_hour(-0.100), 1.9, 8.0)

    assert soil_heat_of_hour([1.749, -0.100]) == pytest.approx(np.array([0.175, -0.050]), abs=5e-4)
    assert day == pytest.approx(0.63, abs=0.01)
    assert night == pytest.approx(0.00, abs=0.01)


def test_a_dry_and_windy_summer_asks_for_a_third_to_half_more():
    # ET-22: summer 2011 in Texas ran 30 to 50 % above the average (Swanson et al., ASABE 2012).
    # Plausibility: July means of a usual and of that summer, both from memory.
    usual = penman_monteith(
        23.9, 34.3, vapour_pressure_from_dew_point(22.5), 21.5, 2.0, 30.0, 196, 30.0
    )
    of_2011 = penman_monteith(
        25.3, 37.4, vapour_pressure_from_dew_point(20.0), 25.0, 2.8, 30.0, 196, 30.0
    )

    assert 1.30 < of_2011 / usual < 1.50
    # The temperatures alone do not see the dryness and the wind.
    radiation = extraterrestrial_radiation(30.0, 196)
    assert hargreaves(25.3, 37.4, radiation) / hargreaves(23.9, 34.3, radiation) < 1.15


def test_penman_monteith_by_the_form_with_resistances():
    # Second route: FAO-56, eq. 3, with its aerodynamic (208/u2) and surface (70 s/m) resistance.
    et0 = penman_monteith(**UCCLE)

    t, gamma, rn, es, ea, u2 = 16.9, 0.665e-3 * 100.12, 13.28, 1.997, 1.409, 2.078
    slope = 4098 * 0.6108 * np.exp(17.27 * t / (t + 237.3)) / (t + 237.3) ** 2
    heat_of_vaporisation, gas_constant = 2.45, 0.287
    density_times_heat = gamma * 0.622 * heat_of_vaporisation / (1.01 * (t + 273) * gas_constant)
    aerodynamic_s_m = 208 / u2
    flux = slope * rn + 86_400 * density_times_heat * (es - ea) / aerodynamic_s_m
    expected = flux / (slope + gamma * (1 + 70 / aerodynamic_s_m)) / heat_of_vaporisation
    assert et0 == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"tmin_c": -9999.0}, "tmin_c"),
        ({"tmax_c": 88.0}, "tmax_c"),  # degF
        ({"tmin_c": 22.0}, "tmax_c"),
        ({"ea_kpa": 1409.0}, "ea_kpa"),  # Pa
        ({"rs_mj": 255.0}, "rs_mj"),  # W/m2
        ({"u2_m_s": -1.0}, "u2_m_s"),
        ({"latitude_deg": 5080.0}, "latitude_deg"),
        ({"latitude_deg": float("nan")}, "latitude_deg"),
        ({"day_of_year": 0}, "day_of_year"),
        ({"elevation_m": 10_000.0}, "elevation_m"),
    ],
)
@pytest.mark.parametrize("compute", [penman_monteith, tall_reference])
def test_refuses_what_cannot_be_and_names_it(compute, changes, field):
    with pytest.raises(InvalidInputError) as refusal:
        compute(**UCCLE | changes)

    assert refusal.value.field == field
    assert refusal.value.remedy


@pytest.mark.parametrize("absurd_m_s", [99.0, -9999.0])
def test_one_absurd_value_at_the_end_of_a_long_column_is_refused_too(absurd_m_s):
    wind = np.full(3 * BLOCK, 2.0)
    wind[-1] = absurd_m_s

    with pytest.raises(InvalidInputError) as refusal:
        penman_monteith(**UCCLE | {"u2_m_s": wind})

    assert refusal.value.field == "u2_m_s"


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((95.0, 1.0, 1.0, 0.1, 2.0, 8.0), "temperature_c"),
        ((30.0, -1.0, 1.0, 0.1, 2.0, 8.0), "ea_kpa"),
        ((30.0, 1.0, 500.0, 0.1, 2.0, 8.0), "rn_mj"),  # W/m2
        ((30.0, 1.0, 1.0, 50.0, 2.0, 8.0), "g_mj"),
        ((30.0, 1.0, 1.0, 0.1, 100.0, 8.0), "u2_m_s"),
        ((30.0, 1.0, 1.0, 0.1, 2.0, -900.0), "elevation_m"),
    ],
)
def test_an_hour_refuses_what_cannot_be_and_names_it(arguments, field):
    with pytest.raises(InvalidInputError) as refusal:
        hourly_penman_monteith(*arguments)

    assert refusal.value.field == field


@pytest.mark.parametrize("name", ["tmin_c", "tmax_c", "ea_kpa", "rs_mj", "u2_m_s"])
def test_any_missing_value_costs_its_own_day_only(name):
    days = UCCLE | {name: [UCCLE[name], np.nan]}

    et0 = penman_monteith(**days)

    assert et0[0] == pytest.approx(penman_monteith(**UCCLE))
    assert np.isnan(et0[1])


def test_columns_broadcast_and_keep_their_shape():
    latitudes, days = np.array([[10.0], [40.0]]), np.array([1, 100, 200])

    et0 = penman_monteith(**UCCLE | {"latitude_deg": latitudes, "day_of_year": days})

    assert et0.shape == (2, 3)
    assert et0[1, 2] == penman_monteith(**UCCLE | {"latitude_deg": 40.0, "day_of_year": 200})
    assert np.ndim(penman_monteith(**UCCLE)) == 0
    assert penman_monteith(**UCCLE | {"tmax_c": np.array([])}).shape == (0,)


def test_a_long_table_is_computed_as_its_rows_are():
    # More entries than one block, as a table of stations by days that broadcasts.
    rng = np.random.default_rng(5)
    tmax_c = rng.uniform(15, 40, (3, BLOCK // 2 + 77))
    elevation_m = np.array([[0.0], [500.0], [1500.0]])

    table = penman_monteith(**UCCLE | {"tmax_c": tmax_c, "elevation_m": elevation_m})

    for row, z in enumerate(elevation_m[:, 0]):
        alone = penman_monteith(**UCCLE | {"tmax_c": tmax_c[row], "elevation_m": z})
        assert table[row].tolist() == alone.tolist()


DAYS = {
    "tmin_c": st.floats(-30, 30), "span_c": st.floats(0, 20), "ea_kpa": st.floats(0, 4),
    "rs_mj": st.floats(0, 32), "u2_m_s": st.floats(0, 12), "latitude_deg": st.floats(-66, 66),
    "day_of_year": st.integers(1, 366), "elevation_m": st.floats(-400, 3000),
}  # fmt: skip


def of(days):
    rest = {name: value for name, value in days.items() if name != "span_c"}
    return rest | {"tmax_c": days["tmin_c"] + days["span_c"]}


@given(days=st.fixed_dictionaries(DAYS), sunnier_mj=st.floats(0, 3))
@settings(derandomize=True, max_examples=100)
def test_need_is_never_negative_and_grows_with_the_sun(days, sunnier_mj):
    day = of(days)

    et0 = penman_monteith(**day)

    assert 0 <= et0 < 40
    assert penman_monteith(**day | {"rs_mj": day["rs_mj"] + sunnier_mj}) >= et0 - 1e-9


MODERATE = DAYS | {
    "tmin_c": st.floats(18, 25), "elevation_m": st.floats(0, 1000), "u2_m_s": st.floats(4, 12),
    "ea_kpa": st.floats(0.8, 2),
}  # fmt: skip


@given(days=st.fixed_dictionaries(MODERATE), share=st.floats(0.5, 1))
@settings(derandomize=True, max_examples=100)
def test_drier_air_takes_more_where_the_wind_blows(days, share):
    # In calm or nearly waterless air the heat that dry air lets go to the sky outweighs it.
    day = of(days)

    assert penman_monteith(**day | {"ea_kpa": day["ea_kpa"] * share}) >= penman_monteith(**day)


@given(days=st.fixed_dictionaries(DAYS | {"rs_mj": st.floats(8, 32)}), warmer_c=st.floats(0, 8))
@settings(derandomize=True, max_examples=100)
def test_need_grows_with_the_highest_temperature_by_day_light(days, warmer_c):
    day = of(days) | {"tmin_c": 12.0, "ea_kpa": 1.2}
    day["tmax_c"] = 14.0 + days["span_c"]

    warmer = day | {"tmax_c": day["tmax_c"] + warmer_c}
    assert penman_monteith(**warmer) >= penman_monteith(**day) - 1e-9


@given(days=st.fixed_dictionaries(DAYS))
@settings(derandomize=True, max_examples=50)
def test_one_day_alone_is_the_same_as_among_others(days):
    day = of(days)
    among = {name: np.array([UCCLE[name], value]) for name, value in day.items()}

    assert penman_monteith(**among)[1] == pytest.approx(penman_monteith(**day), rel=1e-12)
