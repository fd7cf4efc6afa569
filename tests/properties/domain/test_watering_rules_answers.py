"""Rules that hold together: the strictest wins, and nothing is refused without a name."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules import DistrictRules, Purpose, StagePeriod, TestRuns
from properties.domain.watering_rules_answers import Refusal, allowed_on
from properties.domain.watering_rules_audience import WaterKind
from properties.domain.watering_rules_entries import RuleEntry, rule_of
from properties.domain.watering_rules_hours import HourRange
from properties.domain.watering_rules_periods import is_daylight_time
from properties.domain.watering_rules_spans import allowed_span
from tests.properties.domain.watering_districts import (
    EVEN,
    FRI,
    MON,
    NEW_YORK,
    SAT,
    SUN,
    THU,
    WED,
    case,
    district,
)

MONDAY = date(2026, 6, 8)
WEDNESDAY, THURSDAY, SATURDAY = (MONDAY + dt.timedelta(days=days) for days in (2, 3, 5))


def texts(hours) -> list[str]:
    return [each.text() for each in hours]


def test_without_a_district_or_a_rule_everything_is_allowed_and_that_is_said():
    nowhere = allowed_on(None, case(), MONDAY)
    empty = allowed_on(DistrictRules("Tallgrass"), case(), MONDAY)

    for answer, words in ((nowhere, "No watering district"), (empty, "No rule of Tallgrass")):
        assert (answer.is_allowed, texts(answer.hours)) == (True, ["00:00-24:00"])
        assert (answer.minutes_cap, answer.depth_cap_mm, answer.decided_by) == (None, None, ())
        assert words in answer.remarks[0]
        assert answer.sentence() == "Any day, at any hour."


def test_an_address_that_no_numbered_rule_names_is_told_to_ask():
    rules = district("Tallgrass", EVEN | {"weekdays": [WED]}, {"minutes_cap": 30})

    odd, none = allowed_on(rules, case(47), MONDAY), allowed_on(rules, case(None), MONDAY)

    assert "a number such as 47" in odd.remarks[0]
    assert "an address without a number" in none.remarks[0]
    assert allowed_on(rules, case(48), MONDAY).remarks == ()
    assert odd.minutes_cap == 30


def test_of_two_rules_the_strictest_wins():
    rules = district(
        "Tallgrass",
        {"weekdays": [WED, SAT], "hours": ["00:00-10:00"], "minutes_cap": 60},
        {"weekdays": [SAT, SUN], "hours": ["04:00-12:00"], "minutes_cap": 45, "depth_cap_mm": 9},
    )

    answer, refused = (allowed_on(rules, case(), day) for day in (SATURDAY, WEDNESDAY))

    assert texts(answer.hours) == ["04:00-10:00"]
    assert (answer.minutes_cap, answer.depth_cap_mm) == (45, 9)
    assert [rule.name for rule in answer.decided_by] == ["rule 0", "rule 1"]
    assert answer.verdict() == "Allowed on Saturday 13 June 2026."
    assert answer.sentence("metric") == (
        "Saturday, from 4 in the morning to 10 in the morning; at most 45 minutes and 9 mm a zone."
    )
    assert [rule.name for rule in refused.decided_by] == ["rule 1"]
    assert (refused.refusal, refused.next_date) == (Refusal.NOT_THE_DAY, SATURDAY)


@pytest.mark.parametrize(
    "second", [{"weekdays": [THU]}, {"weekdays": [WED], "hours": ["10:00-12:00"]}]
)
def test_rules_without_a_common_day_or_hour_are_named_as_contradicting(second):
    rules = district("Tallgrass", {"weekdays": [WED], "hours": ["05:00-08:00"]}, second)

    for day in (MONDAY, WEDNESDAY, THURSDAY):
        answer = allowed_on(rules, case(), day)
        assert (answer.refusal, answer.hours) == (Refusal.RULES_CONTRADICT, ())
        assert "rule 0 and rule 1 contradict each other" in answer.verdict()
        assert "contradict" in answer.sentence()
        assert len(answer.decided_by) == 2
    span = allowed_span(rules, case(), MONDAY, SATURDAY)
    assert (span.weekdays, span.hours) == (frozenset(), ())
    assert "No weekday is allowed" in span.remarks[-1]


def test_a_ban_refuses_all_but_what_it_frees():
    rules = district(
        "Tallgrass",
        {"weekdays": [WED]},
        {"is_ban": True, "planting_any_days": 10, "exempt_methods": ["hand"], "test_runs": "free"},
    )

    answer = allowed_on(rules, case(), WEDNESDAY)

    assert (answer.refusal, answer.next_date) == (Refusal.BAN, None)
    assert answer.verdict() == "Not on Wednesday 10 June 2026, by rule 1."
    assert answer.sentence() == "No watering at all."
    assert allowed_on(rules, case(method="hand"), WEDNESDAY).is_allowed
    assert allowed_on(rules, case(planting_date=MONDAY), WEDNESDAY).is_allowed
    test = case(purpose=Purpose.TEST_RUN)
    assert allowed_on(rules, test, WEDNESDAY).is_allowed
    # The usual rule frees nothing: its own day still binds the test.
    assert [rule.name for rule in allowed_on(rules, test, MONDAY).decided_by] == ["rule 0"]


@pytest.mark.parametrize(
    ("policy", "is_allowed", "needs_exemption"),
    [("free", True, False), ("on_allowed_days", False, False), ("exemption", False, True)],
)
def test_a_test_run_on_a_forbidden_day_is_as_the_rule_says(policy, is_allowed, needs_exemption):
    rules = district("Tallgrass", {"weekdays": [WED], "test_runs": policy})
    test = case(purpose=Purpose.TEST_RUN)

    refused, own_day = allowed_on(rules, test, MONDAY), allowed_on(rules, test, WEDNESDAY)

    assert (refused.is_allowed, refused.needs_exemption) == (is_allowed, needs_exemption)
    assert (own_day.is_allowed, own_day.needs_exemption) == (True, False)
    assert not allowed_on(rules, case(), MONDAY).needs_exemption


def test_an_exemption_cures_nothing_where_another_rule_asks_for_the_day():
    rules = district(
        "Tallgrass", {"weekdays": [WED]}, {"weekdays": [WED], "test_runs": "on_allowed_days"}
    )

    assert not allowed_on(rules, case(purpose=Purpose.TEST_RUN), MONDAY).needs_exemption


def test_a_night_runs_on_into_the_day_after_its_own():
    rules = district("Tallgrass", {"weekdays": [WED], "hours": ["19:00-05:00"]})

    days = allowed_span(rules, case(), MONDAY, SATURDAY).days

    assert [texts(day.hours) for day in days] == [
        [], [], ["19:00-24:00"], ["00:00-05:00"], [], [],
    ]  # fmt: skip
    assert [day.is_watering_day for day in days] == [False, False, True, False, False, False]
    assert [day.runs_on_to_min for day in days] == [0, 0, 300, 0, 0, 0]
    assert "from 7 in the evening to 5 in the morning of the next day" in days[0].sentence()
    week = allowed_span(rules, case(), MONDAY, MONDAY + dt.timedelta(days=6))
    assert (week.weekdays, texts(week.hours), week.runs_on_to_min) == (
        {WED}, ["19:00-24:00"], 300,
    )  # fmt: skip


def test_a_night_ends_with_its_rule():
    rules = district(
        "Tallgrass",
        {"weekdays": [WED], "hours": ["19:00-05:00"], "last_date": WEDNESDAY},
        {"weekdays": [SAT], "first_date": THURSDAY},
    )

    assert allowed_on(rules, case(), WEDNESDAY).runs_on_to_min == 0
    assert not allowed_on(rules, case(), THURSDAY).is_allowed


def test_a_rule_opens_no_night_before_its_first_day():
    night = {"weekdays": [WED], "hours": ["19:00-05:00"]}

    first_night = district("Tallgrass", night | {"first_date": WEDNESDAY})
    too_late = district("Tallgrass", night | {"first_date": THURSDAY})

    assert texts(allowed_on(first_night, case(), THURSDAY).hours) == ["00:00-05:00"]
    assert not allowed_on(too_late, case(), THURSDAY).is_allowed


@pytest.mark.parametrize("replaces", [False, True])
def test_a_stage_holds_while_it_is_on_beside_the_usual_rules_or_instead(replaces):
    usual = rule_of(RuleEntry(name="usual", weekdays=[MON, THU], hours=["00:00-10:00"]))
    dry = rule_of(RuleEntry(name="dry", stage="s", weekdays=[THU, FRI], minutes_cap=20))
    period = StagePeriod(
        "s", MONDAY + dt.timedelta(days=7), MONDAY + dt.timedelta(days=20), replaces
    )
    rules = DistrictRules("Tallgrass", (usual, dry), (period,))

    before, during, after = (
        allowed_span(rules, case(), MONDAY + dt.timedelta(first), MONDAY + dt.timedelta(first + 6))
        for first in (0, 7, 21)
    )
    whole = allowed_span(rules, case(), MONDAY, MONDAY + dt.timedelta(days=27))

    assert before.weekdays == after.weekdays == {MON, THU}
    assert during.weekdays == ({THU, FRI} if replaces else {THU})
    assert texts(during.hours) == (["00:00-24:00"] if replaces else ["00:00-10:00"])
    assert (before.minutes_cap, during.minutes_cap) == (None, 20)
    assert whole.changes == (MONDAY + dt.timedelta(days=7), MONDAY + dt.timedelta(days=21))
    assert (whole.weekdays, whole.minutes_cap) == ({THU}, 20)
    assert texts(whole.hours) == ["00:00-10:00"]


def test_reclaimed_water_may_have_hours_of_its_own():
    rules = district(
        "Tallgrass",
        {"weekdays": [WED], "exempt_waters": ["reclaimed"]},
        {"hours": ["20:00-24:00"], "only_waters": ["reclaimed"]},
    )

    reclaimed = allowed_on(rules, case(water=WaterKind.RECLAIMED), MONDAY)

    assert texts(reclaimed.hours) == ["20:00-24:00"]
    assert not allowed_on(rules, case(), MONDAY).is_allowed
    assert texts(allowed_on(rules, case(), WEDNESDAY).hours) == ["00:00-24:00"]


def test_a_span_without_a_common_hour_says_so():
    rules = district(
        "Tallgrass",
        {"weekdays": [WED], "hours": ["00:00-06:00"], "last_date": SATURDAY},
        {
            "weekdays": [WED],
            "hours": ["18:00-24:00"],
            "first_date": SATURDAY + dt.timedelta(days=1),
        },
    )

    span = allowed_span(rules, case(), MONDAY, MONDAY + dt.timedelta(days=13))

    assert (span.weekdays, span.hours) == ({WED}, ())
    assert "No hour is allowed on all" in span.remarks[-1]


@pytest.mark.parametrize("last", [MONDAY - dt.timedelta(days=1), MONDAY + dt.timedelta(days=366)])
def test_a_span_that_is_crossed_or_too_long_is_refused(last):
    with pytest.raises(InvalidInputError, match="0 to 365 days") as refused:
        allowed_span(None, case(), MONDAY, last)

    assert refused.value.field == "last_date"


def test_a_treatment_needs_a_moment_with_its_time_zone():
    with pytest.raises(InvalidInputError, match="offset"):
        case(purpose=Purpose.TREATMENT, applied_at=dt.datetime(2026, 6, 8))


def test_twenty_four_hours_over_the_change_of_the_clocks_are_twenty_four():
    """Arithmetic: 7 March 12:00 in New York is 17:00 UTC; a day later it is 13:00 by the clock."""
    rules = district("T", {"weekdays": [FRI], "treatment_depth_mm": 5, "treatment_within_h": 24})
    applied = dt.datetime(2026, 3, 7, 17, tzinfo=dt.UTC)
    treated = case(purpose=Purpose.TREATMENT, applied_at=applied)

    assert texts(allowed_on(rules, treated, date(2026, 3, 8)).hours) == ["00:00-13:00"]
    autumn = replace(treated, applied_at=dt.datetime(2026, 10, 31, 16, tzinfo=dt.UTC))
    assert texts(allowed_on(rules, autumn, date(2026, 11, 1)).hours) == ["00:00-11:00"]


# Whatever the rules: against a second reading of each of them, minute by minute.

QUARTERS = [f"{hour:02}:{minute:02}" for hour in range(24) for minute in (0, 15, 30, 45)]
HOURS = st.lists(
    st.tuples(st.sampled_from(QUARTERS), st.sampled_from(QUARTERS))
    .filter(lambda pair: pair[0] != pair[1])
    .map("-".join),
    min_size=1, max_size=3,
)  # fmt: skip
ENTRIES = st.fixed_dictionaries(
    {},
    optional={
        "weekdays": st.sets(st.integers(0, 6), min_size=1).map(sorted),
        "hours": HOURS,
        "addresses": st.sampled_from(["everybody", "odd", "even", "no_number"]),
        "clock": st.sampled_from(["all_year", "daylight", "standard"]),
        "minutes_cap": st.integers(5, 120),
        "depth_cap_mm": st.integers(2, 30),
    },
)
RULES = st.lists(ENTRIES, max_size=4)
NUMBERS = st.sampled_from([47, 48, None])
DAYS = st.dates(date(2026, 3, 5), date(2026, 3, 12)) | st.dates(
    date(2026, 10, 29), date(2026, 11, 4)
)


def holds(entry, number, day) -> bool:
    clock = entry.get("clock", "all_year")
    if clock != "all_year" and (clock == "daylight") is not is_daylight_time(day, NEW_YORK):
        return False
    parity = "no_number" if number is None else ("even", "odd")[number % 2]
    return entry.get("addresses", "everybody") in ("everybody", parity)


def clock_min(text) -> int:
    return int(text[:2]) * 60 + int(text[3:])


def lets(entry, number, day, minute) -> bool:
    """Read one rule for one minute: a window of this day, or the night of the day before."""
    yesterday = day - dt.timedelta(days=1)
    for text in entry.get("hours", ["00:00-24:00"]):
        start, end = (clock_min(part) for part in text.split("-"))
        weekdays = entry.get("weekdays", range(7))
        if end > start:
            if day.weekday() in weekdays and start <= minute < end:
                return True
            continue
        if day.weekday() in weekdays and minute >= start:
            return True
        if yesterday.weekday() in weekdays and minute < end and holds(entry, number, yesterday):
            return True
    return False


@settings(max_examples=60, derandomize=True, deadline=None)
@given(RULES, NUMBERS, DAYS)
def test_a_minute_is_allowed_when_every_rule_that_holds_lets_it(entries, number, day):
    answer = allowed_on(district("T", *entries), case(number), day)

    held = [entry for entry in entries if holds(entry, number, day)]
    for minute in range(0, 1440, 15):
        allowed = any(each.start_min <= minute < each.end_min for each in answer.hours)
        assert allowed is all(lets(entry, number, day, minute) for entry in held), minute
    caps = [entry["minutes_cap"] for entry in held if "minutes_cap" in entry]
    assert answer.minutes_cap == min(caps, default=None)
    assert answer.is_allowed is bool(answer.hours)
    assert answer.is_allowed or answer.decided_by
    assert answer.sentence()
    assert answer.verdict()


LOOSER = {
    "every day": {"weekdays": None},
    "every hour": {"hours": None},
    "no minutes": {"minutes_cap": None},
    "no depth": {"depth_cap_mm": None},
    "one season": {"clock": "standard"},
    "exempt heads": {"exempt_methods": ["spray"]},
    "new plants": {"planting_any_days": 30, "planting_alternate_days": 30},
    "new plants at any hour": {"planting_any_days": 3, "planting_frees_hours": True},
}


@settings(max_examples=60, derandomize=True, deadline=None)
@given(RULES.filter(bool), NUMBERS, DAYS, st.sampled_from(sorted(LOOSER)), st.integers(0, 40))
def test_loosening_a_rule_never_forbids_a_minute(entries, number, day, how, age_days):
    first = {**entries[0], "clock": "all_year"}
    asked = case(number, planting_date=day - dt.timedelta(days=age_days))

    strict = allowed_on(district("T", first, *entries[1:]), asked, day)
    loose = allowed_on(district("T", {**first, **LOOSER[how]}, *entries[1:]), asked, day)

    for hours in strict.hours:
        # A night that the changed season cuts off at midnight is of the day before, not of this.
        own = hours if how != "one season" or hours.start_min else None
        assert own is None or any(
            each.start_min <= own.start_min and own.end_min <= each.end_min for each in loose.hours
        )
    assert (loose.minutes_cap or 1e9) >= (strict.minutes_cap or 1e9)
    assert (loose.depth_cap_mm or 1e9) >= (strict.depth_cap_mm or 1e9)


@settings(max_examples=25, derandomize=True, deadline=None)
@given(RULES, NUMBERS, DAYS, st.integers(1, 20))
def test_a_span_promises_nothing_that_one_of_its_dates_refuses(entries, number, day, length):
    span = allowed_span(district("T", *entries), case(number), day, day + dt.timedelta(length - 1))

    kept = [each for each in span.days if each.date.weekday() in span.weekdays]
    assert len(span.days) == length
    assert all(each.is_watering_day for each in kept)
    for hours in span.hours:
        assert all(
            any(a.start_min <= hours.start_min and hours.end_min <= a.end_min for a in each.hours)
            for each in kept
        )
    assert span.minutes_cap == min(
        (each.minutes_cap for each in kept if each.minutes_cap is not None), default=None
    )
    missing = {each.date.weekday() for each in span.days} - span.weekdays
    assert missing == {each.date.weekday() for each in span.days if not each.is_watering_day}


def test_policies_of_test_runs_are_three():
    assert [each.value for each in TestRuns] == ["free", "on_allowed_days", "exemption"]
    assert HourRange(0, 1440).text() == "00:00-24:00"


def test_a_stage_that_is_on_is_told_with_what_becomes_of_the_usual_rules():
    period = StagePeriod("s", MONDAY, replaces_usual=True, name="Stage 3")
    dry = DistrictRules("Tallgrass", (), (period,))

    answer = allowed_on(dry, case(), WEDNESDAY)

    assert answer.remarks[0] == (
        "Tallgrass has Stage 3 on from Monday 8 June 2026, until it is ended: its rules hold "
        "instead of the usual ones."
    )
    assert not any("Stage 3" in each for each in allowed_on(dry, case(), date(2026, 6, 7)).remarks)
