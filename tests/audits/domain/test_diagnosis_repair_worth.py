"""The worth of a repair, by hand arithmetic."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.diagnosis import CauseKind, FaultSeen, NozzleGroup, ZoneEvidence
from audits.domain.faults import FaultKind
from audits.domain.repair_worth import metered_litres, repair_worth, uniformity_after
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

# Twelve cups, mean 9; driest three 2 + 6 + 8 = 16 / 3 = 5.333: DU_lq 0.59259.
DEPTHS = (2.0, 6.0, 8.0, 9.0, 9.0, 9.0, 10.0, 10.0, 10.0, 11.0, 12.0, 12.0)
DU_NOW = 16 / 27
SIX_HEADS = (NozzleGroup(kind=HeadKind.ROTOR, count=6),)


def rotors(**known) -> ZoneEvidence:
    return ZoneEvidence(head_kind=HeadKind.ROTOR, du_lq=DU_NOW, depths_mm=DEPTHS, **known)


def test_one_leaning_head_of_six_explains_two_of_twelve_cups():
    evidence = rotors(groups=SIX_HEADS, findings=(FaultSeen(kind=FaultKind.LEANING),))
    # Ten cups left, sum 100, mean 10; the low quarter is 2.5, that is 3 cups: 8 + 9 + 9 = 26 / 3
    # = 8.667: DU_lq 0.8667, capped at the published excellent 0.80.
    # Multipliers 1 / (0.4 + 0.6 * 0.59259) = 1.32353 and 1 / 0.88 = 1.13636: kept 0.858586.
    worth = repair_worth(
        CauseKind.LEANING_OR_TURNED_HEAD, evidence,
        season_litres=100_000.0, season_minutes=2000.0, price_per_m3=2.5,
    )  # fmt: skip

    assert worth.du_lq_after == pytest.approx(0.80)
    assert worth.multiplier_now == pytest.approx(1.32353, abs=1e-5)
    assert worth.multiplier_after == pytest.approx(1.13636, abs=1e-5)
    assert worth.litres_saved_per_year == pytest.approx(14_141.4, abs=0.1)
    assert worth.minutes_saved_per_year == pytest.approx(282.83, abs=0.01)
    assert worth.money_saved_per_year == pytest.approx(35.35, abs=0.01)


def test_a_wrong_nozzle_explains_the_wettest_cups():
    evidence = rotors(groups=SIX_HEADS, findings=(FaultSeen(kind=FaultKind.WRONG_NOZZLE),))
    # Without the two 12s: sum 84, mean 8.4, low three 16 / 3: DU_lq 0.63492.
    assert uniformity_after(CauseKind.WRONG_NOZZLE, evidence) == pytest.approx(0.63492, abs=1e-5)


def test_a_leak_saves_litres_and_no_minutes():
    evidence = rotors(metered_flow_l_min=60.0, nozzle_flow_l_min=45.0)

    worth = repair_worth(
        CauseKind.LEAK, evidence, season_litres=80_000.0, season_minutes=1500.0, price_per_m3=3.0
    )

    assert worth.litres_saved_per_year == pytest.approx(20_000.0)
    assert worth.minutes_saved_per_year == pytest.approx(0.0)
    assert worth.money_saved_per_year == pytest.approx(60.0)
    assert worth.du_lq_after == worth.du_lq_now


def test_the_meter_counts_what_leaks_and_the_lawn_does_not():
    # Arithmetic: 1855 min a year at 231 L/min are 428 505 L; the nozzles pass 154 of 231, two
    # thirds, so mending the leak saves 142 835 L. By the 133 L/min of the lawn it were 82 238.
    evidence = rotors(metered_flow_l_min=231.0, nozzle_flow_l_min=154.0, caught_share=133 / 231)
    metered = metered_litres(evidence, minutes=1855.0, lawn_litres=133.0 * 1855.0)

    worth = repair_worth(CauseKind.LEAK, evidence, season_litres=metered, season_minutes=1855.0)

    assert worth.litres_saved_per_year == pytest.approx(142_800, abs=50)


@pytest.mark.parametrize(
    ("known", "minutes", "litres"),
    [
        ({"metered_flow_l_min": 60.0, "caught_share": 0.8}, 100.0, 6000.0),
        ({"metered_flow_l_min": 60.0, "caught_share": 0.8}, None, 5000.0),  # 4000 over 0.8
        ({"caught_share": 0.8}, 100.0, 5000.0),
        ({"caught_share": 1.3}, 100.0, 4000.0),  # more is caught only by error
        ({"caught_share": 0.0}, 100.0, 4000.0),
        ({"metered_flow_l_min": 0.0}, 100.0, 4000.0),  # a meter that stood still
        ({}, 100.0, 4000.0),
    ],
)
def test_the_meter_speaks_first_then_the_cups_then_the_lawn(known, minutes, litres):
    found = metered_litres(rotors(**known), minutes=minutes, lawn_litres=4000.0)

    assert found == pytest.approx(litres)


def test_nothing_known_of_the_water_stays_unknown():
    assert metered_litres(rotors(caught_share=0.8), minutes=None, lawn_litres=None) is None


def test_overspray_saves_what_missed_the_lawn_beyond_the_usual():
    # 0.60 caught now, 0.90 after: two thirds of the water do.
    worth = repair_worth(
        CauseKind.OVERSPRAY, rotors(caught_share=0.6), season_litres=90_000.0, season_minutes=900.0
    )

    assert worth.litres_saved_per_year == pytest.approx(30_000.0)
    assert worth.minutes_saved_per_year == pytest.approx(300.0)
    assert worth.money_saved_per_year is None


def test_less_pressure_saves_water_but_takes_longer():
    evidence = rotors(caught_share=0.72, running_kpa=484.0, rated_kpa=400.0)
    # Multiplier 1.32353 to 1 / 0.79 = 1.26582 (good: 0.65), kept 0.956399 * 0.72 / 0.90 =
    # 0.765119; flow falls by sqrt(400 / 484) = 1 / 1.1, so minutes kept 0.841631.
    worth = repair_worth(
        CauseKind.PRESSURE_TOO_HIGH, evidence, season_litres=10_000.0, season_minutes=1000.0
    )

    assert worth.litres_saved_per_year == pytest.approx(2348.8, abs=0.1)
    assert worth.minutes_saved_per_year == pytest.approx(158.4, abs=0.1)


def test_underwatering_costs_water():
    evidence = rotors(weekly_found_mm=(8.0,) * 12, weekly_needed_mm=(10.0,) * 12)

    worth = repair_worth(CauseKind.UNDERWATERING, evidence, season_litres=8000.0)

    assert worth.litres_saved_per_year == pytest.approx(-2000.0)
    assert worth.minutes_saved_per_year is None


def test_the_cap_of_the_plan_limits_what_evenness_saves():
    evidence = ZoneEvidence(head_kind=HeadKind.ROTOR, du_lq=0.2)
    # 1 / 0.52 = 1.923 is capped at 1.56; good rotors 1 / 0.79: kept 0.811425.
    worth = repair_worth(CauseKind.MIXED_HEADS, evidence, season_litres=1000.0, multiplier_cap=1.56)

    assert worth.multiplier_now == 1.56
    assert worth.litres_saved_per_year == pytest.approx(188.6, abs=0.1)
    assert worth.minutes_saved_per_year is None


@given(st.sampled_from(CauseKind), st.sampled_from(HeadKind))
def test_nothing_known_is_worth_nothing_known(kind, head_kind):
    worth = repair_worth(
        kind, ZoneEvidence(head_kind=head_kind), season_litres=1e5, season_minutes=1e3,
        price_per_m3=2.0,
    )  # fmt: skip

    assert worth.du_lq_now is worth.du_lq_after is worth.litres_saved_per_year is None
    assert worth.minutes_saved_per_year is worth.money_saved_per_year is None


def test_without_a_season_there_is_no_saving_to_tell():
    worth = repair_worth(CauseKind.LEAK, rotors(metered_flow_l_min=6.0, nozzle_flow_l_min=5.0))

    assert worth.litres_saved_per_year is None
    assert worth.money_saved_per_year is None


@given(st.sampled_from(CauseKind), st.floats(0.0, 1.0))
def test_no_repair_is_said_to_make_a_zone_less_even(kind, uniformity):
    evidence = ZoneEvidence(
        head_kind=HeadKind.SPRAY, du_lq=uniformity, depths_mm=DEPTHS, groups=SIX_HEADS,
        findings=(FaultSeen(kind=FaultKind.CLOGGED_NOZZLE), FaultSeen(kind=FaultKind.LEANING)),
    )  # fmt: skip

    after = uniformity_after(kind, evidence)

    assert after is None or uniformity <= after <= max(uniformity, 0.75)


def test_a_price_below_zero_is_refused():
    with pytest.raises(InvalidInputError) as refusal:
        repair_worth(CauseKind.LEAK, rotors(), price_per_m3=-1.0)

    assert refusal.value.field == "price_per_m3"
