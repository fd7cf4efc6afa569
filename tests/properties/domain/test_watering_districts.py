"""The rules of four districts, by their own words."""

from __future__ import annotations

import datetime as dt
from datetime import date

import pytest

from properties.domain.watering_rules import Purpose
from properties.domain.watering_rules_answers import Refusal, allowed_on
from properties.domain.watering_rules_audience import WaterKind
from properties.domain.watering_rules_spans import allowed_span
from tests.properties.domain.watering_districts import (
    CHICAGO,
    FRI,
    HILLSBOROUGH,
    HOWEY,
    LAGO_VISTA,
    MON,
    SAT,
    ST_JOHNS,
    SUN,
    THU,
    TUE,
    WED,
    case,
)

SUMMER = (date(2026, 6, 1), date(2026, 6, 28))  # four weeks from a Monday
WINTER = (date(2026, 12, 7), date(2027, 1, 3))
MONDAY, WEDNESDAY = date(2026, 6, 8), date(2026, 6, 10)


def texts(hours) -> list[str]:
    return [each.text() for each in hours]


def lago(number, **changes):
    return allowed_span(LAGO_VISTA, case(number, zone=CHICAGO, **changes), *SUMMER)


def test_plan_01_lago_vista_odd_residences():
    span = lago(47)

    assert span.weekdays == {WED, SAT}
    assert texts(span.hours) == ["00:00-10:00", "19:00-24:00"]


def test_plan_02_lago_vista_even_and_commercial():
    even, commercial = lago(48), lago(47, kind="commercial")

    assert (even.weekdays, commercial.weekdays) == ({THU, SUN}, {TUE, FRI})
    assert texts(even.hours) == texts(commercial.hours) == ["00:00-10:00", "19:00-24:00"]
    assert (even.minutes_cap, even.depth_cap_mm, even.changes) == (None, None, ())


@pytest.mark.parametrize(
    ("number", "kind", "summer", "winter"),
    [
        (47, "residential", {WED, SAT}, {SAT}),
        (None, "residential", {WED, SAT}, {SAT}),
        (48, "residential", {THU, SUN}, {SUN}),
        (47, "commercial", {TUE, FRI}, {TUE}),
        (48, "public", {TUE, FRI}, {TUE}),
        (None, "shared_grounds", {TUE, FRI}, {TUE}),
    ],
)
def test_plan_04_st_johns_river(number, kind, summer, winter):
    for span, expected in ((SUMMER, summer), (WINTER, winter)):
        answer = allowed_span(ST_JOHNS, case(number, kind=kind), *span)

        assert answer.weekdays == expected
        assert texts(answer.hours) == ["00:00-10:00", "16:00-24:00"]
        assert answer.minutes_cap == 60


def test_plan_07_the_rules_change_with_the_clocks():
    year = allowed_span(ST_JOHNS, case(47), date(2026, 1, 1), date(2026, 12, 31))

    assert year.changes == (date(2026, 3, 8), date(2026, 11, 1))
    assert year.weekdays == {SAT}
    wednesdays = [day.date for day in year.days if day.is_allowed and day.date.weekday() == WED]
    assert (wednesdays[0], wednesdays[-1]) == (date(2026, 3, 11), date(2026, 10, 28))


def test_plan_07_on_the_two_sundays_themselves_the_new_season_holds():
    even = case(48)

    assert "Thursday and Sunday" in allowed_on(ST_JOHNS, even, date(2026, 3, 8)).sentence()
    assert "even: Sunday," in allowed_on(ST_JOHNS, even, date(2026, 3, 7)).sentence()
    assert "even: Sunday," in allowed_on(ST_JOHNS, even, date(2026, 11, 1)).sentence()
    assert "Thursday and Sunday" in allowed_on(ST_JOHNS, even, date(2026, 10, 31)).sentence()


def test_plan_08_three_quarters_of_an_inch_and_an_hour():
    answer = allowed_on(HOWEY, case(), WEDNESDAY)

    assert (answer.depth_cap_mm, answer.minutes_cap) == (pytest.approx(0.75 * 25.4), 60)
    assert answer.sentence() == (
        "Wednesday and Saturday, before 10 in the morning or after 4 in the afternoon; "
        "at most an hour and 0.75 in a zone."
    )


@pytest.mark.parametrize("method", ["drip", "micro_spray"])
def test_plan_08_drip_and_micro_spray_run_at_any_time(method):
    answer = allowed_on(HOWEY, case(method=method), MONDAY)

    assert (answer.is_allowed, texts(answer.hours)) == (True, ["00:00-24:00"])
    assert (answer.depth_cap_mm, answer.minutes_cap) == (None, None)


