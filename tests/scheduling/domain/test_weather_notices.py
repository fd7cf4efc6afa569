from __future__ import annotations

import datetime as dt

import pytest

from scheduling.domain.weather_notices import (
    ZoneApart,
    change_content,
    drought_content,
    heat_content,
)
from scheduling.domain.weather_words import HeatRun

JULY = dt.date(2026, 7, 1)


def words(content) -> str:
    return " ".join(p for section in content.sections for p in section.paragraphs)


def test_a_change_says_the_percentage_and_the_days_for_clocks_without_one():
    content = change_content(
        "Holm garden", 130, [ZoneApart("1 Front lawn", 3, 2), ZoneApart("2 Pots", 2, 1)],
        goes_by=100, set_himself=False,
    )  # fmt: skip

    assert content.subject == "Water more often for now: Holm garden"
    assert "130 % of what a usual day" in content.summary
    assert content.sections[0].table.rows == (
        ("1 Front lawn", "every 3 days", "every 2 days"), ("2 Pots", "every 2 days", "daily"),
    )  # fmt: skip
    assert "Local watering rules" in words(content)
    assert not content.has_sheet


def test_less_is_told_as_less_and_without_days_that_change_none_are_listed():
    content = change_content("Holm garden", 70, [], goes_by=100, set_himself=False)

    assert content.subject.startswith("Water less often")
    assert content.sections[0].table is None
    assert "change the days" not in words(content)


def test_who_set_it_himself_is_asked():
    asked, told = (
        change_content("x", 130, [], goes_by=100, set_himself=himself) for himself in (True, False)
    )

    assert "does it still suit?" in words(asked)
    assert "suit" not in words(told)


@pytest.mark.parametrize(
    ("goes_by", "percent", "subject", "weather"),
    [
        (150, 120, "Water less often for now: x", "drier and hotter than usual"),
        (150, 100, "Water less often for now: x", "as usual again"),
        (60, 100, "Water more often for now: x", "as usual again"),
        (60, 80, "Water more often for now: x", "cooler than usual"),
    ],
)
def test_more_and_less_are_against_what_he_goes_by(goes_by, percent, subject, weather):
    content = change_content("x", percent, [], goes_by=goes_by, set_himself=False)

    assert content.subject == subject
    assert weather in content.summary
    assert f"{percent} %" in content.summary


def test_heat_comes_with_its_care():
    heat = HeatRun(JULY, JULY + dt.timedelta(days=3), 4, 39.0, 35.0, 4)

    content = heat_content("Holm garden", heat, "metric")

    assert content.summary == heat.sentence("metric")
    assert "early in the morning" in words(content)


def test_a_drought_stage_names_its_rules():
    content = drought_content(
        "Holm garden", "Stage 2", "Tallgrass water", JULY, ["Odd numbers on Wednesday"], "us"
    )

    assert content.summary == "From July 1 Tallgrass water has its stage 'Stage 2' on."
    assert content.sections[0].paragraphs == ("Odd numbers on Wednesday.",)


def test_a_stage_without_rules_sends_to_the_district():
    content = drought_content("Holm garden", "Stage 2", "Tallgrass water", JULY, [], "us")

    assert "Ask the district" in words(content)
