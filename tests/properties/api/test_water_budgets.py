"""What districts grant a landscape, entered, put right and retired."""

from __future__ import annotations

import pytest

from properties.models import Event, WaterBudget
from tests.problems import pointers, row_counts
from tests.properties import rule_rows
from tests.properties.api.bodies import API
from tests.writes import end, patch

BUDGETS = f"{API}/water-budgets"


@pytest.fixture
def district(company):
    return rule_rows.make_district()


def body_of(district, **changes):
    values = {
        "district": str(district.pk), "name": "The ordinance", "source": "Order 7",
        "span": "year", "property_classes": ["residential"], "factor": 0.55,
        "special_factor": 1.0, "rain_part": 0.25, "gallons_per_inch_ft2": 0.62,
        "overhead_efficiency": 0.75, "drip_efficiency": 0.81, "first_date": "2015-12-01",
        "last_date": None,
    }  # fmt: skip
    return {**values, **changes}


def test_the_office_enters_a_budget_and_reads_it_back(office_api, office, district):
    made = office_api.post(BUDGETS, body_of(district))

    assert made.status_code == 201, made.json()
    assert made.json().items() >= body_of(district).items()
    assert office_api.get(f"{BUDGETS}/{made.json()['id']}").json() == made.json()
    event = Event.objects.get(subject_id=made.json()["id"])
    assert (event.act, event.actor) == ("created", office)


def test_what_is_left_out_is_the_usual(office_api, district):
    left_out = ("span", "property_classes", "special_factor", "rain_part", "gallons_per_inch_ft2")
    body = {name: value for name, value in body_of(district).items() if name not in left_out}

    made = office_api.post(BUDGETS, body).json()

    assert [made[name] for name in left_out] == ["year", [], 1.0, 0.0, None]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"factor": 0}, "/factor"), ({"factor": None}, "/factor"),
        ({"special_factor": 1.6}, "/special_factor"), ({"rain_part": 25}, "/rain_part"),
        ({"gallons_per_inch_ft2": 0.7}, "/gallons_per_inch_ft2"),
        ({"overhead_efficiency": 75}, "/overhead_efficiency"),
        ({"drip_efficiency": 0}, "/drip_efficiency"), ({"span": "week"}, "/span"),
        ({"property_classes": ["castle"]}, "/property_classes"),
        ({"property_classes": {"a": 1}}, "/property_classes"),
        ({"last_date": "2015-11-30"}, "/last_date"), ({"source": ""}, "/source"),
        ({"colour": "green"}, "/colour"),
    ],
)  # fmt: skip
def test_a_budget_that_cannot_be_is_refused(office_api, district, changes, pointer):
    before = row_counts()

    answer = office_api.post(BUDGETS, body_of(district, **changes))

    assert (answer.status_code, pointers(answer)) == (400, [pointer])
    assert row_counts() == before


def test_a_budget_is_put_right_at_the_revision_that_was_read(office_api, district):
    budget = rule_rows.make_budget(district)
    url = f"{BUDGETS}/{budget.pk}"

    changed = patch(office_api, url, {"factor": 0.42}, revision=1)
    stale = patch(office_api, url, {"factor": 0.5}, revision=1)
    moved = patch(office_api, url, {"district": str(district.pk)})

    assert (changed.json()["factor"], changed.json()["revision"]) == (0.42, 2)
    assert (stale.status_code, pointers(moved)) == (412, ["/district"])
    event = Event.objects.get(subject_id=budget.pk)
    assert (event.before, event.after) == ({"factor": 0.55}, {"factor": 0.42})


def test_a_retired_budget_holds_to_its_last_day(office_api, district):
    budget = rule_rows.make_budget(district)
    url = f"{BUDGETS}/{budget.pk}"

    retired = end(office_api, url, body={"last_date": "2035-06-30"})
    again = end(office_api, url, body={"last_date": "2035-07-30"})

    assert retired.json()["last_date"] == "2035-06-30"
    assert (again.status_code, pointers(again)) == (409, ["/last_date"])
    assert Event.objects.get(subject_id=budget.pk).act == "retired"


def test_technicians_read_and_strangers_do_not(technician_api, anonymous_api, district):
    budget = rule_rows.make_budget(district)
    url = f"{BUDGETS}/{budget.pk}"

    for api, read, write in ((technician_api, 200, 403), (anonymous_api, 401, 401)):
        assert api.get(BUDGETS).status_code == api.get(url).status_code == read
        assert api.post(BUDGETS, body_of(district)).status_code == write
        assert api.patch(url, {"factor": 0.1}).status_code == write
        assert api.post(f"{url}/retire", {"last_date": "2026-01-01"}).status_code == write
    assert WaterBudget.objects.get().factor == 0.55


def test_the_number_of_queries_of_the_list_is_constant(
    office_api, company, django_assert_num_queries, django_assert_max_num_queries
):
    rule_rows.one_of_each(1)
    with django_assert_max_num_queries(6) as queries:
        office_api.get(BUDGETS)
    for number in range(2, 9):
        rule_rows.one_of_each(number)

    with django_assert_num_queries(len(queries)):
        assert len(office_api.get(BUDGETS).json()["results"]) == 8
