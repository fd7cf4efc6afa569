"""Single signs: the patterns of cups and heads, and the limits at which a sign shows."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from audits.domain.diagnosis import (
    CauseKind,
    FaultSeen,
    NozzleGroup,
    ZoneEvidence,
    diagnose,
    suspicions,
)
from audits.domain.diagnosis_cups import depth_ratio_of_wettest, dry_cups_closeness
from audits.domain.diagnosis_heads import spacing_over_throw, unmatched_ratio
from audits.domain.diagnosis_signs import SignCode, signs
from audits.domain.faults import FaultKind, Severity
from properties.domain.site import Exposure, HeadKind

# Four columns by three rows, one metre apart.
GRID = tuple((float(x), float(y)) for y in range(3) for x in range(4))


def shown(**known) -> dict[str, float]:
    return {sign.code: sign.force for sign in signs(ZoneEvidence(**known))}


def test_dry_cups_in_one_corner_lie_closer_than_all():
    corner = tuple(1.0 if place in {(0, 0), (1, 0), (0, 1)} else 9.0 for place in GRID)
    spread = tuple(1.0 if place in {(0, 0), (3, 0), (0, 2)} else 9.0 for place in GRID)

    # By hand: the corner's distances 1, 1 and 1.4142 average 1.1381. The 66 of the grid: 17 of 1,
    # 10 of 2, 3 of 3, 12 of 1.4142, 14 of 2.2361, 4 of 3.1623, 4 of 2.8284, 2 of 3.6056: 1.9007.
    assert dry_cups_closeness(corner, GRID) == pytest.approx(1.1381 / 1.9007, abs=1e-4)
    assert dry_cups_closeness(spread, GRID) > 1.0


def test_patterns_need_twelve_cups_and_their_places():
    assert dry_cups_closeness((1.0,) * 11, GRID[:11]) is None
    assert dry_cups_closeness((1.0,) * 12, ()) is None
    assert dry_cups_closeness((1.0,) * 12, ((0.0, 0.0),) * 12) is None
    assert depth_ratio_of_wettest((9.0,) * 11) is None
    assert depth_ratio_of_wettest((0.0,) * 11 + (9.0,)) is None
    assert depth_ratio_of_wettest((8.0,) * 11 + (20.0,)) == pytest.approx(2.5)


def test_half_the_arc_with_half_the_flow_is_matched():
    half = NozzleGroup(kind=HeadKind.SPRAY, flow_l_min=4.0, arc_deg=180.0, throw_m=4.0)
    quarter = NozzleGroup(kind=HeadKind.SPRAY, flow_l_min=2.0, arc_deg=90.0, throw_m=4.0)
    unread = NozzleGroup(kind=HeadKind.SPRAY, flow_l_min=9.0, arc_deg=90.0)

    assert unmatched_ratio((half, quarter, unread)) == pytest.approx(1.0)
    assert unmatched_ratio((half, unread)) is None
    assert spacing_over_throw(5.0, (half, quarter)) == pytest.approx(1.25)
    assert spacing_over_throw(5.0, ()) is None


def test_unevenness_is_laid_to_the_wind_only_in_wind():
    uneven = {"head_kind": HeadKind.ROTOR, "du_lq": 0.5}

    assert set(shown(**uneven)) == {SignCode.CUPS_UNEVEN}
    assert set(shown(**uneven, wind_m_s=2.0)) == {SignCode.CUPS_UNEVEN}
    assert set(shown(**uneven, wind_m_s=3.0)) == {SignCode.CUPS_UNEVEN_IN_WIND}


@pytest.mark.parametrize("kind", [HeadKind.DRIP, HeadKind.BUBBLER])
def test_too_much_pressure_is_no_sign_of_what_may_compensate_for_it(kind):
    over = {"rated_kpa": 100.0, "running_kpa": 200.0}
    points, spray = NozzleGroup(kind=kind), NozzleGroup(kind=HeadKind.SPRAY)

    assert shown(head_kind=kind, **over) == {}
    assert shown(head_kind=HeadKind.SPRAY, groups=(points,), **over) == {}
    assert SignCode.PRESSURE_OVER_RATED in shown(head_kind=kind, groups=(points, spray), **over)
    # Too little starves an emitter all the same.
    under = {**over, "running_kpa": 50.0}
    assert set(shown(head_kind=kind, **under)) == {SignCode.PRESSURE_UNDER_RATED}


def test_heads_without_grades_are_held_against_the_field():
    impact = {"head_kind": HeadKind.IMPACT, "du_lq": 0.44}

    assert shown(**impact) == {}
    assert set(shown(**impact, field_du_lq=0.45)) == {SignCode.CUPS_UNEVEN}


@pytest.mark.parametrize(
    ("metered", "code", "force"),
    [
        (100.0, SignCode.FLOW_AS_NOZZLES, 1.0),
        (96.0, SignCode.FLOW_AS_NOZZLES, 0.5),
        (108.001, SignCode.FLOW_OVER_NOZZLES, 1 / 6),
        (112.0, SignCode.FLOW_OVER_NOZZLES, 0.8344),
        (88.0, SignCode.FLOW_UNDER_NOZZLES, 0.8344),
        (112.8, SignCode.FLOW_OVER_NOZZLES, 1.0),
        (140.0, SignCode.FLOW_OVER_NOZZLES, 1.0),
    ],
)
def test_flow_shows_the_plainer_the_farther_from_its_limit(metered, code, force):
    # Limit 8 %: a sixth at 8 %, 1/6 + 5/6 (1.5^2 - 1) / (1.6^2 - 1) at 12 %, 1 from 12.8 % on.
    signs_of_flow = shown(
        head_kind=HeadKind.SPRAY, metered_flow_l_min=metered, nozzle_flow_l_min=100.0
    )

    assert signs_of_flow == {code: pytest.approx(force, rel=5e-3)}


def test_a_meter_that_errs_more_convicts_less():
    flows = {"head_kind": HeadKind.SPRAY, "metered_flow_l_min": 112.0, "nozzle_flow_l_min": 100.0}

    assert SignCode.FLOW_OVER_NOZZLES in shown(**flows)
    assert SignCode.FLOW_AS_NOZZLES in shown(**flows, meter_error=0.08)


def test_the_force_follows_the_likelihood_of_a_normal_error():
    # A leak of any size up to ten errors (density 1/10) against a normal error of z (density
    # exp(-z^2 / 2) / 2.5066): log ratio z^2 / 2 - ln(10 / 2.5066), 0.62, 1.74 and 3.12.
    forces = [
        shown(head_kind=HeadKind.SPRAY, metered_flow_l_min=m, nozzle_flow_l_min=100.0)
        for m in (108.001, 110.0, 112.0)
    ]
    log_ratios = [z**2 / 2 - math.log(10 / math.sqrt(2 * math.pi)) for z in (2.0, 2.5, 3.0)]

    for force, log_ratio in zip(forces, log_ratios, strict=True):
        assert 3.6 * force[SignCode.FLOW_OVER_NOZZLES] == pytest.approx(log_ratio, abs=0.15)


def test_more_caught_than_the_nozzles_throw_is_no_leak():
    # 0.95 of 120 litres caught where the listed nozzles pass 100: 1.14 of what they throw.
    zone = {"metered_flow_l_min": 120.0, "nozzle_flow_l_min": 100.0}
    caught = ZoneEvidence(head_kind=HeadKind.SPRAY, caught_share=0.95, **zone)
    missed = ZoneEvidence(head_kind=HeadKind.SPRAY, caught_share=0.70, **zone)

    assert SignCode.SPRAY_OVER_NOZZLES in {sign.code for sign in signs(caught)}
    assert diagnose(caught)[0].kind is CauseKind.WRONG_NOZZLE
    assert CauseKind.LEAK not in {cause.kind for cause in diagnose(caught)}
    assert diagnose(missed)[0].kind is CauseKind.LEAK


@pytest.mark.parametrize(
    ("code", "little", "much"),
    [
        (SignCode.MOST_CAUGHT, {"caught_share": 0.845}, {"caught_share": 0.94}),
        (SignCode.MUCH_MISSED, {"caught_share": 0.75}, {"caught_share": 0.65}),
        (SignCode.CUPS_UNEVEN, {"du_lq": 0.59}, {"du_lq": 0.40}),
        (
            SignCode.AS_MUCH_AS_NEEDED,
            {"weekly_found_mm": (11.1,) * 12, "weekly_needed_mm": (10.0,) * 12},
            {"weekly_found_mm": (10.1,) * 12, "weekly_needed_mm": (10.0,) * 12},
        ),
        (
            SignCode.LESS_THAN_NEEDED,
            {"weekly_found_mm": (6.9,) * 12, "weekly_needed_mm": (10.0,) * 12},
            {"weekly_found_mm": (6.0,) * 12, "weekly_needed_mm": (10.0,) * 12},
        ),
    ],
)
def test_every_measured_sign_shows_the_plainer_the_farther(code, little, much):
    few = shown(head_kind=HeadKind.ROTOR, **little)[code]
    many = shown(head_kind=HeadKind.ROTOR, **much)[code]

    assert 0 < few < 0.6
    assert few + 0.25 < many <= 1


def test_no_water_at_all_is_plainly_less_than_needed():
    dry = shown(
        head_kind=HeadKind.SPRAY, weekly_found_mm=(0.0,) * 12, weekly_needed_mm=(10.0,) * 12
    )

    assert dry == {SignCode.LESS_THAN_NEEDED: 1.0}


def test_a_minor_fault_counts_less_and_one_on_many_heads_more():
    def weight(**seen) -> float:
        fault = FaultSeen(kind=FaultKind.LEANING, **seen)
        (cause,) = suspicions(ZoneEvidence(head_kind=HeadKind.SPRAY, findings=(fault,)))
        return cause.evidence[0].weight

    plain = weight()

    assert weight(severity=Severity.MAJOR) == plain
    assert weight(severity=Severity.MINOR) == pytest.approx(0.85 * plain)
    # One more head adds a quarter, all further ones together another.
    assert weight(count=2) == pytest.approx(1.25 * plain)
    assert weight(count=500) == pytest.approx(1.5 * plain, rel=1e-2)


def test_a_wet_spot_is_one_however_many_heads_were_written_down():
    def strength(count: int) -> float:
        fault = FaultSeen(kind=FaultKind.RUNOFF, count=count)
        return suspicions(ZoneEvidence(head_kind=HeadKind.SPRAY, findings=(fault,)))[0].strength

    assert strength(5) == strength(1)


def test_what_a_wrong_nozzle_gives_too_much_is_not_laid_to_the_program():
    evidence = ZoneEvidence(
        head_kind=HeadKind.SPRAY, exposure=Exposure.PART_SHADE,
        findings=(FaultSeen(kind=FaultKind.WRONG_NOZZLE), FaultSeen(kind=FaultKind.WET_SPOT)),
        weekly_found_mm=(27.0,) * 12, weekly_needed_mm=(15.0,) * 12,
    )  # fmt: skip

    assert diagnose(evidence)[0].kind is CauseKind.WRONG_NOZZLE
    assert diagnose(replace(evidence, findings=()))[0].kind is CauseKind.OVERWATERING


def test_a_leak_is_not_laid_to_the_spray():
    # 60 of 100 litres caught; with 65 through the nozzles the spray lost only 8 %.
    leaking = shown(
        head_kind=HeadKind.SPRAY, caught_share=0.6, metered_flow_l_min=100.0, nozzle_flow_l_min=65.0
    )

    assert SignCode.MUCH_MISSED in leaking
    assert SignCode.SPRAY_MISSED not in leaking


def test_a_worn_nozzle_may_pass_too_much():
    evidence = ZoneEvidence(
        head_kind=HeadKind.SPRAY, findings=(FaultSeen(kind=FaultKind.WORN_NOZZLE),),
        metered_flow_l_min=110.0, nozzle_flow_l_min=100.0,
    )  # fmt: skip

    assert CauseKind.CLOGGED_OR_WORN_NOZZLE in {cause.kind for cause in diagnose(evidence)}
