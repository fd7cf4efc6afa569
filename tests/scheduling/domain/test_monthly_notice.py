"""What a client reads each month."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.domain.monthly_facts import ClientWord, ZoneStep
from scheduling.domain.monthly_notice import FIRST_DAYS, may_begin, monthly_content, period_due
from tests.scheduling.domain.monthly_cases import (
    BEDS,
    DAILY,
    ENGLISH,
    FACTS,
    FRONT,
    OFF,
    facts,
    fitted,
    program,
    setting,
    state,
    told,
)

LESS = ZoneStep("1 Front lawn", setting(1), setting(2))


def content_of(some, system="metric"):
    return monthly_content(some, system, ENGLISH)


def test_it_says_what_to_change_what_it_was_and_why():
    content = content_of(FACTS)

    assert content.subject == "Water more in July: Holm garden"
    # Arithmetic: 7.2 over 6.0 is 20 % more.
    assert content.summary == (
        "It gets warmer: on a usual day in July the air takes 7 mm of water from a lawn, 20 % more "
        "than in June. Please change one zone on the controller."
    )
    garage, watch = content.sections
    assert garage.heading == "Garage"
    assert garage.table.headings == ("Zone", "In June", "From 1 July")
    assert garage.table.rows == (
        ("1 Front lawn", "every 2 days, 14 min", "daily, 14 min"),
        ("2 Beds (estimated)", "every 5 days, 30 min", "as before"),
    )
    assert garage.paragraphs == ("Estimated: these zones have not been measured with cups yet.",)
    assert "too little" in watch.paragraphs[0]
    assert "Local watering rules" in watch.paragraphs[1]
    assert content.has_sheet


def test_the_calendar_has_the_day_on_which_to_set_it():
    (entry,) = content_of(FACTS).calendar

    assert (entry.uid, entry.date) == ("p1-2026-07", dt.date(2026, 7, 1))
    assert content_of(facts(BEDS)).calendar == ()


def test_a_notice_that_comes_late_is_for_the_day_on_which_it_comes():
    content = content_of(replace(FACTS, from_date=dt.date(2026, 7, 14)))

    assert content.calendar[0].date == dt.date(2026, 7, 14)
    assert content.sections[0].table.headings[-1] == "From 14 July"


def test_units_are_the_readers():
    assert "0.28 in of water" in content_of(FACTS, "us").summary


@pytest.mark.parametrize(
    ("zones", "et0_mm", "subject", "gist"),
    [
        ((BEDS,), 7.2, "Watering stays as it is in July", "Nothing has to be changed"),
        ((LESS,), 3.0, "Water less in July", "It gets cooler"),
        ((LESS, FRONT), 6.1, "New settings for July", "July asks for as much as June"),
        ((replace(FRONT, now=OFF),), 3.0, "Switch off for July", "Please change one zone"),
        ((replace(FRONT, now=OFF), BEDS), 3.0, "Water less in July", "Please change one zone"),
        ((FRONT, FRONT), 7.2, "Water more in July", "Please change 2 zones"),
    ],
)
def test_the_heading_is_what_there_is_to_do(zones, et0_mm, subject, gist):
    content = content_of(facts(*zones, et0_mm=et0_mm))

    assert content.subject == f"{subject}: Holm garden"
    assert gist in content.summary


def test_in_cooler_weather_the_signs_of_too_much_are_told():
    watch = content_of(facts(LESS, et0_mm=3.0)).sections[-1]

    assert "too much" in watch.paragraphs[0]


@pytest.mark.parametrize(
    ("now", "then", "subject", "why", "sign"),
    [
        (20, 14, "Water less in July", "more is set than the garden needs", "too little"),
        (14, 20, "Water more in July", "", "too little"),
    ],
)
def test_where_the_minutes_go_against_the_weather_it_says_why(now, then, subject, why, sign):
    each = fitted(state(program(minutes={"3": now})), state(program(minutes={"3": then})))

    content = told(each)

    assert content.subject.startswith(subject)
    assert why in content.summary
    assert ("Until now" in content.summary) == bool(why)
    assert sign in content.sections[-1].paragraphs[1]


def test_in_like_weather_a_setting_that_was_too_little_is_told_so():
    each = fitted(state(program(minutes={"3": 14})), state(program(minutes={"3": 20})))

    content = told(each, et0_mm=6.0)

    assert "Until now less is set than the garden needs." in content.summary
    assert "too much" in content.sections[-1].paragraphs[1]


def test_who_is_told_for_the_first_time_is_told_all():
    first = [replace(zone, was=None) for zone in (FRONT, BEDS)]

    content = content_of(facts(*first, told_month=None))

    assert content.subject == "Your settings for July: Holm garden"
    assert content.summary.endswith("Below stands what to set.")
    assert content.sections[0].table.headings == ("Zone", "From 1 July")
    assert content.sections[0].table.rows[1] == ("2 Beds (estimated)", "every 5 days, 30 min")
    assert content.calendar


def test_a_zone_that_came_since_is_new_among_the_others():
    content = content_of(facts(FRONT, replace(BEDS, was=None)))

    assert content.sections[0].table.rows[1] == (
        "2 Beds (estimated)", "new", "every 5 days, 30 min",
    )  # fmt: skip
    assert "Please change 2 zones" in content.summary


def test_who_set_it_himself_is_asked_and_not_told():
    content = content_of(facts(FRONT, himself=ClientWord(dt.date(2026, 6, 20))))

    assert content.subject == "A question about your settings for July: Holm garden"
    assert "Please change" not in content.summary
    assert "You set Garage yourself: please look whether it still suits." in content.summary
    assert "You changed this controller yourself on 20 June." in content.sections[0].paragraphs[0]
    assert content.sections[0].table.headings == ("Zone", "By our numbers")
    assert content.calendar == ()


def test_of_the_same_change_he_is_not_asked_again():
    himself = ClientWord(dt.date(2026, 6, 20), was_asked=True)

    content = content_of(facts(FRONT, himself=himself))

    assert content.subject == "Our numbers for July: Holm garden"
    assert "You set Garage yourself, and we leave it so." in content.summary
    assert "we leave it so" in content.sections[0].paragraphs[0]
    assert "?" not in content.summary + "".join(content.sections[0].paragraphs)
    assert content.calendar == ()


def test_one_controller_is_asked_about_and_the_other_told():
    own = replace(FACTS.controllers[0], himself=ClientWord(dt.date(2026, 6, 20)))
    other = replace(FACTS.controllers[0], name="Shed")

    content = told(own, other, fitted(state(program()), state(program(pattern=DAILY))))

    assert "You set Garage yourself: please look whether it still suits." in content.summary
    assert "Please change the 2 settings listed below." in content.summary
    assert content.calendar


def test_a_place_with_line_ends_and_fixed_spaces_in_its_name_still_has_a_subject():
    content = content_of(replace(FACTS, place="Holm\u00a0garden\r\nBcc: x"))

    assert content.subject == "Water more in July: Holm garden Bcc: x"


def test_a_place_with_an_endless_name_still_has_a_subject():
    content = content_of(replace(FACTS, place="x" * 300))

    assert len(content.subject) == 120


@pytest.mark.parametrize(
    ("today", "period"),
    [
        ((2026, 6, 1), (2026, 6, 1)), ((2026, 6, 27), (2026, 6, 1)), ((2026, 6, 28), (2026, 7, 1)),
        ((2026, 6, 30), (2026, 7, 1)), ((2026, 12, 28), (2026, 12, 1)),
        ((2026, 12, 29), (2027, 1, 1)), ((2024, 2, 26), (2024, 2, 1)),
        ((2024, 2, 27), (2024, 3, 1)),
    ],
)  # fmt: skip
def test_a_month_is_due_three_days_before_it_begins_and_until_it_nearly_ends(today, period):
    assert period_due(dt.date(*today)) == dt.date(*period)


@given(st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1)))
def test_no_month_is_left_out(day):
    due, next_due = period_due(day), period_due(day + dt.timedelta(days=1))

    assert due.day == 1
    assert next_due == due or next_due == (due + dt.timedelta(days=32)).replace(day=1)


@pytest.mark.parametrize(
    ("today", "period"),
    [
        ((2026, 6, 1), 6), ((2026, 6, 18), 6), ((2026, 6, 19), 7), ((2026, 6, 27), 7),
        ((2026, 6, 28), 7), ((2026, 7, 1), 7), ((2026, 12, 20), 1), ((2026, 2, 16), 2),
        ((2026, 2, 17), 3),
    ],
)  # fmt: skip
def test_a_first_notice_waits_for_the_next_one_when_that_is_near(today, period):
    assert period_due(dt.date(*today), is_first=True).month == period


@given(st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1)))
def test_no_second_notice_follows_the_first_within_days(day):
    first = period_due(day, is_first=True)
    follows = next(
        later
        for later in (day + dt.timedelta(days=ahead) for ahead in range(1, 70))
        if period_due(later) > first
    )

    # Who comes when the notices have just gone out gets his at once.
    assert (follows - day).days >= FIRST_DAYS
    assert may_begin(day) == (first == period_due(day))
