"""Districts, stages and their periods put right, ended and retired."""

from __future__ import annotations

import pytest

from properties.models import DroughtStage, Event, StagePeriod, WateringDistrict
from tests import cast
from tests.problems import pointers, row_counts
from tests.properties import rule_rows
from tests.properties.api.bodies import API
from tests.writes import patch

DISTRICTS, STAGES = f"{API}/watering-districts", f"{API}/drought-stages"
PERIODS = f"{API}/stage-periods"


@pytest.fixture
def district(company) -> WateringDistrict:
    return rule_rows.make_district()


@pytest.fixture
def stage(district) -> DroughtStage:
    return rule_rows.make_stage(district)


def refusal(answer):
    return answer.status_code, answer.json()["errors"][0]["code"], *pointers(answer)


def events_of(row) -> list[str]:
    return list(Event.objects.filter(subject_id=row.pk).values_list("act", flat=True))


def test_a_district_is_put_right(office_api, office, district):
    url = f"{DISTRICTS}/{district.pk}"

    changed = patch(office_api, url, {"source": "Order 8"}, revision=1)
    same = patch(office_api, url, {"source": "Order 8"})
    stale = patch(office_api, url, {"name": "Other"}, revision=1)
    unknown = patch(office_api, url, {"active_stage": None})

    assert changed.status_code == 200, changed.json()
    assert (changed.json()["source"], changed.json()["revision"]) == ("Order 8", 2)
    assert same.json()["revision"] == 2
    assert (stale.status_code, pointers(unknown)) == (412, ["/active_stage"])
    event = Event.objects.get(subject_id=district.pk)
    assert (event.act, event.actor, event.after) == ("changed", office, {"source": "Order 8"})


def test_two_districts_of_one_name_are_refused(office_api, district):
    other = rule_rows.make_district("Other")

    answer = patch(office_api, f"{DISTRICTS}/{other.pk}", {"name": district.name})

    assert (answer.status_code, pointers(answer)) == (400, ["/name"])


def test_a_district_is_retired_once_no_property_is_in_it(office_api, garden, district):
    garden.watering_district = district
    garden.save()
    url, place = f"{DISTRICTS}/{district.pk}", f"{API}/properties/{garden.pk}"

    in_use = patch(office_api, url, {"is_retired": True})
    patch(office_api, place, {"watering_district": None})
    retired = patch(office_api, url, {"is_retired": True})
    put_back = patch(office_api, place, {"watering_district": str(district.pk)})

    assert refusal(in_use) == (409, "district-in-use", "/is_retired")
    assert (retired.status_code, retired.json()["is_retired"]) == (200, True)
    assert events_of(district) == ["retired"]
    assert (put_back.status_code, pointers(put_back)) == (400, ["/watering_district"])
    assert patch(office_api, url, {"is_retired": False}).status_code == 200
    assert patch(office_api, place, {"watering_district": str(district.pk)}).status_code == 200


def test_a_stage_is_put_right(office_api, stage):
    url = f"{STAGES}/{stage.pk}"

    changed = patch(office_api, url, {"name": "Severe", "replaces_usual": True}, revision=1)
    stale = patch(office_api, url, {"name": "Other"}, revision=1)
    moved = patch(office_api, url, {"district": str(stage.district_id)})

    assert changed.json().items() >= {
        "name": "Severe", "replaces_usual": True, "revision": 2, "is_retired": False,
    }.items()  # fmt: skip
    assert (stale.status_code, pointers(moved)) == (412, ["/district"])
    assert events_of(stage) == ["changed"]


def test_a_stage_is_retired_once_it_is_over_and_not_switched_on_again(office_api, district, stage):
    period = rule_rows.make_period(stage, first_date="2026-06-01")
    url = f"{STAGES}/{stage.pk}"

    on = patch(office_api, url, {"is_retired": True})
    patch(office_api, f"{PERIODS}/{period.pk}", {"last_date": "2026-06-09"})  # today is 10 June
    retired = patch(office_api, url, {"is_retired": True})
    switched = office_api.post(
        f"{DISTRICTS}/{district.pk}/switch-stage",
        {"stage": str(stage.pk), "first_date": "2026-06-20"},
    )

    assert refusal(on) == (409, "stage-in-use", "/is_retired")
    assert "2026-06-01 to on" in on.json()["detail"]
    assert retired.status_code == 200
    assert refusal(switched) == (409, "stage-retired", "/stage")
    assert events_of(stage) == ["retired"]


@pytest.mark.parametrize(
    ("first", "last"), [("2026-08-01", "2026-08-31"), ("2026-06-01", "2026-06-10")]
)
def test_a_stage_to_come_or_on_its_last_day_is_not_retired(office_api, stage, first, last):
    rule_rows.make_period(stage, first_date=first, last_date=last)  # today is 10 June

    answer = patch(office_api, f"{STAGES}/{stage.pk}", {"is_retired": True})

    assert refusal(answer) == (409, "stage-in-use", "/is_retired")


