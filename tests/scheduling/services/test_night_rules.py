"""A night under the watering rules of districts: the next watering falls on an allowed day."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from properties.domain.watering_rules_answers import allowed_on
from properties.domain.watering_rules_cases import Case
from properties.models import Property, WateringDistrict, Zone
from properties.selectors.watering_rules import place_of, rules_of, use_of
from scheduling.domain.night_outlook import AHEAD_DAYS, PAST_DAYS
from scheduling.models import PlanMonth, ZoneOutlook
from scheduling.selectors import night_rules
from scheduling.selectors.night_rules import RULE_COLUMNS, NightRules
from scheduling.services import night_runs
from scheduling.services.night_runs import run_again
from scheduling.services.plan_months import make_plan_months
from tests import cast
from tests.properties import rule_rows
from tests.scheduling.services.night_work import night, plan_two_zones, work

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
DATES = [cast.TODAY + n * DAY for n in range(-PAST_DAYS, AHEAD_DAYS)]


@pytest.fixture
def district(zone):
    """The district of the zone's property, on whose days the zones' plans do not depend here."""
    district = rule_rows.make_district()
    Property.objects.filter(pk=zone.property_id).update(watering_district=district)
    zone.property.refresh_from_db()
    return district


@pytest.fixture
def planned(company, station, zone):
    return plan_two_zones(zone)


def days_of(*zones: Zone) -> list[list[bool]]:
    """Return for each zone the days on which it may be watered."""
    make_plan_months()
    rows = PlanMonth.objects.filter(month=6, zone__in=zones).order_by("zone_id")
    return NightRules(cast.TODAY).days_of(list(rows.values_list(*RULE_COLUMNS))).T.tolist()


def by_the_book(zone: Zone) -> list[bool]:
    """Return the same as the rules of a single address say."""
    garden = Property.objects.get(pk=zone.property_id)
    case = Case(place=place_of(garden), use=use_of(Zone.objects.get(pk=zone.pk)))
    return [allowed_on(rules_of(garden), case, day).is_watering_day for day in DATES]


def next_on(zone: Zone) -> dt.date | None:
    return ZoneOutlook.objects.get(zone=zone).next_on


@pytest.mark.parametrize("weekday", range(7))
def test_the_next_watering_falls_on_an_allowed_day(planned, district, weekday):
    rule_rows.make_rule(district, weekdays=[weekday])

    night()

    for zone in planned:
        assert next_on(zone).weekday() == weekday
        assert cast.TODAY <= next_on(zone) < cast.TODAY + 7 * DAY


def test_under_a_ban_none_is_due(planned, district):
    rule_rows.make_rule(district, weekdays=None, is_ban=True)

    night()

    assert [next_on(zone) for zone in planned] == [None, None]


def test_a_stage_that_begins_puts_the_usual_days_aside(planned, district):
    rule_rows.make_rule(district, weekdays=[cast.TODAY.weekday()])
    night()
    assert next_on(planned[0]) == cast.TODAY
    stage = rule_rows.make_stage(district, replaces_usual=True)
    weekday = (cast.TODAY + 3 * DAY).weekday()
    rule_rows.make_rule(district, name="In drought", stage=stage, weekdays=[weekday])
    rule_rows.make_period(stage)

    run_again(now=cast.NOW)
    work(cast.NOW)

    assert next_on(planned[0]) == cast.TODAY + 3 * DAY


@pytest.mark.parametrize(
    "rule",
    [
        {"weekdays": [2, 5]},
        {"weekdays": [1], "addresses": "odd"},
        {"weekdays": [1], "addresses": "even"},
        {"weekdays": [1], "addresses": "digits", "last_digits": "0-3"},
        {"weekdays": [4], "property_classes": ["commercial"]},
        {"weekdays": [4], "property_classes": ["residential"]},
        {"weekdays": [3], "only_methods": ["drip"]},
        {"weekdays": [0], "planting_any_days": 30, "planting_alternate_days": 30},
    ],
)
@pytest.mark.parametrize("number", ["", "12", "13", "-"])
def test_the_days_are_those_that_the_rules_of_the_address_say(planned, district, rule, number):
    rule_rows.make_rule(district, **rule)
    Property.objects.update(house_number=number)
    Zone.objects.filter(pk=planned[0].pk).update(planting_date=cast.TODAY - 50 * DAY)

    found = days_of(*planned)

    assert found == [by_the_book(zone) for zone in sorted(planned, key=lambda each: each.pk)]


def test_properties_that_the_same_rules_name_are_worked_out_once(planned, district, monkeypatch):
    rule_rows.make_rule(district, addresses="odd", weekdays=[2])
    asked = []
    monkeypatch.setattr(night_rules, "is_watering_day", lambda *case: asked.append(case) or True)
    rules = NightRules(cast.TODAY)
    make_plan_months()
    row = PlanMonth.objects.filter(month=6).values_list(*RULE_COLUMNS).first()

    rules.days_of([(row[0], str(n), *row[2:]) for n in range(1, 100)])

    assert len(asked) == 2 * len(DATES)


def test_a_district_without_rules_and_no_district_bind_nobody(planned, district):
    assert not NightRules(cast.TODAY).binds_any()

    rule_rows.make_rule(rule_rows.make_district("Elsewhere"), weekdays=[0])

    assert days_of(planned[0]) == [[True] * len(DATES)]


def change_rule(district, zone):
    rule = district.rules.get()
    rule.weekdays, rule.revision = [0], 2
    rule.save()


def change_address(district, zone):
    Property.objects.update(house_number="7", revision=9)


def change_heads(district, zone):
    Zone.objects.filter(pk=zone.pk).update(planting_date=cast.TODAY, revision=9)


def void_district(district, zone):
    Property.objects.update(watering_district=None, revision=9)


def begin_stage(district, zone):
    rule_rows.make_period(rule_rows.make_stage(district, replaces_usual=True))


@pytest.mark.parametrize(
    "change", [change_rule, change_address, change_heads, void_district, begin_stage]
)
def test_what_the_rules_hang_on_is_noticed_by_one_more_night(
    planned, district, change, monkeypatch
):
    rule_rows.make_rule(district)
    night()
    computed = []
    look = night_runs.night_outlook
    monkeypatch.setattr(night_runs, "night_outlook", lambda *a: computed.append(a) or look(*a))
    change(district, planned[0])

    for _ in range(2):
        run_again(now=cast.NOW)
        work(cast.NOW)

    assert len(computed) == 1


def test_the_rules_are_read_in_few_queries_whatever_their_number(planned, district):
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            NightRules(cast.TODAY)
        return len(found)

    rule_rows.make_rule(district)
    before = queries()
    for number in range(5):
        other = rule_rows.make_district(f"District {number}")
        stage = rule_rows.make_stage(other)
        rule_rows.make_rule(other)
        rule_rows.make_period(stage)

    assert queries() <= before + 1  # periods are read where there are stages
    assert WateringDistrict.objects.count() == 6