def test_plan_09_new_landscape_on_any_day_then_every_other_day():
    planted = date(2026, 6, 1)
    new = case(planting_date=planted)
    first, next_days = planted + dt.timedelta(days=29), planted + dt.timedelta(days=59)

    any_days = allowed_span(HOWEY, new, planted, first)
    other_days = allowed_span(HOWEY, new, first + dt.timedelta(days=1), next_days)
    after = allowed_span(HOWEY, new, next_days + dt.timedelta(days=1), date(2026, 8, 31))

    assert len(any_days.days) == len(other_days.days) == 30
    assert all(day.is_allowed for day in any_days.days)
    for age, day in enumerate(other_days.days, start=30):
        assert day.is_allowed is (age % 2 == 0 or day.date.weekday() in (WED, SAT)), day.date
        assert texts(day.hours) in ([], ["00:00-10:00", "16:00-24:00"])
    assert after.weekdays == {WED, SAT}
    assert not allowed_on(HOWEY, new, planted - dt.timedelta(days=1)).is_allowed
    assert (
        any_days.days[0]
        .sentence()
        .endswith("New plants may be watered on any day until Tuesday 30 June 2026.")
    )
    assert "every other day until Thursday 30 July 2026" in other_days.days[0].sentence()
    assert "New plants" not in after.days[0].sentence()


@pytest.mark.parametrize(
    ("digits", "weekdays"),
    [(range(4), {MON, THU}), (range(4, 7), {TUE, FRI}), ([7, 8, 9, None], {WED, SAT})],
)
def test_plan_10_hillsborough_by_the_last_digit(digits, weekdays):
    for digit in digits:
        number = None if digit is None else 1240 + digit
        span = allowed_span(HILLSBOROUGH, case(number), *SUMMER)

        assert span.weekdays == weekdays, number
        assert texts(span.hours) == ["00:00-08:00", "18:00-24:00"]


def test_plan_11_chemicals_are_watered_in_within_a_day_on_any_day():
    applied = dt.datetime(2026, 6, 8, 17, 30, tzinfo=dt.UTC)  # Monday 13:30 in Florida
    treated = case(purpose=Purpose.TREATMENT, applied_at=applied)

    days = allowed_span(HOWEY, treated, MONDAY, date(2026, 6, 12)).days

    assert [texts(day.hours) for day in days] == [
        ["13:30-24:00"], ["00:00-13:30"], ["00:00-10:00", "16:00-24:00"], [], [],
    ]  # fmt: skip
    assert [day.depth_cap_mm for day in days[:3]] == [6.35, 6.35, 19.05]
    assert (
        days[0]
        .sentence("metric")
        .endswith("A treatment may be watered in on any day within 24 hours of its application.")
    )
    assert allowed_on(HOWEY, case(), MONDAY).refusal is Refusal.NOT_THE_DAY


def test_a_treatment_without_its_moment_counts_as_of_the_date_itself():
    answer = allowed_on(HOWEY, case(purpose=Purpose.TREATMENT), MONDAY)

    assert (texts(answer.hours), answer.depth_cap_mm) == (["00:00-24:00"], 6.35)


def test_reclaimed_water_is_free_in_st_johns_and_a_well_is_not():
    assert allowed_on(ST_JOHNS, case(water=WaterKind.RECLAIMED), MONDAY).is_allowed
    assert not allowed_on(ST_JOHNS, case(water=WaterKind.WELL), MONDAY).is_allowed


def test_a_technician_tests_on_any_day_in_st_johns_and_not_in_lago_vista():
    test = {"purpose": Purpose.TEST_RUN}
    free = allowed_on(ST_JOHNS, case(**test), MONDAY)
    barred = allowed_on(LAGO_VISTA, case(zone=CHICAGO, **test), MONDAY)

    assert (free.is_allowed, texts(free.hours), free.minutes_cap) == (True, ["00:00-24:00"], 10)
    assert "on any day and at any hour, at most 10 minutes a zone." in free.sentence()
    assert (barred.is_allowed, barred.needs_exemption) == (False, True)
    assert barred.verdict() == (
        "Not on Monday 8 June 2026, by rule 0; it needs an exemption; "
        "next on Wednesday 10 June 2026."
    )


def test_the_client_is_told_in_words_that_he_understands():
    def told(rules, *args, **changes):
        return allowed_on(rules, case(*args, **changes), MONDAY).sentence()

    assert told(ST_JOHNS, 47).startswith(
        "Your house number is odd: Wednesday and Saturday, before 10 in the morning or after 4 in "
        "the afternoon; at most an hour a zone."
    )
    assert told(LAGO_VISTA, 48, zone=CHICAGO) == (
        "Your house number is even: Thursday and Sunday, before 10 in the morning or after 7 in "
        "the evening."
    )
    assert told(LAGO_VISTA, 48, zone=CHICAGO, kind="commercial").startswith(
        "Your property counts as commercial: Tuesday and Friday,"
    )
    assert told(HILLSBOROUGH, 1245).startswith("Your house number ends in 5: Tuesday and Friday,")
    assert told(HILLSBOROUGH, None).startswith("Your address has no house number: Wednesday and")
