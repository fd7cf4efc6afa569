"""Where heads may stand: SAFE-07, by the limits of 30 TAC 344.62."""

from __future__ import annotations

from dataclasses import replace

import pytest

from audits.domain.placement import (
    TEXAS_PLACEMENT,
    from_hardscape_ok,
    narrow_strip_ok,
    spacing_against_throw,
)
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

IN_M = 0.0254
FT_M = 0.3048


@pytest.mark.parametrize(
    ("spacing_ft", "is_within", "reaches"),
    [
        (13.4, False, True), (13.5, True, True), (15.0, True, True), (15.1, True, False),
        (16.5, True, False), (16.6, False, False),
    ],
)  # fmt: skip
def test_safe_07_spacing_within_a_tenth_of_a_throw_of_15_feet(spacing_ft, is_within, reaches):
    check = spacing_against_throw(spacing_ft * FT_M, 15 * FT_M)

    assert check.excess == pytest.approx(spacing_ft / 15 - 1)
    assert check.is_within_tolerance is is_within
    assert check.reaches_next_head is reaches


@pytest.mark.parametrize(("width_in", "is_ok"), [(47.9, False), (48, True), (60, True)])
def test_safe_07_no_spray_in_strips_under_48_inches_between_paving(width_in, is_ok):
    width_m = width_in * IN_M

    assert narrow_strip_ok(HeadKind.SPRAY, width_m, is_bounded_by_paving=True) is is_ok


@pytest.mark.parametrize("kind", list(HeadKind))
def test_safe_07_only_drip_and_bubblers_may_water_a_narrow_strip(kind):
    is_ok = narrow_strip_ok(kind, 0.6, is_bounded_by_paving=True)

    assert is_ok is (kind in {HeadKind.DRIP, HeadKind.BUBBLER})


def test_a_narrow_bed_in_a_lawn_may_be_sprayed():
    assert narrow_strip_ok(HeadKind.SPRAY, 0.6, is_bounded_by_paving=False)


@pytest.mark.parametrize(("gap_in", "is_ok"), [(3.9, False), (4, True), (12, True)])
def test_safe_07_heads_stand_four_inches_from_paving(gap_in, is_ok):
    assert from_hardscape_ok(gap_in * IN_M) is is_ok


def test_another_region_is_another_rule():
    rule = replace(TEXAS_PLACEMENT, spacing_tolerance=0.2, least_spray_strip_m=2.0, least_gap_m=0.3)

    assert spacing_against_throw(1.2, 1.0, rule).is_within_tolerance
    assert not narrow_strip_ok(HeadKind.ROTOR, 1.9, is_bounded_by_paving=True, rule=rule)
    assert not from_hardscape_ok(0.2, rule)


def test_refuses_impossible_places():
    with pytest.raises(InvalidInputError, match="spacing"):
        spacing_against_throw(0, 4)
    with pytest.raises(InvalidInputError, match="throw"):
        spacing_against_throw(4, 0)
    with pytest.raises(InvalidInputError, match="strip"):
        narrow_strip_ok(HeadKind.DRIP, -1, is_bounded_by_paving=False)
    with pytest.raises(InvalidInputError, match="gap"):
        from_hardscape_ok(-0.1)
