from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from scheduling.domain.margin import run_time_margin
from scheduling.domain.zone_facts import WateringLimits
from tests.scheduling.domain.zones import FREE, make_zone


def codes(margin):
    return [reason.code for reason in margin.reasons]


@pytest.mark.parametrize(
    ("du_lq", "multiplier"),
    # CAN-13: Irrigation Association scheduling method (2005 onward), form from memory.
    [(0.50, 1.429), (0.55, 1.370), (0.60, 1.316), (0.65, 1.266), (0.70, 1.220), (0.80, 1.136)],
)
def test_a_measured_uniformity_gives_the_published_multiplier(du_lq, multiplier):
    margin = run_time_margin(make_zone(du_lq=du_lq, cups=12), FREE)

    assert margin.multiplier == pytest.approx(multiplier, abs=0.0005)
    assert not margin.assumed
    assert codes(margin) == ["measured-uniformity"]


@pytest.mark.parametrize(
    ("test", "told_by"),
    [
        ({"du_lq": 0.8, "cups": 20, "pooled": True}, "pooled-uniformity"),
        ({"du_lq": 0.8, "cups": None}, "assumed-uniformity"),
        ({"du_lq": None, "cups": 20}, "assumed-uniformity"),
    ],
)
def test_pooled_cups_take_the_published_uniformity_and_say_so(test, told_by):
    # J. Irrig. Drain. Eng. 131(4), 2005: sprays 0.41 in the field; 1/(.4 + .6 x .41).
    margin = run_time_margin(make_zone(assumed_du_lq=0.41, **test), FREE)

    assert margin.multiplier == pytest.approx(1.5480, abs=0.0001)
    assert margin.assumed
    assert not margin.repair_first
    assert codes(margin) == [told_by]


@pytest.mark.parametrize(
    ("emitters", "told_by"), [(20, "emitter-uniformity"), (8, "leaning-emitters")]
)
def test_emitters_are_not_called_cups(emitters, told_by):
    margin = run_time_margin(make_zone(du_lq=0.7, cups=emitters, by_emitters=True), FREE)

    assert codes(margin) == [told_by]
    assert all("cup" not in reason.sentence for reason in margin.reasons)


@pytest.mark.parametrize(("cups", "du_lq"), [(8, 0.85), (4, 0.50)])
def test_fewer_than_twelve_cups_lean_on_the_published_uniformity(cups, du_lq):
    margin = run_time_margin(make_zone(assumed_du_lq=0.41, du_lq=du_lq, cups=cups), FREE)

    blended = (cups * du_lq + (12 - cups) * 0.41) / 12
    assert margin.multiplier == pytest.approx(1 / (0.4 + 0.6 * blended))
    assert margin.assumed
    assert codes(margin) == ["leaning-uniformity"]


def test_few_cups_are_no_evidence_for_a_repair():
    margin = run_time_margin(make_zone(assumed_du_lq=0.41, du_lq=0.0, cups=11), FREE)

    assert margin.multiplier == 1.56
    assert not margin.repair_first
    assert codes(margin) == ["leaning-uniformity", "multiplier-capped"]


def test_beyond_the_cap_repair_comes_before_more_water():
    margin = run_time_margin(make_zone(du_lq=0.39), FREE)

    assert margin.multiplier == 1.56
    assert margin.repair_first
    assert codes(margin) == ["measured-uniformity", "multiplier-capped", "repair-first"]


def test_a_uniformity_of_forty_percent_is_still_within_the_cap():
    margin = run_time_margin(make_zone(du_lq=0.40), FREE)

    assert margin.multiplier == 1.56
    assert not margin.repair_first


def test_an_assumed_uniformity_is_no_evidence_for_a_repair():
    margin = run_time_margin(make_zone(du_lq=None), WateringLimits(max_multiplier=1.4))

    assert margin.multiplier == 1.4
    assert not margin.repair_first
    assert codes(margin) == ["assumed-uniformity", "multiplier-capped"]


@pytest.mark.parametrize(
    ("du_lq", "cups", "multiplier"),
    # Arithmetic: 1 / (0.4 + 0.6 DU) of the better of measured and published, here 0.60.
    [(0.30, 16, 1.3158), (0.75, 16, 1.1765), (0.30, 6, 1.3158)],
)
def test_what_was_measured_before_a_repair_is_the_least_that_the_zone_has(du_lq, cups, multiplier):
    zone = make_zone(du_lq=du_lq, cups=cups, assumed_du_lq=0.60, mended_on=dt.date(2026, 6, 1))

    margin = run_time_margin(zone, FREE)

    assert margin.multiplier == pytest.approx(multiplier, abs=0.0001)
    assert margin.assumed
    assert not margin.repair_first
    assert codes(margin) == ["mended-uniformity"]


def test_a_repair_changes_nothing_where_the_published_uniformity_counts_anyway():
    zone = make_zone(du_lq=0.8, cups=20, pooled=True, mended_on=dt.date(2026, 6, 1))

    assert codes(run_time_margin(zone, FREE)) == ["pooled-uniformity"]


def test_repair_first_is_not_said_again_after_the_repair():
    worn = make_zone(du_lq=0.2, cups=16, assumed_du_lq=0.3)

    before = run_time_margin(worn, FREE)
    after = run_time_margin(replace(worn, mended_on=dt.date(2026, 6, 1)), FREE)

    assert (before.repair_first, after.repair_first) == (True, False)
    assert after.uncapped < before.uncapped
