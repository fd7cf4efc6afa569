"""What the district allows programs in each of the twelve months to come."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Zone
from scheduling.domain.programs import ProgramRules
from scheduling.selectors.program_rules import MonthRules
from tests import cast
from tests.properties.rule_rows import make_district, make_rule

pytestmark = pytest.mark.django_db
ON = cast.TODAY
EVERY_DAY = frozenset(range(7))


@pytest.fixture
def district(garden):
    garden.watering_district = make_district()
    garden.save()
    return garden.watering_district


def test_without_a_district_nothing_binds(garden, zone):
    assert MonthRules(garden, ON).of([zone], 7) == (ProgramRules(), ProgramRules())


def test_a_month_is_the_next_of_its_name(garden, zone, district):
    # From New Year on; it is June now, so the months before June are those of the next year.
    make_rule(district, weekdays=[2, 5], first_date=dt.date(ON.year + 1, 1, 1))
    rules = MonthRules(garden, ON)

    days = [rules.of([zone], month)[0].allowed_weekdays for month in range(1, 13)]

    assert days == [{2, 5}] * 5 + [EVERY_DAY] * 7


def test_hours_and_caps_come_along(garden, zone, district):
    make_rule(
        district, weekdays=[2], hours=["20:00-24:00", "00:00-08:00"], minutes_cap=30,
        depth_cap_mm=12.0,
    )  # fmt: skip

    sprinklers, _ = MonthRules(garden, ON).of([zone], 7)

    assert len(sprinklers.minutes()) == 12 * 60
    assert (sprinklers.daily_minutes_cap, sprinklers.daily_depth_cap_mm) == (30, 12.0)


def test_drip_that_is_exempt_has_rules_of_its_own(garden, controller, zone, district):
    make_rule(district, weekdays=[2], exempt_methods=["drip"])
    beds = cast.make_zone(controller, number=2, name="Beds", head_kind="drip")

    sprinklers, drip = MonthRules(garden, ON).of(list(Zone.objects.all()), 7)

    assert beds.head_kind == "drip"
    assert sprinklers.allowed_weekdays == {2}
    assert drip.allowed_weekdays == EVERY_DAY
