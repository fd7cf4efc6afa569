"""The published figures as data, and what is assumed from them."""

from __future__ import annotations

import statistics

import pytest

from audits.domain.published_uniformity import (
    LOW_QUARTER_DEVIATIONS,
    QUALITY_DU_LQ,
    Quality,
    assumed_du_lq,
    field_cv,
    meets_new_home_limit,
    quality,
)
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind


@pytest.mark.parametrize(
    ("head_kind", "expected"),
    [
        (HeadKind.ROTOR, 0.49),
        (HeadKind.SPRAY, 0.41),
        (HeadKind.ROTARY_NOZZLE, 0.45),
        (HeadKind.IMPACT, 0.45),
        (HeadKind.HOSE_END, 0.45),
        (None, 0.45),
    ],
)
def test_can_20_assumed_uniformity_is_the_published_field_mean(head_kind, expected):
    # J. Irrig. Drain. Eng. 131(4), Aug 2005, "Analysis of Residential Irrigation Distribution
    # Uniformity" (abstract).
    assert assumed_du_lq(head_kind) == expected


@pytest.mark.parametrize(("head_kind", "earlier"), [(HeadKind.SPRAY, 0.40), (HeadKind.ROTOR, 0.48)])
def test_can_21_earlier_report_of_the_same_work_agrees(head_kind, earlier):
    # Baum, Dukes and Miller 2003, ASAE 032024 (abstract).
    assert assumed_du_lq(head_kind) == pytest.approx(earlier, abs=0.015)


@pytest.mark.parametrize("head_kind", [HeadKind.DRIP, HeadKind.BUBBLER])
def test_refuses_to_assume_a_lawn_uniformity_for_point_heads(head_kind):
    with pytest.raises(InvalidInputError) as refusal:
        assumed_du_lq(head_kind)

    assert refusal.value.code == "no-published-uniformity"


def test_low_quarter_of_a_normal_distribution_lies_1_27_deviations_below_the_mean():
    # Second route: mean of the tail below the quartile is -pdf(quartile) / 0.25.
    normal = statistics.NormalDist()
    tail_mean = normal.pdf(normal.inv_cdf(0.25)) / 0.25

    assert pytest.approx(tail_mean, abs=0.002) == LOW_QUARTER_DEVIATIONS


@pytest.mark.parametrize(
    ("head_kind", "expected"), [(None, 0.433), (HeadKind.ROTOR, 0.402), (HeadKind.SPRAY, 0.465)]
)
def test_field_spread_follows_from_the_published_uniformity(head_kind, expected):
    # (1 - 0.45) / 1.27, (1 - 0.49) / 1.27, (1 - 0.41) / 1.27: arithmetic.
    assert field_cv(head_kind) == pytest.approx(expected, abs=0.0005)


@pytest.mark.parametrize(("uniformity", "passes"), [(0.65, True), (0.649, False), (0.8, True)])
def test_can_22_new_homes_pass_from_65_percent(uniformity, passes):
    # US EPA WaterSense, Guidelines for Irrigation Audits on Labeled New Homes, section A.
    assert meets_new_home_limit(uniformity) is passes


@pytest.mark.parametrize(
    ("head_kind", "percent"),
    [(HeadKind.ROTOR, (80, 70, 65, 60, 50)), (HeadKind.SPRAY, (75, 65, 55, 50, 40))],
)
def test_can_23_each_grade_begins_at_its_limit(head_kind, percent):
    # Irrigation Association 2005 scheduling guide (from memory).
    limits = [value / 100 for value in percent]

    assert list(QUALITY_DU_LQ[head_kind].values()) == limits
    assert [quality(limit, head_kind) for limit in limits] == list(Quality)
    for limit, lower_grade in zip(limits, list(Quality)[1:], strict=False):
        assert quality(limit - 0.001, head_kind) is lower_grade


def test_can_23_what_lies_below_the_last_limit_is_poor_too():
    assert quality(0.2, HeadKind.SPRAY) is Quality.POOR


def test_kinds_without_grades_get_none():
    assert quality(0.9, HeadKind.DRIP) is None
