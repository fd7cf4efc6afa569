from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from reports.domain.audit_summary import Cup, ZoneSeason, driest_quarter
from tests.reports.examples import (
    FRONT_CUPS_MM,
    five_mends,
    make_season,
    make_summary,
    make_zone,
)


def test_refuses_two_zones_of_one_number():
    with pytest.raises(InvalidInputError, match="same number"):
        make_summary(zones=(make_zone(1), make_zone(1)), season=())


def test_refuses_a_season_of_a_zone_it_does_not_hold():
    with pytest.raises(InvalidInputError, match="zone 9"):
        make_summary(zones=(make_zone(1),), season=(make_season(9),))


def test_refuses_a_season_that_is_not_january_to_december():
    months = make_season().months

    for wrong in (months[:11], months[::-1]):
        with pytest.raises(InvalidInputError, match="January to December"):
            ZoneSeason(zone=1, months=wrong)


def test_refuses_half_a_place_for_a_cup():
    with pytest.raises(InvalidInputError, match="one of its two coordinates"):
        Cup(depth_mm=5.0, x_m=1.0)


def test_only_zones_with_single_readings_can_be_drawn():
    zones = (make_zone(1), make_zone(2, cups_detail=(), pooled=True, du_lq=None))

    assert [zone.number for zone in make_summary(zones=zones, season=()).drawn_zones] == [1]


def test_the_soak_to_remember_is_the_longest_of_months_with_several_runs():
    months = make_season(cycles=2).months
    longer = replace(months[6], soak_min=55.0)
    single = replace(months[7], cycles=1, soak_min=90.0)
    season = ZoneSeason(zone=1, months=(*months[:6], longer, single, *months[8:]))

    assert season.longest_soak_min == 55.0
    assert make_season(cycles=1).longest_soak_min == 0.0


def test_runs_that_need_no_soak_between_them_have_none_to_remember():
    months = tuple(replace(month, soak_min=0.0) for month in make_season(cycles=2).months)

    assert ZoneSeason(zone=1, months=months).longest_soak_min == 0.0


def test_a_season_has_rest_as_soon_as_one_month_is_not_watered():
    months = tuple(replace(month, days_between=3) for month in make_season().months)

    assert make_season().has_rest
    assert not ZoneSeason(zone=1, months=months).has_rest


@pytest.mark.parametrize(
    ("what", "label", "details"),
    [
        ("Runoff. Shorten the cycles. Let it soak.", "Runoff.", "Shorten the cycles. Let it soak."),
        ("Replace the head at the walk", "Replace the head at the walk", ""),
        ("Runoff.", "Runoff.", ""),
        ("", "", ""),
    ],
)
def test_the_first_sentence_of_a_repair_is_its_label(what, label, details):
    mend = replace(five_mends()[0], what=what)

    assert (mend.label, mend.details) == (label, details)


# Arithmetic: 88 / 44.
@pytest.mark.parametrize(
    ("found", "needed", "ratio"),
    [
        (88.0, 44.0, 2.0),
        (0.0, 44.0, 0.0),
        (None, 44.0, None),
        (88.0, None, None),
        (88.0, 0.0, None),
    ],
)
def test_supply_over_need_is_unknown_where_either_is(found, needed, ratio):
    assert make_zone(found_weekly_mm=found, needed_weekly_mm=needed).supply_ratio == ratio


def test_a_season_is_estimated_as_soon_as_one_month_is():
    months = make_season().months
    season = ZoneSeason(zone=1, months=(replace(months[0], estimated=True), *months[1:]))

    assert season.is_estimated
    assert not make_season().is_estimated


def test_the_driest_quarter_of_the_example_is_its_three_driest_cups():
    assert driest_quarter(FRONT_CUPS_MM) == {5, 8, 11}


# Round half up: 5 / 4 = 1.25 -> 1; 6 / 4 = 1.5 -> 2; 10 / 4 = 2.5 -> 3; at least one.
@pytest.mark.parametrize(("cups", "size"), [(1, 1), (4, 1), (5, 1), (6, 2), (10, 3), (24, 6)])
def test_the_driest_quarter_is_rounded_half_up(cups, size):
    assert driest_quarter([7.0] * cups) == frozenset(range(size))


@given(st.lists(st.floats(0, 300), min_size=1, max_size=40))
def test_no_cup_outside_the_driest_quarter_is_drier_than_one_inside(depths):
    inside = driest_quarter(depths)
    outside = set(range(len(depths))) - inside

    assert max(depths[place] for place in inside) <= min(
        (depths[place] for place in outside), default=300.0
    )
