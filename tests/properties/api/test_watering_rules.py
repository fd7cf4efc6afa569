"""Districts, rules and drought stages over the API."""

from __future__ import annotations

from uuid import uuid4

import pytest

from properties.models import DroughtStage, Event, StagePeriod, WateringDistrict, WateringRule
from tests import cast
from tests.problems import pointers, row_counts
from tests.properties import rule_rows
from tests.properties.api.bodies import API
from tests.writes import end, patch

DISTRICTS, RULES = f"{API}/watering-districts", f"{API}/watering-rules"
STAGES = f"{API}/drought-stages"


@pytest.fixture
def district(company) -> WateringDistrict:
    return rule_rows.make_district()


@pytest.fixture
def stage(district) -> DroughtStage:
    return rule_rows.make_stage(district)


def rule_of(district, **changes):
    values = {
        "district": str(district.pk), "name": "Odd residences", "addresses": "odd",
        "property_classes": ["residential"], "weekdays": [2, 5], "minutes_cap": 60.0,
        "hours": ["00:00-10:00", "19:00-24:00"], "depth_cap": {"value": 0.75, "unit": "in"},
        "planting_any_days": 30, "planting_alternate_days": 30, "exempt_methods": ["drip"],
        "treatment_depth": {"value": 0.25, "unit": "in"}, "treatment_within_h": 24.0,
        "clock": "daylight", "from_day": "02-01", "until_day": "11-30", "test_runs": "free",
        "test_run_cap_min": 10.0,
    }  # fmt: skip
    return {**values, **changes}


def switch(api, district, stage, first, last=None):
    body = {"stage": stage and str(stage.pk), "first_date": first}
    return api.post(f"{DISTRICTS}/{district.pk}/switch-stage", {**body, "last_date": last})


def test_the_office_enters_a_district_and_its_rules_and_reads_them_back(office_api, office):
    body = {"name": "Tallgrass Water", "source": "Order 7", "source_address": "https://x.example/7"}
    made = office_api.post(DISTRICTS, body)
    district = WateringDistrict.objects.get()
    rule = office_api.post(RULES, rule_of(district))

    assert (made.status_code, rule.status_code) == (201, 201), rule.json()
    assert made.json().items() >= {**body, "active_stage": None, "stage_periods": []}.items()
    assert rule.json().items() >= rule_of(district).items()
    assert WateringRule.objects.get().depth_cap_mm == pytest.approx(19.05)
    assert office_api.get(f"{RULES}/{rule.json()['id']}").json() == rule.json()
    assert Event.objects.get(subject_id=rule.json()["id"]).actor == office


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"hours": []}, "/hours"), ({"hours": ["25:00-26:00"]}, "/hours"),
        ({"hours": {"a": 1}}, "/hours"), ({"weekdays": []}, "/weekdays"),
        ({"weekdays": ["someday"]}, "/weekdays"), ({"weekdays": [7]}, "/weekdays"),
        ({"first_date": "2026-06-02", "last_date": "2026-06-01"}, "/last_date"),
        ({"addresses": "digits"}, "/last_digits"), ({"addresses": "blue"}, "/addresses"),
        ({"is_ban": True}, "/is_ban"), ({"depth_cap": {"value": 0, "unit": "mm"}}, "/depth_cap"),
        ({"treatment_within_h": None}, "/treatment_within_h"),
        ({"treatment_depth": None}, "/treatment_depth"), ({"clock": "winter"}, "/clock"),
        ({"exempt_methods": ["fog"]}, "/exempt_methods"), ({"until_day": "02-30"}, "/until_day"),
        ({"stage": str(uuid4())}, "/stage"), ({"colour": "green"}, "/colour"),
    ],
)  # fmt: skip
def test_a_rule_that_cannot_be_is_refused_and_nothing_is_written(
    office_api, district, changes, pointer
):
    before = row_counts()

    answer = office_api.post(RULES, rule_of(district, **changes))

    assert (answer.status_code, pointers(answer)) == (400, [pointer])
    assert row_counts() == before


def test_a_refusal_of_the_rules_themselves_names_the_remedy(office_api, district):
    answer = office_api.post(RULES, rule_of(district, weekdays=[])).json()

    assert "say that it is a ban" in answer["remedy"]
    assert answer["errors"][0]["code"] == "no-day"


def test_a_stage_of_another_district_is_refused(office_api, district, stage):
    other = rule_rows.make_district("Other")

    added = office_api.post(RULES, rule_of(other, stage=str(stage.pk)))
    switched = switch(office_api, other, stage, "2026-06-20")

    for answer in (added, switched):
        assert (answer.status_code, pointers(answer)) == (400, ["/stage"])


def test_a_rule_is_changed_whole_or_not_at_all(office_api, district):
    rule = rule_rows.make_rule(district)
    url = f"{RULES}/{rule.pk}"

    changed = patch(office_api, url, {"weekdays": [3]}, revision=1)
    before = WateringRule.objects.values().get()
    stale = patch(office_api, url, {"weekdays": [4]}, revision=1)
    crossed = patch(office_api, url, {"weekdays": [4], "closed_hours": ["00:00-24:00"]})
    moved = patch(office_api, url, {"district": str(district.pk)})

    assert (changed.json()["weekdays"], changed.json()["revision"]) == ([3], 2)
    assert [(answer.status_code) for answer in (stale, crossed, moved)] == [412, 400, 400]
    assert pointers(crossed) == ["/closed_hours"]
    assert WateringRule.objects.values().get() == before
    event = Event.objects.get(subject_id=rule.pk)
    assert (event.before, event.after) == ({"weekdays": [2, 5]}, {"weekdays": [3]})


