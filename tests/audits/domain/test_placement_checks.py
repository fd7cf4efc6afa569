"""Each thing about where heads stand: in order, not, or unknown with its cure (SAFE-07)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from audits.domain.heads import HeadGroupFacts
from audits.domain.placement import TEXAS_PLACEMENT
from audits.domain.placement_checks import Placed, PlacementFacts, placement_checks
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

FT_M, IN_M, PSI_KPA = 0.3048, 0.0254, 6.894757293168

SPRAY = HeadGroupFacts(
    kind=HeadKind.SPRAY, count=8, rated_flow_l_min=7.0, rated_kpa=30 * PSI_KPA, throw_m=15 * FT_M
)
SOUND = PlacementFacts(
    kind=HeadKind.SPRAY, groups=(SPRAY,), spacing_m=15 * FT_M, running_kpa=30 * PSI_KPA,
    strip_width_m=48 * IN_M, is_bounded_by_paving=True, gap_m=4 * IN_M,
)  # fmt: skip


def verdicts(facts, **changes):
    checks = placement_checks(replace(facts, **changes))
    return {check.topic.value: check.verdict.value for check in checks}


def test_what_is_in_order_needs_no_cure():
    checks = placement_checks(SOUND)

    assert [check.topic.value for check in checks] == ["spacing", "narrow_strip", "gap_to_paving"]
    assert {check.verdict for check in checks} == {Placed.OK}
    assert {check.remedy for check in checks} == {""}
    assert [check.group for check in checks] == [0, None, None]


# 30 TAC 344.62: a tenth of the radius, 48 in, 4 in.
@pytest.mark.parametrize(
    ("changes", "topic", "verdict"),
    [
        ({"spacing_m": 16.5 * FT_M}, "spacing", "ok"),
        ({"spacing_m": 16.6 * FT_M}, "spacing", "not_ok"),
        ({"spacing_m": 13.4 * FT_M}, "spacing", "not_ok"),
        ({"spacing_m": None}, "spacing", "unknown"),
        ({"groups": (replace(SPRAY, throw_m=None),)}, "spacing", "unknown"),
        ({"groups": ()}, "spacing", "unknown"),
        # A fifth of the rated pressure either way.
        ({"running_kpa": 36 * PSI_KPA}, "spacing", "ok"),
        ({"running_kpa": 37 * PSI_KPA}, "spacing", "unknown"),
        ({"running_kpa": 23 * PSI_KPA}, "spacing", "unknown"),
        ({"running_kpa": None}, "spacing", "ok"),
        ({"strip_width_m": 47.9 * IN_M}, "narrow_strip", "not_ok"),
        ({"strip_width_m": None}, "narrow_strip", "unknown"),
        ({"is_bounded_by_paving": None}, "narrow_strip", "unknown"),
        ({"is_bounded_by_paving": False, "strip_width_m": 0.1}, "narrow_strip", "ok"),
        ({"gap_m": 3.9 * IN_M}, "gap_to_paving", "not_ok"),
        ({"gap_m": None}, "gap_to_paving", "unknown"),
        ({"gap_m": None, "is_bounded_by_paving": False}, "gap_to_paving", "ok"),
    ],
)
def test_one_change_moves_one_verdict(changes, topic, verdict):
    found = verdicts(SOUND, **changes)

    assert found[topic] == verdict
    others = {name: word for name, word in found.items() if name != topic}
    if "is_bounded_by_paving" not in changes:
        assert set(others.values()) == {"ok"}


def test_what_is_not_in_order_or_unknown_has_a_cure():
    for changes in ({"spacing_m": None, "strip_width_m": None, "gap_m": None},
                    {"spacing_m": 9.0, "strip_width_m": 0.3, "gap_m": 0.01}):  # fmt: skip
        for check in placement_checks(replace(SOUND, **changes)):
            assert check.verdict is not Placed.OK
            assert check.remedy.endswith(".")


def test_too_far_and_too_near_have_each_their_cure():
    far, near = (placement_checks(replace(SOUND, spacing_m=x * FT_M))[0] for x in (20, 10))

    assert ("33% farther" in far.sentence, "add heads" in far.remedy) == (True, True)
    # The cure was once "shorter nozzles", which may open gaps. 30 TAC 344.62 wants a tenth; that
    # overlap waters no worse, and better in wind, is common practice.
    assert "33% nearer than they throw; 30 TAC 344.62 allows 10%" in near.sentence
    assert "Overlap is no fault as such" in near.remedy
    assert "only if water is thrown off the lawn" in near.remedy


def test_a_gap_within_the_rule_is_told_all_the_same():
    (spacing, *_) = placement_checks(replace(SOUND, spacing_m=16 * FT_M))

    assert spacing.verdict is Placed.OK
    assert "no head reaches the next" in spacing.sentence


def test_each_group_that_throws_is_looked_at_and_drip_is_not():
    drip = HeadGroupFacts(kind=HeadKind.DRIP, count=100, rated_flow_l_min=0.03)
    short = replace(SPRAY, throw_m=10 * FT_M)

    checks = placement_checks(replace(SOUND, groups=(drip, SPRAY, short)))

    spacing = [(c.group, c.verdict.value) for c in checks if c.topic.value == "spacing"]
    assert spacing == [(1, "ok"), (2, "not_ok")]


@pytest.mark.parametrize("kind", [HeadKind.DRIP, HeadKind.BUBBLER])
def test_water_that_is_not_thrown_may_stand_anywhere(kind):
    facts = PlacementFacts(kind=kind, strip_width_m=0.1, is_bounded_by_paving=True, gap_m=0.0)

    assert set(verdicts(facts).values()) == {"ok"}


def test_a_sprinkler_on_a_hose_stands_where_it_is_set_but_not_in_a_strip():
    facts = PlacementFacts(
        kind=HeadKind.HOSE_END, strip_width_m=0.5, is_bounded_by_paving=True, gap_m=0.0
    )

    assert verdicts(facts) == {"spacing": "ok", "narrow_strip": "not_ok", "gap_to_paving": "ok"}


def test_another_region_has_another_rule():
    wider = replace(TEXAS_PLACEMENT, least_gap_m=0.3, source="a local rule")

    assert placement_checks(SOUND, wider)[2].verdict is Placed.NOT_OK


def test_refuses_lengths_that_cannot_be():
    for changes in ({"spacing_m": 0.0}, {"strip_width_m": -1.0}, {"gap_m": float("nan")}):
        with pytest.raises(InvalidInputError):
            placement_checks(replace(SOUND, **changes))
