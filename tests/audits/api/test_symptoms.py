"""Symptoms over the API: told by their look, with what the cups say, never a diagnosis."""

from __future__ import annotations

import pytest

from audits.domain.symptom_words import ASK, SymptomKind
from tests import cast
from tests.audits import field_rows
from tests.problems import pointers, row_counts

URL = "/api/v1/symptoms"


@pytest.fixture
def send(technician_api, visit, zone):
    def post(**body):
        sent = {"visit": str(visit.pk), "zone": str(zone.pk), "kind": "drought_stress", **body}
        return technician_api.post(URL, sent)

    return post


def test_without_a_test_the_water_tells_nothing(send):
    water = send(spot="dry").json()["water"]

    assert (water["explains"], water["confidence"]) == ("unknown", "low")
    assert water["evidence"] == ["It is seen where the ground is dry."]


def test_cups_that_show_uneven_water_explain_a_dry_spot(send, visit, zone):
    cast.make_catch_test(visit, zone, du_lq=0.4)

    water = send(spot="dry", note="Between the second and third head.").json()["water"]

    assert water == {
        "explains": "uneven", "confidence": "medium",
        "sentence": "The zone is not wet alike all over, which probably explains the wilted or"
        " faded plants: the roots run dry between waterings.",
        "evidence": ["The cups show uneven water.", "It is seen where the ground is dry."],
        "ask": ASK[SymptomKind.DROUGHT_STRESS],
    }  # fmt: skip


def test_the_newest_test_that_rules_is_the_one_that_speaks(send, visit, zone):
    cast.make_catch_test(visit, zone, du_lq=0.8)
    cast.make_catch_test(visit, zone, du_lq=0.3, before_mending=True)

    evidence = send().json()["water"]["evidence"]

    assert evidence == ["The cups show even water."]


def test_a_pooled_test_tells_nothing_of_evenness(send, visit, zone):
    cast.make_catch_test(visit, zone, is_pooled=True, du_lq=None)

    assert send().json()["water"]["evidence"] == []


@pytest.mark.parametrize("kind", list(SymptomKind))
def test_no_answer_names_a_cause_as_certain_and_each_says_whom_to_ask(send, visit, zone, kind):
    cast.make_catch_test(visit, zone, du_lq=0.4)

    water = send(kind=kind, spot="wet").json()["water"]

    assert water["confidence"] != "high"
    assert "extension office" in water["ask"]


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"kind": "brown_patch"}, "/kind"),
        ({"spot": "north"}, "/spot"),
        ({"zone": None}, "/zone"),
        ({"note": "x" * 2001}, "/note"),
        ({"seen_at": "soon"}, "/seen_at"),
        ({"water": {}}, "/water"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(send, changes, where):
    before = row_counts()

    answer = send(**changes)

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert row_counts() == before


def test_the_list_takes_as_many_queries_for_ten_zones_as_for_one(
    technician_api, visit, zone, controller, django_assert_num_queries
):
    def add(zone):
        cast.make_catch_test(visit, zone, du_lq=0.4)
        field_rows.make_symptom(visit, zone)

    add(zone)
    queries = 5  # token, company (units, and day of the scope), rows, tests
    with django_assert_num_queries(queries):
        technician_api.get(URL)
    for number in range(2, 11):
        add(cast.make_zone(controller, number=number))

    with django_assert_num_queries(queries):
        found = technician_api.get(URL).json()["results"]
    assert [row["water"]["explains"] for row in found] == ["uneven"] * 10