def test_the_office_ends_a_stage_on_a_date(office_api, office, district, stage):
    period = rule_rows.make_period(stage, first_date="2026-06-01")
    url = f"{PERIODS}/{period.pk}"

    ended = patch(office_api, url, {"last_date": "2026-06-15"}, revision=1)
    stale = patch(office_api, url, {"last_date": "2026-06-20"}, revision=1)

    assert ended.json().items() >= {
        "stage": str(stage.pk), "first_date": "2026-06-01", "last_date": "2026-06-15",
        "is_void": False, "revision": 2,
    }.items()  # fmt: skip
    assert stale.status_code == 412
    event = Event.objects.get(subject_id=period.pk)
    assert (event.act, event.actor) == ("ended", office)
    read = office_api.get(f"{DISTRICTS}/{district.pk}").json()
    assert read["stage_periods"][0]["last_date"] == "2026-06-15"


def test_days_of_a_period_are_put_right_and_it_can_be_open_again(office_api, stage):
    period = rule_rows.make_period(stage, first_date="2026-06-01", last_date="2026-06-15")

    changed = patch(
        office_api, f"{PERIODS}/{period.pk}", {"first_date": "2026-05-20", "last_date": None}
    )

    assert (changed.json()["first_date"], changed.json()["last_date"]) == ("2026-05-20", None)
    assert events_of(period) == ["changed"]


@pytest.mark.parametrize(
    ("changes", "told", "remedy"),
    [
        ({"last_date": "2026-07-01"}, (409, "stages-overlap", "/last_date"), "before 2026-07-01"),
        ({"last_date": None}, (409, "stages-overlap", "/last_date"), "before 2026-07-01"),
        ({"first_date": "2026-05-31"}, (409, "stages-overlap", "/first_date"), "after 2026-05-31"),
        ({"last_date": "2026-05-31"}, (400, "dates-crossed", "/last_date"), "not before the first"),
        (
            {"first_date": "2026-06-16"}, (400, "dates-crossed", "/first_date"),
            "not before the first",
        ),
    ],
)  # fmt: skip
def test_a_period_that_cannot_be_is_refused_with_its_remedy(
    office_api, district, stage, changes, told, remedy
):
    second = rule_rows.make_stage(district, "Stage 2")
    rule_rows.make_period(second, first_date="2026-05-01", last_date="2026-05-31")
    rule_rows.make_period(second, first_date="2026-07-01", last_date="2026-07-31")
    period = rule_rows.make_period(stage, first_date="2026-06-01", last_date="2026-06-15")
    before = row_counts(), StagePeriod.objects.values().get(pk=period.pk)

    answer = patch(office_api, f"{PERIODS}/{period.pk}", changes)

    assert refusal(answer) == told
    assert remedy in answer.json()["remedy"]
    assert (row_counts(), StagePeriod.objects.values().get(pk=period.pk)) == before


def test_periods_that_touch_or_are_void_or_of_others_do_not_overlap(office_api, district, stage):
    period = rule_rows.make_period(stage, first_date="2026-06-01", last_date="2026-06-15")
    rule_rows.make_period(stage, first_date="2026-07-01", last_date="2026-07-31")
    rule_rows.make_period(stage, first_date="2026-06-16", is_void=True)
    elsewhere = rule_rows.make_stage(rule_rows.make_district("Other"))
    rule_rows.make_period(elsewhere, first_date="2026-06-10")

    answer = patch(office_api, f"{PERIODS}/{period.pk}", {"last_date": "2026-06-30"})

    assert answer.status_code == 200, answer.json()


def test_a_void_period_is_not_ended(office_api, stage):
    period = rule_rows.make_period(stage, is_void=True)

    answer = patch(office_api, f"{PERIODS}/{period.pk}", {"last_date": "2026-06-30"})

    assert refusal(answer) == (409, "period-void", "/first_date")


def test_technicians_and_strangers_change_nothing(
    technician_api, outsider_api, anonymous_api, district
):
    stage = rule_rows.make_stage(district)
    period = rule_rows.make_period(stage)

    for url, row in ((DISTRICTS, district), (STAGES, stage), (PERIODS, period)):
        for api, read, write in (
            (technician_api, 200, 403), (outsider_api, 200, 403), (anonymous_api, 401, 401),
        ):  # fmt: skip
            assert api.get(f"{url}/{row.pk}").status_code == read
            assert api.patch(f"{url}/{row.pk}", {}).status_code == write
    assert technician_api.post(PERIODS, {}).status_code in (403, 405)


def test_the_number_of_queries_of_the_periods_is_constant(
    office_api, company, django_assert_num_queries, django_assert_max_num_queries
):
    rule_rows.one_of_each(1)
    with django_assert_max_num_queries(6) as queries:
        office_api.get(PERIODS)
    for number in range(2, 9):
        rule_rows.one_of_each(number)

    with django_assert_num_queries(len(queries)):
        assert len(office_api.get(PERIODS).json()["results"]) == 8


def test_a_property_comes_into_no_retired_district(office_api, district, company):
    WateringDistrict.objects.update(is_retired=True)
    customer = cast.make_customer()
    body = {
        "customer": str(customer.pk), "name": "New", "street": "1 Mill Lane", "city": "Tallgrass",
        "watering_district": str(district.pk),
    }  # fmt: skip

    answer = office_api.post(f"{API}/properties", body)

    assert (answer.status_code, pointers(answer)) == (400, ["/watering_district"])
