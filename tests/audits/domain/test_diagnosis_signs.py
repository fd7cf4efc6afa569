"""Single signs: the patterns of cups and heads, and the limits at which a sign shows."""

from __future__ import annotations

import pytest

from audits.domain.diagnosis import CauseKind, FaultSeen, NozzleGroup, ZoneEvidence, diagnose
from audits.domain.diagnosis_cups import depth_ratio_of_wettest, dry_cups_closeness
from audits.domain.diagnosis_heads import spacing_over_throw, unmatched_ratio
from audits.domain.diagnosis_signs import SignCode, signs
from audits.domain.faults import FaultKind
from properties.domain.site import HeadKind

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


def test_heads_without_grades_are_held_against_the_field():
    impact = {"head_kind": HeadKind.IMPACT, "du_lq": 0.44}

    assert shown(**impact) == {}
    assert set(shown(**impact, field_du_lq=0.45)) == {SignCode.CUPS_UNEVEN}


@pytest.mark.parametrize(
    ("metered", "code", "force"),
    [
        (100.0, SignCode.FLOW_AS_NOZZLES, 1.0),
        (96.0, SignCode.FLOW_AS_NOZZLES, 0.5),
        (112.0, SignCode.FLOW_OVER_NOZZLES, 0.75),
        (88.0, SignCode.FLOW_UNDER_NOZZLES, 0.75),
        (140.0, SignCode.FLOW_OVER_NOZZLES, 1.0),
    ],
)
def test_flow_shows_the_plainer_the_farther_from_its_limit(metered, code, force):
    # Limit 8 %: half a force at 8 %, 0.75 at 12 %, 1 from 16 % on.
    signs_of_flow = shown(
        head_kind=HeadKind.SPRAY, metered_flow_l_min=metered, nozzle_flow_l_min=100.0
    )

    assert signs_of_flow == {code: pytest.approx(force)}


def test_a_meter_that_errs_more_convicts_less():
    flows = {"head_kind": HeadKind.SPRAY, "metered_flow_l_min": 112.0, "nozzle_flow_l_min": 100.0}

    assert SignCode.FLOW_OVER_NOZZLES in shown(**flows)
    assert SignCode.FLOW_AS_NOZZLES in shown(**flows, meter_error=0.08)


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
