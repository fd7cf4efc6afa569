"""When a client hears that the weather asks for something else."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.change_worth import FAR_PERCENT, NIGHTS, Advice, next_advice

FIRST = dt.date(2026, 7, 1)


def told(percents, first=FIRST, advice=None):
    """Return the percentages told, night by night; None for a night without news."""
    advice, news = advice or Advice(), []
    for night, percent in enumerate(percents):
        advice, is_told = next_advice(advice, percent, first + dt.timedelta(days=night))
        news.append(advice.percent if is_told else None)
    return news


def test_three_far_nights_are_told_on_the_third():
    assert told([100, 130, 130, 135, 135, 135]) == [None, None, None, 135, None, None]


def test_two_hot_nights_are_no_news():
    assert told([130, 130, 105, 130, 130, 100]) == [None] * 6


def test_he_goes_by_what_he_was_told():
    assert told([130] * 3 + [115] * 5) == [None, None, 130] + [None] * 5
    assert told([130] * 3 + [110] * 5) == [None, None, 130, None, None, 110, None, None]


def test_a_turn_to_the_other_side_begins_the_count_anew():
    assert told([130, 130, 70, 70, 130, 70, 70, 70]) == [None] * 7 + [70]


def test_the_notice_of_a_month_sets_it_back_to_what_that_says():
    june = dt.date(2026, 6, 27)

    assert told([130, 130, 130, 130, 130, 130, 130], first=june) == [
        None, None, 130, None, None, None, 130,
    ]  # fmt: skip


def test_a_night_twice_is_once():
    advice, _ = next_advice(Advice(), 130, FIRST)
    for _ in range(5):
        again, is_told = next_advice(advice, 130, FIRST)
        assert (again, is_told) == (advice, False)


def test_where_nothing_is_watered_there_is_no_news():
    assert told([0] * 6) == [None] * 6


@given(st.lists(st.integers(0, 300), max_size=31))
def test_news_is_far_from_what_he_went_by_and_never_comes_thick(percents):
    went_by, last = 100, -NIGHTS
    for night, news in enumerate(told(percents)):
        if news is not None:
            assert abs(news - went_by) >= FAR_PERCENT
            assert night - last >= NIGHTS
            went_by, last = news, night


@pytest.mark.parametrize("percent", [-5, 1001])
def test_what_cannot_be_is_refused(percent):
    with pytest.raises(InvalidInputError) as refusal:
        next_advice(Advice(), percent, FIRST)

    assert refusal.value.field == "percent"
