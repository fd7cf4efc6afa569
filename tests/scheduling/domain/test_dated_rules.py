"""The running plan under rules that change from date to date."""

from __future__ import annotations

import datetime as dt
import zoneinfo

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from properties.domain.errors import RefusedError
from properties.domain.watering_rules import (
    DistrictRules,
    PlantingRelief,
    Purpose,
    StagePeriod,
    TreatmentRelief,
    WateringRule,
)
from properties.domain.watering_rules_answers import allowed_on
from properties.domain.watering_rules_audience import (
    EVEN_DIGITS,
    ODD_DIGITS,
    Audience,
    Method,
    Place,
    ZoneUse,
)
from properties.domain.watering_rules_cases import Case
from properties.domain.watering_rules_hours import HourRange
from properties.domain.watering_rules_periods import Clock, Period
from scheduling.domain.dated_rules import dated_rules, relieved_days, water_in_rule
from scheduling.domain.treatment_days import Asked, TreatmentDays
from scheduling.domain.zone_facts import WateringLimits
from tests.scheduling.domain.running import (
    DAYS,
    MONDAY,
    day_codes,
    make_ahead,
    make_past,
    plan,
    watered,
)

EASTERN = zoneinfo.ZoneInfo("America/New_York")
QUARTER_IN_MM = 6.35
# The standing rule of Howey-in-the-Hills, Florida: at most 1/4 in, within 24 h, any day.
QUARTER_INCH = TreatmentRelief(QUARTER_IN_MM, 24.0)
TINY = 1e-6
quick = settings(max_examples=60, deadline=None, derandomize=True)


def day_of(place: int, today: dt.date = MONDAY) -> dt.date:
    return today + dt.timedelta(days=place)


def make_case(house_number: int | None = 7, planted: dt.date | None = None) -> Case:
    return Case(
        place=Place(house_number=house_number, time_zone=EASTERN),
        use=ZoneUse(method=Method.SPRAY, planting_date=planted),
    )


def limits_under(district, case, *, today=MONDAY, **changes):
    dates = [day_of(place, today) for place in range(DAYS + 31)]
    return WateringLimits(by_date=dated_rules(district, case, dates), **changes)


def district(*rules, periods=()):
    return DistrictRules("Tallgrass Water", rules, periods)


def rule(**values):
    return WateringRule(name="Usual days", **values)


ANY_DAY = WateringRule(name="No day named")
WEDNESDAY = frozenset({2})
DAILY = {"root_depths_mm": (70.0,) * 12}  # about a day of need: it is due every day


def test_odd_and_even_houses_are_watered_on_their_own_days():
    # The order of the St. Johns River district, Florida: odd or no number Wednesday and Saturday,
    # even Thursday and Sunday, in daylight saving time.
    odd = Audience(last_digits=ODD_DIGITS, takes_no_number=True)
    even = Audience(last_digits=EVEN_DIGITS, takes_no_number=False)
    rules = district(
        rule(audience=odd, weekdays=frozenset({2, 5})),
        rule(audience=even, weekdays=frozenset({3, 6})),
    )

    days = {
        number: watered(plan(limits_under(rules, make_case(number)), **DAILY))
        for number in (7, 8, None)
    }

    assert days == {7: [2, 5, 9, 12], 8: [3, 6, 10, 13], None: [2, 5, 9, 12]}


def test_the_days_change_with_the_clocks():
    # Clocks go back on Sunday, 1 November 2026: one day a week, Saturday, until March.
    monday = dt.date(2026, 10, 26)
    rules = district(
        rule(weekdays=frozenset({2, 5}), period=Period(clock=Clock.DAYLIGHT)),
        rule(weekdays=frozenset({5}), period=Period(clock=Clock.STANDARD)),
    )

    found = plan(
        limits_under(rules, make_case(), today=monday),
        make_past(today=monday),
        make_ahead(today=monday),
        **DAILY,
    )

    assert watered(found) == [2, 5, 12]


def test_a_stage_holds_from_the_day_on_which_it_is_switched_on():
    stage = StagePeriod("stage 2", day_of(7), replaces_usual=True)
    rules = district(ANY_DAY, WateringRule(name="One", stage="stage 2", weekdays=WEDNESDAY),
                     periods=(stage,))  # fmt: skip

    found = plan(limits_under(rules, make_case()), **DAILY)

    assert watered(found) == [0, 1, 2, 3, 4, 5, 6, 9]
    assert day_codes(found)[7] == "forbidden-day"


