"""When a zone may run, over the API."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import cast
from tests.problems import pointers
from tests.properties import rule_rows
from tests.properties.api.bodies import API

pytestmark = pytest.mark.usefixtures("visit")


@pytest.fixture
def district(garden):
    """Return the district of the garden at 48 Kiln Street: even, Thursday and Sunday."""
    district = rule_rows.make_district()
    common = {
        "hours": ["00:00-10:00", "19:00-24:00"], "minutes_cap": 60, "depth_cap_mm": 19.05,
        "exempt_methods": ["drip"], "treatment_depth_mm": 6.35, "treatment_within_h": 24,
    }  # fmt: skip
    rule_rows.make_rule(district, name="Odd", addresses="odd", weekdays=[2, 5], **common)
    rule_rows.make_rule(district, name="Even", addresses="even", weekdays=[3, 6], **common)
    garden.watering_district = district
    garden.save()
    return district


def times(api, row, kind="zones", **query):
    return api.get(f"{API}/{kind}/{row.pk}/allowed-times", query)


def test_a_zone_is_told_its_days_hours_caps_and_why(office_api, zone, district):
    answer = times(office_api, zone, first="2026-06-08", last="2026-06-14").json()

    assert answer["weekdays"] == [3, 6]
    assert answer["hours"] == ["00:00-10:00", "19:00-24:00"]
    assert (answer["minutes_cap"], answer["depth_cap"]) == (60, {"value": 0.75, "unit": "in"})
    monday, thursday = answer["days"][0], answer["days"][3]
    assert monday["sentence"] == (
        "Your house number is even: Thursday and Sunday, before 10 in the morning or after 7 in "
        "the evening; at most an hour and 0.75 in a zone."
    )
    assert (monday["is_allowed"], monday["refusal"]) == (False, "not_the_day")
    assert (monday["next_date"], monday["hours"]) == ("2026-06-11", [])
    assert [rule["name"] for rule in monday["decided_by"]] == ["Even"]
    assert (thursday["date"], thursday["is_allowed"]) == ("2026-06-11", True)


def test_today_at_the_place_when_no_date_is_asked(office_api, zone):
    (day,) = times(office_api, zone).json()["days"]

    assert day["date"] == "2026-06-10"
    assert "No watering district" in day["remarks"][0]


def test_purposes_and_methods_have_their_own_answers(office_api, zone, district):
    def monday(**query):
        (day,) = times(office_api, zone, date="2026-06-08", units="metric", **query).json()["days"]
        return day

    treated = monday(purpose="treatment", applied_at="2026-06-08T12:00:00-05:00")
    test, drip = monday(purpose="test_run"), monday(method="drip")

    assert (treated["hours"], treated["depth_cap"]) == (
        ["12:00-24:00"], {"value": 6.35, "unit": "mm"},
    )  # fmt: skip
    assert (test["is_allowed"], test["needs_exemption"]) == (False, True)
    assert drip["is_allowed"]


def test_an_active_stage_binds_beside_the_usual_rules(office_api, zone, district):
    stage = rule_rows.make_stage(district)
    rule_rows.make_rule(district, stage=stage, name="Dry", weekdays=[6], minutes_cap=20)
    rule_rows.make_period(stage, first_date="2026-06-15", last_date="2026-06-21")

    answer = times(office_api, zone, first="2026-06-08", last="2026-06-28").json()

    assert (answer["weekdays"], answer["minutes_cap"]) == ([6], 20)
    assert answer["changes"] == ["2026-06-15", "2026-06-22"]
    assert [day["remarks"] for day in answer["days"][6:8]] == [
        [],
        [
            "Tallgrass Water has Stage 1 on from Monday 15 June 2026 until Sunday 21 June 2026: "
            "its rules hold beside the usual ones."
        ],
    ]


def test_a_property_tells_of_each_active_zone(office_api, garden, controller, zone, district):
    cast.make_zone(controller, number=2, head_kind="drip")
    cast.make_zone(controller, number=3, is_active=False)

    answer = times(office_api, garden, "properties", date="2026-06-08").json()

    assert (answer["house_number"], answer["property_class"]) == (48, "residential")
    assert answer["watering_district"] == str(district.pk)
    assert [(each["number"], each["days"][0]["is_allowed"]) for each in answer["zones"]] == [
        (1, False), (2, True),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ({"date": "tomorrow"}, "/date"), ({"date": "1999-12-31"}, "/date"),
        ({"first": "2026-06-01"}, "/last"), ({"last": "2026-06-01"}, "/last"),
        ({"first": "2026-06-02", "last": "2026-06-01"}, "/last"),
        ({"first": "2026-06-01", "last": "2026-09-01"}, "/last"),
        ({"date": "2026-06-01", "first": "2026-06-01", "last": "2026-06-01"}, "/last"),
        ({"purpose": "fun"}, "/purpose"), ({"method": "fog"}, "/method"),
        ({"applied_at": "2026-06-01T10:00:00Z"}, "/applied_at"), ({"units": "roman"}, "/units"),
        ({"day": "2026-06-01"}, "/day"),
    ],
)  # fmt: skip
def test_a_question_that_cannot_be_is_refused(office_api, zone, query, pointer):
    answer = times(office_api, zone, **query)

    assert (answer.status_code, pointers(answer)) == (400, [pointer])


def test_the_longest_questions(office_api, zone, garden):
    days = {"first": "2026-06-01", "last": "2026-08-31"}

    assert len(times(office_api, zone, **days).json()["days"]) == 92
    assert times(office_api, garden, "properties", **days).status_code == 400


def test_a_stranger_finds_nothing_and_nobody_is_turned_away(
    technician_api, outsider_api, anonymous_api, zone, garden
):
    for row, kind in ((zone, "zones"), (garden, "properties")):
        statuses = [
            times(api, row, kind).status_code
            for api in (technician_api, outsider_api, anonymous_api)
        ]
        assert statuses == [200, 404, 401]


def test_the_number_of_queries_grows_neither_with_zones_nor_with_rules(
    technician_api, garden, controller, zone, district
):
    def cost():
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert times(technician_api, garden, "properties").status_code == 200
        return len(queries)

    rule_rows.make_period(rule_rows.make_stage(district))
    before = cost()
    for number in range(2, 12):
        cast.make_zone(controller, number=number)
        stage = rule_rows.make_stage(district, f"Stage {number}")
        rule_rows.make_rule(district, stage=stage)
        rule_rows.make_period(stage)

    assert cost() == before
    assert before <= 9