def test_a_changed_depth_loses_what_was_entered_before(office_api, district):
    made = office_api.post(RULES, rule_of(district)).json()

    changed = patch(
        office_api, f"{RULES}/{made['id']}", {"depth_cap": {"value": 12, "unit": "mm"}}
    ).json()

    assert changed["depth_cap"] == {"value": 12, "unit": "mm"}
    assert changed["treatment_depth"] == made["treatment_depth"]


def test_a_retired_rule_holds_to_its_last_day(office_api, district):
    rule = rule_rows.make_rule(district, first_date="2026-01-01")
    url = f"{RULES}/{rule.pk}"

    early = end(office_api, url, body={"last_date": "2025-12-31"})
    retired = end(office_api, url, body={"last_date": "2026-06-30"})
    again = end(office_api, url, body={"last_date": "2026-07-30"})

    assert (early.status_code, retired.status_code, again.status_code) == (400, 200, 409)
    assert pointers(early) == pointers(again) == ["/last_date"]
    assert retired.json()["last_date"] == "2026-06-30"
    assert Event.objects.get(subject_id=rule.pk).act == "retired"


def test_a_stage_is_switched_on_replaced_and_switched_off(office_api, office, district, stage):
    second = rule_rows.make_stage(district, "Stage 2")

    first = switch(office_api, district, stage, "2026-06-01")
    replaced = switch(office_api, district, second, "2026-06-08", "2026-07-31")
    off = switch(office_api, district, None, "2026-06-20")

    assert first.json()["active_stage"] == str(stage.pk)
    assert replaced.json()["active_stage"] == str(second.pk)  # today is 10 June
    assert [
        (period["stage"], period["first_date"], period["last_date"])
        for period in off.json()["stage_periods"]
    ] == [
        (str(stage.pk), "2026-06-01", "2026-06-07"), (str(second.pk), "2026-06-08", "2026-06-19"),
    ]  # fmt: skip
    acts = Event.objects.filter(subject_kind="properties.stageperiod", actor=office)
    assert sorted(acts.values_list("act", flat=True)) == ["ended", "ended", "switched", "switched"]


def test_a_slip_of_the_same_day_is_put_right(office_api, district, stage):
    second = rule_rows.make_stage(district, "Stage 2")
    switch(office_api, district, stage, "2026-06-10")

    answer = switch(office_api, district, second, "2026-06-10")

    assert [period["stage"] for period in answer.json()["stage_periods"]] == [str(second.pk)]
    assert StagePeriod.objects.filter(is_void=True).count() == 1


def test_a_switch_that_cannot_be_is_refused(office_api, district, stage):
    rule_rows.make_period(stage, first_date="2026-07-01")
    before = row_counts()

    overlapping = switch(office_api, district, stage, "2026-06-20")
    nothing_on = switch(office_api, district, None, "2026-06-20")
    crossed = switch(office_api, district, stage, "2026-06-20", "2026-06-19")

    assert [
        (answer.status_code, answer.json()["errors"][0]["code"], *pointers(answer))
        for answer in (overlapping, nothing_on, crossed)
    ] == [
        (409, "stages-overlap", "/last_date"), (409, "no-stage", "/stage"),
        (400, "dates-crossed", "/last_date"),
    ]  # fmt: skip
    assert row_counts() == before
    assert switch(office_api, district, stage, "2026-06-20", "2026-06-30").status_code == 200


def test_technicians_read_and_do_not_write(technician_api, outsider_api, anonymous_api, district):
    rule = rule_rows.make_rule(district)
    stage = rule_rows.make_stage(district)
    rows = ((DISTRICTS, district), (RULES, rule), (STAGES, stage))

    for url, row in rows:
        for api, read, write in (
            (technician_api, 200, 403), (outsider_api, 200, 403), (anonymous_api, 401, 401),
        ):  # fmt: skip
            assert api.get(url).status_code == api.get(f"{url}/{row.pk}").status_code == read
            assert api.post(url, {}).status_code == write
    assert technician_api.patch(f"{RULES}/{rule.pk}", {"weekdays": [0]}).status_code == 403
    assert switch(technician_api, district, stage, "2026-06-10").status_code == 403
    assert WateringRule.objects.get().weekdays == [2, 5]


@pytest.mark.parametrize("url", [DISTRICTS, RULES, STAGES])
def test_the_number_of_queries_of_a_list_is_constant(
    office_api, company, django_assert_max_num_queries, url
):
    def cost(most: int) -> int:
        with django_assert_max_num_queries(most) as queries:
            office_api.get(url)
        return len(queries)

    rule_rows.one_of_each(1)
    before = cost(6)
    for number in range(2, 9):
        rule_rows.one_of_each(number)

    assert cost(before) == before


def test_a_property_is_put_in_its_district(office_api, technician_api, visit, garden, district):
    url = f"{API}/properties/{garden.pk}"
    body = {
        "watering_district": str(district.pk), "property_class": "commercial", "house_number": "-",
    }  # fmt: skip

    answer = patch(office_api, url, body)
    refused = patch(office_api, url, {"house_number": "12b"})
    unknown = patch(office_api, url, {"streets": "1 Other Street"})

    assert (answer.status_code, answer.json()["revision"]) == (200, 2)
    assert answer.json().items() >= body.items()
    assert (refused.status_code, pointers(refused)) == (400, ["/house_number"])
    assert (unknown.status_code, pointers(unknown)) == (400, ["/streets"])
    assert technician_api.patch(url, body).status_code == 403
    garden.refresh_from_db()
    assert (garden.number(), garden.street) == (None, cast.make_property().street)
    assert Event.objects.get(subject_id=garden.pk).after["house_number"] == "(not kept)"