def test_a_ban_that_ends_beyond_the_fortnight_is_seen_coming():
    ban = StagePeriod("ban", day_of(1), day_of(20), replaces_usual=True)
    rules = district(ANY_DAY, WateringRule(name="Ban", stage="ban", is_ban=True), periods=(ban,))

    found = plan(limits_under(rules, make_case()))

    # Two days of use lie in the roots: without the ban nothing would be due today.
    assert watered(found) == [0]
    assert {day.reasons[-1].code for day in found.days[4:]} == {"shortfall-weekdays"}


def test_new_plants_are_watered_every_other_day_after_the_days_that_are_free():
    # Any day for so many days, then every other day: counted from the planting.
    rules = district(rule(weekdays=WEDNESDAY, planting=PlantingRelief(4, 4)))

    found = plan(limits_under(rules, make_case(planted=MONDAY)), **DAILY)

    assert watered(found) == [0, 1, 2, 3, 4, 6, 9]


def test_a_cap_binds_the_minutes_of_the_dates_on_which_it_holds():
    rules = district(
        ANY_DAY, rule(minutes_cap=9, period=Period(first_date=day_of(5))),
    )  # fmt: skip
    found = plan(limits_under(rules, make_case()), **DAILY)

    first, later = found.days[0], found.days[6]
    assert first.minutes * first.waterings > 9
    assert later.minutes * later.waterings <= 9
    codes = {reason.code for reason in later.reasons}
    assert "minutes-rule-minutes" in codes
    assert "shortfall-rule-minutes" in codes


# --- watering in --------------------------------------------------------------------------------

APPLIED = dt.datetime.combine(MONDAY, dt.time(9), EASTERN)
NOW = dt.datetime.combine(MONDAY, dt.time(10), EASTERN)


def water_in(rules, at_most_mm=10.0, applied=APPLIED, now=NOW, days=2):
    return TreatmentDays(
        asked=Asked.WATER_IN,
        first=applied.date(),
        last=applied.date() + dt.timedelta(days=days),
        at_most_mm=at_most_mm,
        relieved=relieved_days(rules, make_case(), applied, now),
    )


def wet_past():
    """Full roots, so that only a treatment asks for water."""
    rain = np.zeros(60)
    rain[-1] = 60.0
    return make_past(rain_mm=rain)


def test_a_treatment_is_watered_in_on_any_day_with_no_more_than_a_quarter_inch():
    rules = district(rule(weekdays=frozenset({5}), treatment=QUARTER_INCH))

    found = plan(limits_under(rules, make_case()), wet_past(), treatments=[water_in(rules)])

    first = found.days[0]
    assert first.reasons[0].code == "water-in-relieved"
    assert QUARTER_IN_MM - 0.25 < first.gross_mm <= QUARTER_IN_MM
    assert day_codes(found)[1:3] == ["forbidden-day", "forbidden-day"]


def test_a_day_that_is_open_to_a_treatment_alone_is_not_waited_for():
    # Monday and Saturday: Wednesday is open to the treatment alone, so Monday serves five days.
    rules = district(rule(weekdays=frozenset({0, 5}), treatment=QUARTER_INCH))
    wednesday = APPLIED + dt.timedelta(days=2)

    found = plan(
        limits_under(rules, make_case()), wet_past(), treatments=[water_in(rules, 3.0, wednesday)]
    )

    assert [day_codes(found)[place] for place in (0, 2)] == ["due", "water-in-relieved"]


def test_on_an_allowed_day_the_label_alone_says_how_much():
    rules = district(rule(weekdays=frozenset({0}), treatment=QUARTER_INCH))

    found = plan(limits_under(rules, make_case()), wet_past(), treatments=[water_in(rules)])

    assert found.days[0].reasons[0].code == "water-in"
    assert found.days[0].gross_mm == pytest.approx(10.0, abs=0.25)


def test_after_a_day_the_usual_days_bind_again():
    rules = district(rule(weekdays=frozenset({2}), treatment=QUARTER_INCH))
    late = NOW + dt.timedelta(hours=24)

    treatment = water_in(rules, now=late)
    found = plan(
        limits_under(rules, make_case(), today=day_of(1)),
        wet_past(),
        make_ahead(today=day_of(1)),
        treatments=[treatment],
    )

    assert treatment.relieved == {}
    assert day_codes(found)[:2] == ["enough", "water-in"]


def test_without_a_rule_for_treatments_the_usual_days_hold():
    rules = district(rule(weekdays=frozenset({1})))

    found = plan(limits_under(rules, make_case()), wet_past(), treatments=[water_in(rules)])

    assert water_in_rule(rules, make_case(), APPLIED) is None
    assert day_codes(found)[:2] == ["enough", "water-in"]


