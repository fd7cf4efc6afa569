"""Which station speaks for a place: distance and height, recent days, enough days, ties."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.distance import great_circle_km
from scheduling.domain.station_choice import (
    Candidate,
    Place,
    effective_distance_km,
    ranked_stations,
)

HERE = Place(40.0, -100.0, 500.0)
KM_NORTH = 1 / 111.195  # degrees of a meridian, sphere of 6371.0088 km: 2 pi R / 360
TODAY = dt.date(2026, 6, 10)


def station(code, km, *, elevation_m=500.0, days_old=0, enough=True):
    place = Place(40.0 + km * KM_NORTH, -100.0, elevation_m)
    last = None if days_old is None else TODAY - dt.timedelta(days=days_old)
    return Candidate(code, place, last, enough)


def codes(*candidates, here=HERE):
    return [each.code for each in ranked_stations(here, candidates, farthest_km=100.0)]


# Arithmetic: 3 km along the ground and 120 m up are 3 + 12 km.
def test_ten_metres_of_height_count_as_a_kilometre():
    there = Place(40.0 + 3 * KM_NORTH, -100.0, 620.0)

    assert effective_distance_km(HERE, there) == pytest.approx(15.0, abs=1e-3)
    assert effective_distance_km(there, HERE) == pytest.approx(15.0, abs=1e-3)


@pytest.mark.parametrize(("ours", "theirs"), [(None, 900.0), (500.0, None), (None, None)])
def test_an_unknown_height_leaves_the_distance_along_the_ground(ours, theirs):
    here, there = Place(40.0, -100.0, ours), Place(40.1, -100.2, theirs)

    along = great_circle_km((40.0, -100.0), (40.1, -100.2))

    assert effective_distance_km(here, there) == along


def test_a_station_on_the_hill_gives_way_to_a_farther_one_in_the_valley():
    hill, valley = station("HILL", 5, elevation_m=900.0), station("VALLEY", 30)

    assert codes(hill, valley) == ["VALLEY", "HILL"]
    assert codes(hill, valley, here=Place(40.0, -100.0)) == ["HILL", "VALLEY"]


def test_a_nearer_station_that_ceased_gives_way_to_one_that_reports():
    assert codes(station("OLD", 5, days_old=31), station("NEW", 60)) == ["NEW", "OLD"]
    assert codes(station("LATE", 5, days_old=30), station("NEW", 60)) == ["LATE", "NEW"]


def test_recent_is_meant_against_the_newest_in_reach_not_against_the_clock():
    both_old = [station("A", 5, days_old=900), station("B", 60, days_old=890)]
    far_and_new = station("FAR", 150)

    assert codes(*both_old, far_and_new) == ["A", "B"]
    assert ranked_stations(HERE, both_old, farthest_km=100.0)[0].is_recent


def test_a_long_record_comes_before_a_recent_short_one():
    short, ceased = station("SHORT", 2, enough=False), station("CEASED", 50, days_old=400)
    bare = station("BARE", 1, days_old=None, enough=False)

    assert codes(bare, short, ceased) == ["CEASED", "SHORT", "BARE"]


def test_equal_stations_are_settled_by_their_code():
    assert codes(station("B", 5), station("A", 5)) == ["A", "B"]


def test_the_reach_is_measured_along_the_ground():
    high = station("HIGH", 99.9, elevation_m=2500.0)

    assert codes(high, station("OUT", 100.1)) == ["HIGH"]
    assert ranked_stations(HERE, [high], farthest_km=100.0)[0].effective_km > 200
    assert codes() == []


@pytest.mark.parametrize(
    ("here", "field"),
    [(Place(91.0, 0.0), "latitude"), (Place(0.0, 181.0), "longitude")],
)
def test_a_place_off_the_globe_is_refused(here, field):
    with pytest.raises(InvalidInputError) as refusal:
        codes(station("A", 5), here=here)

    assert refusal.value.field == field


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(
        st.builds(
            station,
            st.sampled_from("ABCDEFGH"),
            st.floats(0, 140),
            elevation_m=st.none() | st.floats(0, 2000),
            days_old=st.none() | st.integers(0, 90),
            enough=st.booleans(),
        ),
        max_size=8,
        unique_by=lambda each: each.code,
    ),
    st.randoms(use_true_random=False),
)
def test_the_ranking_does_not_depend_on_the_order_given(candidates, random):
    shuffled = list(candidates)
    random.shuffle(shuffled)

    ranked = ranked_stations(HERE, candidates, farthest_km=100.0)

    assert ranked == ranked_stations(HERE, shuffled, farthest_km=100.0)
    assert all(each.distance_km <= 100 for each in ranked)
    assert all(each.effective_km >= each.distance_km for each in ranked)
