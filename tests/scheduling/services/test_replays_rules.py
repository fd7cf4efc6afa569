"""Replays under the rules of a district, and of plants that live through more than seasons."""

from __future__ import annotations

import pytest

from properties.models import Zone
from tests import cast
from tests.properties.rule_rows import make_district, make_rule
from tests.scheduling.program_rows import make_fitted
from tests.scheduling.replay_rows import make_answer, make_setting

IDEAL = {"name": "ideal", "base": "ideal", "changes": []}


@pytest.fixture
def tested(visit, zone, station):
    cast.make_catch_test(visit, zone)
    make_setting(zone.controller, {zone: 20})
    return zone


@pytest.fixture
def fitted(tested):
    """Nine minutes on Mondays, all year."""
    return make_fitted(tested.controller)


@pytest.fixture
def ruled(garden):
    district = make_district()
    make_rule(district)
    garden.watering_district = district
    garden.save()
    return district


def codes(variant):
    return [each["code"] for each in variant["notes"]]


def litres(variant):
    return variant["zones"][0]["years"]["litres"]


def test_the_ideal_keeps_the_days_of_the_district_and_says_so(garden, fitted, ruled, office):
    # A year has at most 106 Wednesdays and Saturdays.
    answer = make_answer(garden, office)

    found, ideal, fit = answer["variants"]
    assert codes(found) == ["rules-not-kept"]
    assert codes(ideal) == ["rules-kept"]
    assert codes(fit) == ["rules-as-fitted"]
    assert all("Tallgrass Water" in each["notes"][0]["sentence"] for each in (found, ideal, fit))
    assert max(ideal["zones"][0]["years"]["watering_days"]) <= 106


def test_a_rule_costs_plants_and_that_is_seen(garden, tested, ruled, office):
    bound = make_answer(garden, office, variants=[IDEAL])["variants"][0]["summary"]["dry_year"]
    garden.watering_district = None
    garden.save()

    (variant,) = make_answer(garden, office, variants=[IDEAL])["variants"]

    assert codes(variant) == ["no-rules"]
    assert variant["summary"]["dry_year"]["adequacy"] >= bound["adequacy"]
    assert variant["summary"]["dry_year"]["stress_days"] <= bound["stress_days"]


def test_lives_of_plants_count_and_are_said(garden, tested, office):
    (awake,) = make_answer(garden, office, variants=[IDEAL])["variants"]
    Zone.objects.filter(pk=tested.pk).update(dormant_from="06-01", dormant_until="08-31")

    answer = make_answer(garden, office, variants=[IDEAL])

    assert "plant-lives" in [each["code"] for each in answer["notes"]]
    assert sum(litres(answer["variants"][0])) < sum(litres(awake))