def test_the_strictest_of_two_reliefs_and_the_name_of_the_district_are_told():
    rules = district(
        rule(treatment=QUARTER_INCH), rule(treatment=TreatmentRelief(12.0, 12.0))
    )  # fmt: skip

    found = water_in_rule(rules, make_case(), APPLIED)

    assert (found.at_most_mm, found.within_h) == (QUARTER_IN_MM, 12.0)
    assert found.source == "Tallgrass Water"


def test_a_ban_that_relieves_no_treatment_keeps_it_dry():
    rules = district(rule(treatment=QUARTER_INCH), WateringRule(name="Ban", is_ban=True))

    found = plan(limits_under(rules, make_case()), wet_past(), treatments=[water_in(rules)])

    assert day_codes(found)[:3] == ["no-water-in"] * 3


# --- whatever the rules -------------------------------------------------------------------------

weekdays = st.frozensets(st.integers(0, 6), min_size=1)
caps = st.none() | st.sampled_from([4.0, 10.0, 45.0])
hours = st.sampled_from([
    (HourRange(0, 1440),), (HourRange(0, 600), HourRange(1140, 1440)), (HourRange(1200, 1680),),
])  # fmt: skip


@st.composite
def rules_of_any_kind(draw, stage=""):
    numbers = draw(st.sampled_from([None, ODD_DIGITS, EVEN_DIGITS]))
    is_ban = draw(st.integers(0, 9)) == 0
    return WateringRule(
        name="Some rule",
        stage=stage,
        audience=Audience() if numbers is None else Audience(last_digits=numbers),
        period=Period(
            first_date=draw(st.none() | st.integers(0, DAYS).map(day_of_change)),
            clock=draw(st.sampled_from(Clock)),
        ),
        weekdays=frozenset(range(7)) if is_ban else draw(weekdays),
        hours=(HourRange(0, 1440),) if is_ban else draw(hours),
        is_ban=is_ban,
        minutes_cap=draw(caps),
        depth_cap_mm=draw(caps),
        planting=draw(st.none() | st.builds(PlantingRelief, st.integers(0, 9), st.integers(0, 9))),
        treatment=draw(st.none() | st.just(QUARTER_INCH)),
    )


# The clocks go back in the middle of this fortnight.
START = dt.date(2026, 10, 26)


def day_of_change(place: int) -> dt.date:
    return day_of(place, START)


@st.composite
def ruled_plans(draw):
    stage = [
        StagePeriod("stage", day_of_change(draw(st.integers(0, DAYS))), None, draw(st.booleans()))
    ]
    rules = DistrictRules(
        "Tallgrass Water",
        (*draw(st.lists(rules_of_any_kind(), max_size=3)), draw(rules_of_any_kind("stage"))),
        tuple(stage * draw(st.booleans())),
    )
    planted = draw(st.none() | st.integers(-9, 5).map(day_of_change))
    case = make_case(draw(st.none() | st.integers(1, 20)), planted)
    applied = dt.datetime.combine(
        day_of_change(draw(st.integers(-1, 2))), dt.time(draw(st.integers(0, 23))), EASTERN
    )
    return rules, case, applied


@quick
@given(
    ruled_plans(),
    st.floats(5, 40),
    st.floats(40, 300),
    st.floats(1, 9),
    st.sampled_from([0.5, 1.0, 5.0]),
)
def test_nothing_is_planned_that_the_rules_of_the_date_forbid(ruled, rate, roots, et0, step):
    rules, case, applied = ruled
    midnight = dt.datetime.combine(START, dt.time(), EASTERN)
    treatment = TreatmentDays(
        asked=Asked.WATER_IN, first=applied.date(), last=applied.date() + dt.timedelta(days=2),
        at_most_mm=12.0, relieved=relieved_days(rules, case, applied, midnight),
    )  # fmt: skip
    try:
        found = plan(
            limits_under(rules, case, today=START, minute_step=step),
            make_past(et0_mm=et0, today=START),
            make_ahead(et0, today=START),
            [treatment],
            rate_mm_h=rate, root_depths_mm=(roots,) * 12,
        )  # fmt: skip
    except RefusedError:
        reject()

    treated = Case(place=case.place, use=case.use, purpose=Purpose.TREATMENT, applied_at=applied)
    for day in found.days:
        if day.is_watered:
            is_relieved = day.reasons[0].code == "water-in-relieved"
            allowed = allowed_on(rules, treated if is_relieved else case, day.date)
            assert allowed.is_watering_day
            minutes = day.minutes * day.waterings
            assert allowed.minutes_cap is None or minutes <= allowed.minutes_cap + TINY
            assert allowed.depth_cap_mm is None or day.gross_mm <= allowed.depth_cap_mm + TINY
