"""What a client reads each month."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.domain.monthly_notice import (
    ControllerSteps,
    MonthlyFacts,
    ZoneStep,
    monthly_content,
    period_due,
)

FRONT = ZoneStep("1 Front lawn", "every 2 days, 14 min", "daily, 14 min")
BEDS = ZoneStep("2 Beds", "every 5 days, 30 min", "every 5 days, 30 min", is_estimated=True)
FACTS = MonthlyFacts(
    property_id="p1", place="Holm garden", first=dt.date(2026, 7, 1), et0_before_mm=6.0,
    et0_mm=7.2, controllers=(ControllerSteps("Garage", (FRONT, BEDS)),),
)  # fmt: skip


def facts(*zones: ZoneStep, himself=None, **changes) -> MonthlyFacts:
    return replace(FACTS, controllers=(ControllerSteps("Garage", zones, himself),), **changes)


def test_it_says_what_to_change_what_it_was_and_why():
    content = monthly_content(FACTS, "metric")

    assert content.subject == "Water more in July: Holm garden"
    # Arithmetic: 7.2 over 6.0 is 20 % more.
    assert content.summary == (
        "It gets warmer: in a usual July the air takes 7 mm of water a day from a lawn, 20% more "
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
    (entry,) = monthly_content(FACTS, "metric").calendar

    assert (entry.uid, entry.date) == ("p1-2026-07", dt.date(2026, 7, 1))
    assert monthly_content(facts(BEDS), "metric").calendar == ()


def test_units_are_the_readers():
    assert "0.28 in of water a day" in monthly_content(FACTS, "us").summary


@pytest.mark.parametrize(
    ("zones", "et0_mm", "subject", "gist"),
    [
        ((BEDS,), 7.2, "Watering stays as it is in July", "Nothing has to be changed"),
        ((FRONT,), 3.0, "Water less in July", "It gets cooler"),
        ((FRONT,), 6.1, "New settings for July", "As June so July"),
        ((replace(FRONT, now="off"),), 3.0, "Switch off for July", "Please change one zone"),
        ((replace(FRONT, now="off"), BEDS), 3.0, "Water less in July", "Please change one zone"),
        ((FRONT, FRONT), 7.2, "Water more in July", "Please change 2 zones"),
    ],
)
def test_the_heading_is_what_there_is_to_do(zones, et0_mm, subject, gist):
    content = monthly_content(facts(*zones, et0_mm=et0_mm), "metric")

    assert content.subject == f"{subject}: Holm garden"
    assert gist in content.summary


def test_in_cooler_weather_the_signs_of_too_much_are_told():
    watch = monthly_content(facts(FRONT, et0_mm=3.0), "metric").sections[-1]

    assert "too much" in watch.paragraphs[0]


def test_who_set_it_himself_is_asked_and_not_told():
    content = monthly_content(facts(FRONT, himself=dt.date(2026, 6, 20)), "metric")

    assert "Please change" not in content.summary
    assert "please look whether it still suits" in content.summary
    assert "You changed this controller yourself on 20 June." in content.sections[0].paragraphs[0]


def test_a_place_with_line_ends_and_fixed_spaces_in_its_name_still_has_a_subject():
    content = monthly_content(replace(FACTS, place="Holm\u00a0garden\r\nBcc: x"), "metric")

    assert content.subject == "Water more in July: Holm garden Bcc: x"


def test_a_place_with_an_endless_name_still_has_a_subject():
    content = monthly_content(replace(FACTS, place="x" * 300), "metric")

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
