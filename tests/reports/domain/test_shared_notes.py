from __future__ import annotations

import pytest

from audits.domain.catch_advice import Purpose, advice
from audits.domain.catch_test import CatchTest
from reports.domain.shared_notes import SharedNote, shared_notes
from tests.reports.examples import make_zone

CALM = {"found_weekly_mm": 44.0, "needed_weekly_mm": 44.0}


def said(*advices: tuple[str, ...]):
    zones = [make_zone(place, advice=each, **CALM) for place, each in enumerate(advices, start=1)]
    return [(note.place, note.text) for note in shared_notes(zones)]


def test_too_much_water_is_said_once_to_favour_disease_and_too_little_insects():
    supplies = (88.0, 22.0, 60.0, 44.0, None)
    zones = [
        make_zone(place, found_weekly_mm=found, needed_weekly_mm=44.0)
        for place, found in enumerate(supplies, start=1)
    ]

    assert shared_notes(zones) == (
        SharedNote((1, 3), "Ground that stays wet favours disease."),
        SharedNote((2,), "Plants kept short of water more often suffer from insects."),
    )


def test_the_right_amount_without_advice_is_not_commented():
    assert shared_notes([make_zone(**CALM)]) == ()


def test_equal_advice_is_said_once():
    assert said(("Set 8 cups.",), (), ("Set 8 cups.",)) == [("Zones 1 and 3", "Set 8 cups.")]


def test_advice_that_differs_in_one_figure_lists_the_figures():
    assert said(("Saw 1.5 of 24.",), ("Saw 2.5 of 24.",), ("Saw 1.5 of 24.",)) == [
        ("Zones 1, 2 and 3", "Saw 1.5, 2.5 and 1.5 of 24.")
    ]


@pytest.mark.parametrize(
    "other", ["Cup 3 caught 40%.", "Cup 6 and 7.", "", "6"], ids=["two figures", "words", "-", "6"]
)
def test_advice_that_differs_otherwise_stays_apart(other):
    one = "Cup 6 caught 10%."

    assert said((one,), (other,)) == [("Zone 1", one), ("Zone 2", other)]


def test_two_remarks_on_one_zone_are_not_merged():
    assert said(("Cup 6.", "Cup 7.")) == [("Zone 1", "Cup 6."), ("Zone 1", "Cup 7.")]


def test_the_advice_of_real_tests_reads_well():
    tests = [
        CatchTest(
            cups=cups, duration_min=15.0, mean_depth_mm=9.0, rate_mm_h=36.0,
            rate_interval_mm_h=(36.0, 36.0), depths_mm=(9.0,) * cups,
        )
        for cups in (12, 8)
    ]  # fmt: skip
    advices = [
        tuple(each.sentence for each in advice(test, purpose=Purpose.AUDIT)) for test in tests
    ]

    assert said(*advices) == [
        ("Zones 1 and 2", "An audit takes at least 24 cups, and these tests have 12 and 8.")
    ]
