"""Causes and their evidence: what a sign does, and what the lack of one may never do."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audits.domain.diagnosis import (
    LISTED_FROM,
    CauseKind,
    FaultSeen,
    NozzleGroup,
    ZoneEvidence,
    diagnose,
    suspicions,
)
from audits.domain.diagnosis_sentences import REPAIRS, SIGN_SENTENCES
from audits.domain.diagnosis_signs import SignCode, signs
from audits.domain.diagnosis_weights import PRIOR, WEIGHTS
from audits.domain.faults import FaultKind, Severity
from properties.domain.errors import InvalidInputError
from properties.domain.site import Exposure, HeadKind

SHARES = st.floats(0.0, 1.0)
PRESSURES = st.floats(20.0, 900.0)
FLOWS = st.floats(1.0, 200.0)
MONTHLY = st.lists(st.none() | st.floats(0.5, 80.0), min_size=12, max_size=12).map(tuple)
FINDINGS = st.lists(
    st.builds(
        FaultSeen,
        kind=st.sampled_from(FaultKind),
        count=st.integers(1, 5),
        is_mended=st.booleans(),
        severity=st.none() | st.sampled_from(Severity),
    ),
    max_size=4,
).map(tuple)
GROUPS = st.lists(
    st.builds(
        NozzleGroup,
        kind=st.sampled_from([HeadKind.SPRAY, HeadKind.ROTOR]),
        count=st.integers(1, 9),
        flow_l_min=st.none() | st.floats(0.5, 20.0),
        arc_deg=st.none() | st.sampled_from([90.0, 180.0, 360.0]),
        throw_m=st.none() | st.floats(2.0, 12.0),
    ),
    max_size=4,
).map(tuple)
CUPS = st.lists(
    st.tuples(st.floats(0.0, 40.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0)),
    min_size=12,
    max_size=24,
)


@st.composite
def partial_evidence(draw):
    cups = draw(st.just([]) | CUPS)
    low, high = sorted(draw(st.tuples(st.floats(1.0, 90.0), st.floats(1.0, 90.0))))
    maybe = lambda strategy: draw(st.none() | strategy)  # noqa: E731
    return ZoneEvidence(
        head_kind=draw(st.sampled_from(HeadKind)), du_lq=maybe(SHARES),
        rate_interval_mm_h=maybe(st.just((low, high))), nominal_rate_mm_h=maybe(FLOWS),
        depths_mm=tuple(cup[0] for cup in cups), positions_m=tuple(cup[1:] for cup in cups),
        metered_flow_l_min=maybe(FLOWS), meter_error=maybe(st.floats(0.0, 0.2)),
        nozzle_flow_l_min=maybe(FLOWS), caught_share=maybe(SHARES),
        static_kpa=maybe(PRESSURES), running_kpa=maybe(PRESSURES), rated_kpa=maybe(PRESSURES),
        groups=draw(GROUPS), spacing_m=maybe(st.floats(2.0, 14.0)), findings=draw(FINDINGS),
        exposure=maybe(st.sampled_from(Exposure)), weekly_found_mm=draw(st.just(()) | MONTHLY),
        weekly_needed_mm=draw(st.just(()) | MONTHLY), has_runoff=maybe(st.booleans()),
        has_wet_spots=maybe(st.booleans()), has_dry_spots=maybe(st.booleans()),
        wind_m_s=maybe(st.floats(0.0, 6.0)), field_du_lq=maybe(SHARES),
    )  # fmt: skip


def unknown(name: str) -> object:
    return next(field.default for field in fields(ZoneEvidence) if field.name == name)


OPTIONAL = [field.name for field in fields(ZoneEvidence) if field.name != "head_kind"]
# With no error given the usual one holds: that is other evidence, not less of it.
TAKEN_AWAY = [name for name in OPTIONAL if name != "meter_error"]


def kinds(evidence: ZoneEvidence) -> list[CauseKind]:
    return [cause.kind for cause in diagnose(evidence)]


def test_nothing_known_gives_no_cause():
    assert diagnose(ZoneEvidence(head_kind=HeadKind.SPRAY)) == ()
    assert suspicions(ZoneEvidence(head_kind=HeadKind.SPRAY)) == ()


@pytest.mark.parametrize(
    ("evidence", "first"),
    [
        ({"findings": (FaultSeen(kind=FaultKind.TURNED),)}, CauseKind.LEANING_OR_TURNED_HEAD),
        ({"running_kpa": 400.0, "rated_kpa": 210.0}, CauseKind.PRESSURE_TOO_HIGH),
        ({"running_kpa": 110.0, "rated_kpa": 210.0}, CauseKind.TOO_MANY_HEADS),
        ({"metered_flow_l_min": 60.0, "nozzle_flow_l_min": 45.0}, CauseKind.LEAK),
        ({"metered_flow_l_min": 36.0, "nozzle_flow_l_min": 45.0}, CauseKind.CLOGGED_OR_WORN_NOZZLE),
        (
            {"caught_share": 0.5, "metered_flow_l_min": 45.0, "nozzle_flow_l_min": 45.0},
            CauseKind.OVERSPRAY,
        ),
        (
            {"weekly_found_mm": (30.0,) * 12, "weekly_needed_mm": (15.0,) * 12},
            CauseKind.OVERWATERING,
        ),
        (
            {"weekly_found_mm": (8.0,) * 12, "weekly_needed_mm": (20.0,) * 12},
            CauseKind.UNDERWATERING,
        ),
        (
            {"spacing_m": 5.0, "groups": (NozzleGroup(kind=HeadKind.SPRAY, throw_m=4.0),)},
            CauseKind.POOR_SPACING,
        ),
        (
            {"groups": (NozzleGroup(kind=HeadKind.SPRAY), NozzleGroup(kind=HeadKind.ROTOR))},
            CauseKind.MIXED_HEADS,
        ),
        (
            {
                "groups": (
                    NozzleGroup(kind=HeadKind.SPRAY, flow_l_min=4.0, arc_deg=180.0, throw_m=4.0),
                    NozzleGroup(kind=HeadKind.SPRAY, flow_l_min=4.0, arc_deg=90.0, throw_m=4.0),
                )
            },
            CauseKind.WRONG_NOZZLE,
        ),
        ({"findings": (FaultSeen(kind=FaultKind.SUNKEN),)}, CauseKind.SUNKEN_OR_BLOCKED_HEAD),
    ],
)
def test_one_plain_sign_names_its_cause_alone(evidence, first):
    causes = diagnose(ZoneEvidence(head_kind=HeadKind.SPRAY, **evidence))

    assert [cause.kind for cause in causes] == [first]
    assert causes[0].repair == REPAIRS[first]


def test_strength_is_the_prior_and_the_weights_added_up():
    # By hand: 273 kPa is 30 % over 210, the limit 20 %: 1.5 times, so the force is
    # 1/6 + 5/6 * (1.5^2 - 1) / (1.6^2 - 1) = 0.83440.
    evidence = ZoneEvidence(head_kind=HeadKind.SPRAY, running_kpa=273.0, rated_kpa=210.0)
    weight = WEIGHTS[CauseKind.PRESSURE_TOO_HIGH][SignCode.PRESSURE_OVER_RATED]
    log_odds = PRIOR + 0.83440 * weight

    (cause,) = diagnose(evidence)

    assert cause.strength == pytest.approx(1 / (1 + 2.718281828**-log_odds), abs=1e-4)
    assert cause.evidence[0].number == 273.0
    assert cause.evidence[0].limit == pytest.approx(252.0)
    assert cause.evidence[0].quantity == "pressure"


def test_mist_without_pressure_to_make_it_is_not_listed():
    seen = ZoneEvidence(
        head_kind=HeadKind.SPRAY, findings=(FaultSeen(kind=FaultKind.MISTING),), rated_kpa=210.0
    )

    assert kinds(seen) == [CauseKind.PRESSURE_TOO_HIGH]
    assert kinds(replace(seen, running_kpa=215.0)) == []
    (refuted,) = suspicions(replace(seen, running_kpa=215.0))
    assert [item.code for item in refuted.against] == [SignCode.PRESSURE_AS_RATED]


def test_a_fault_mended_on_the_spot_counts_half():
    fault = FaultSeen(kind=FaultKind.LEANING)
    seen = ZoneEvidence(head_kind=HeadKind.SPRAY, findings=(fault,))
    mended = replace(seen, findings=(replace(fault, is_mended=True),))

    (full,), (half,) = suspicions(seen)[0].evidence, suspicions(mended)[0].evidence

    assert half.weight == pytest.approx(full.weight / 2)


def test_months_of_which_either_side_is_unknown_do_not_count():
    found = (None, 30.0) + (None,) * 10
    needed = (5.0, None) + (10.0,) * 10
    evidence = ZoneEvidence(
        head_kind=HeadKind.SPRAY, weekly_found_mm=found, weekly_needed_mm=needed
    )

    assert signs(evidence) == ()


def test_a_shade_zone_on_the_minutes_of_the_sun_is_told_so():
    evidence = ZoneEvidence(
        head_kind=HeadKind.SPRAY, exposure=Exposure.FULL_SHADE,
        weekly_found_mm=(30.0,) * 12, weekly_needed_mm=(15.0,) * 12,
    )  # fmt: skip

    (cause,) = diagnose(evidence)

    assert cause.evidence[0].code == SignCode.MORE_THAN_SHADE_NEEDS
    assert cause.evidence[0].number == pytest.approx(2.0)


def test_every_sign_every_fault_and_every_cause_has_its_words():
    assert set(SIGN_SENTENCES) == set(SignCode)
    assert set(REPAIRS) == set(WEIGHTS) == set(CauseKind)
    assert all(any(w > 0 for w in weights.values()) for weights in WEIGHTS.values())
    assert not any(ch.isdigit() for words in SIGN_SENTENCES.values() for ch in words)


@given(partial_evidence())
def test_a_cause_never_appears_without_evidence(evidence):
    shown = {str(sign.code) for sign in signs(evidence)}

    for cause in diagnose(evidence):
        assert cause.evidence
        assert LISTED_FROM <= cause.strength <= 1.0
        assert all(item.weight > 0 and item.code in shown for item in cause.evidence)
        assert all(item.weight < 0 for item in cause.against)


@given(partial_evidence(), st.sets(st.sampled_from(TAKEN_AWAY), min_size=1))
def test_less_evidence_never_invents_a_cause(evidence, taken):
    less = replace(evidence, **{name: unknown(name) for name in taken})
    suspected = {cause.kind: cause for cause in suspicions(evidence)}

    for cause in diagnose(less):
        # What it rests on shows in the fuller record too, so no cause comes from not knowing.
        assert cause.kind in suspected
        # And it was listed before, unless what was taken spoke against it or had the wind's part.
        if not suspected[cause.kind].against and "wind_m_s" not in taken:
            assert cause.strength <= suspected[cause.kind].strength + 1e-9


@given(partial_evidence(), st.randoms(use_true_random=False))
def test_the_order_of_cups_heads_and_findings_does_not_matter(evidence, random):
    pairs = list(zip(evidence.depths_mm, evidence.positions_m, strict=True))
    groups, findings = list(evidence.groups), list(evidence.findings)
    for items in (pairs, groups, findings):
        random.shuffle(items)
    shuffled = replace(
        evidence, groups=tuple(groups), findings=tuple(findings),
        depths_mm=tuple(d for d, _ in pairs), positions_m=tuple(p for _, p in pairs),
    )  # fmt: skip

    before, after = diagnose(evidence), diagnose(shuffled)

    assert [c.kind for c in before] == [c.kind for c in after]
    assert [c.strength for c in before] == pytest.approx([c.strength for c in after])


@settings(max_examples=60)
@given(partial_evidence(), st.sampled_from([0.5, 2.0]))
def test_a_zone_twice_as_large_or_strong_has_the_same_causes(evidence, factor):
    # Powers of two scale floats exactly, so that no comparison sits on the fence.
    def scaled(name: str) -> float | None:
        value = getattr(evidence, name)
        return None if value is None else value * factor

    names = ("metered_flow_l_min", "nozzle_flow_l_min", "static_kpa", "running_kpa", "rated_kpa")
    larger = replace(
        evidence, **{name: scaled(name) for name in names},
        depths_mm=tuple(d * factor for d in evidence.depths_mm),
        positions_m=tuple((x * factor, y * factor) for x, y in evidence.positions_m),
    )  # fmt: skip

    assert [(c.kind, c.strength) for c in diagnose(evidence)] == [
        (c.kind, c.strength) for c in diagnose(larger)
    ]


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"du_lq": 1.2}, "out-of-range"),
        ({"running_kpa": float("nan")}, "out-of-range"),
        ({"weekly_found_mm": (1.0,) * 11}, "not-twelve-months"),
        ({"rate_interval_mm_h": (20.0, 10.0)}, "bad-interval"),
        ({"depths_mm": (1.0, 2.0), "positions_m": ((0.0, 0.0),)}, "places-and-cups"),
        ({"cups": 2.5}, "not-whole"),
    ],
)
def test_evidence_that_cannot_be_right_is_refused(wrong, code):
    with pytest.raises(InvalidInputError) as refusal:
        ZoneEvidence(head_kind=HeadKind.SPRAY, **wrong)

    assert refusal.value.code == code
    assert refusal.value.field in wrong
