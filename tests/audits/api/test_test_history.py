"""The tests of a zone in order, what each is worth, and the trend."""

from __future__ import annotations

import datetime as dt

import pytest

from tests import cast

DAY = dt.timedelta(days=1)


@pytest.fixture
def address(zone):
    return f"/api/v1/zones/{zone.pk}/test-history"


def add(visit, zone, days_ago, rate, du, **changes):
    return cast.make_catch_test(
        visit, zone, taken_at=cast.NOW - days_ago * DAY, rate_mm_h=rate, rate_low_mm_h=rate - 5,
        rate_high_mm_h=rate + 5, du_lq=du, **changes,
    )  # fmt: skip


# Arithmetic: all three on a line that loses 2 mm/h and 0.05 in each year of 365.2425 days.
def test_tells_each_state_and_the_trend_of_those_that_rule_or_ruled(
    technician_api, visit, zone, address
):
    year = 365.2425
    oldest = add(visit, zone, 2 * year, 40, 0.75)
    wrong = add(visit, zone, 1.5 * year, 99, 0.2)
    share = (0.5 * year + 1) / year  # of the first year: the one that replaced the wrong one
    right = add(
        visit, zone, 1.5 * year - 1, 40 - 2 * share, 0.75 - 0.05 * share, supersedes=wrong
    )  # fmt: skip
    voided = add(visit, zone, year, 10, 0.3, voided_at=cast.NOW, void_reason="Wrong zone ran.")
    mended = add(visit, zone, 1, 20, 0.4, before_mending=True)
    newest = add(visit, zone, 0, 36, 0.65)

    content = technician_api.get(f"{address}?units=metric").json()

    assert [(row["test"], row["state"]) for row in content["tests"]] == [
        (str(oldest.pk), "earlier"), (str(wrong.pk), "superseded"), (str(right.pk), "earlier"),
        (str(voided.pk), "voided"), (str(mended.pk), "before_mending"), (str(newest.pk), "rules"),
    ]  # fmt: skip
    last = content["tests"][-1]
    assert [last[name]["value"] for name in ("rate", "rate_low", "rate_high")] == [36, 31, 41]
    assert (last["du_lq"], last["supersedes"], last["void_reason"]) == (0.65, None, "")
    assert content["tests"][3]["void_reason"] == "Wrong zone ran."
    assert content["rate_trend"] == {
        "tests": 3, "span_days": pytest.approx(2 * year),
        "per_year": {"value": pytest.approx(-2), "unit": "mm/h"},
    }  # fmt: skip
    assert content["du_lq_trend"]["per_year"] == pytest.approx(-0.05)


def test_a_test_that_a_voided_one_replaced_rules_again(technician_api, visit, zone, address):
    first = add(visit, zone, 9, 40, 0.7)
    add(visit, zone, 1, 30, 0.6, supersedes=first, voided_at=cast.NOW, void_reason="x")

    states = [row["state"] for row in technician_api.get(address).json()["tests"]]

    assert states == ["rules", "voided"]


def test_two_tests_claim_no_trend_and_none_is_an_empty_history(
    technician_api, visit, zone, controller, address
):
    add(visit, zone, 700, 40, 0.7)
    add(visit, zone, 0, 30, 0.6)
    untested = cast.make_zone(controller, number=2)

    content = technician_api.get(address).json()
    empty = technician_api.get(f"/api/v1/zones/{untested.pk}/test-history").json()

    assert (content["rate_trend"]["tests"], content["rate_trend"]["per_year"]) == (2, None)
    assert (empty["tests"], empty["rate_trend"]["tests"]) == ([], 0)


def test_a_pooled_test_counts_for_the_rate_alone(technician_api, visit, zone, address):
    for days_ago in (800, 400, 0):
        add(visit, zone, days_ago, 40, 0.7 if days_ago else None, is_pooled=not days_ago)

    content = technician_api.get(address).json()

    assert (content["rate_trend"]["tests"], content["du_lq_trend"]["tests"]) == (3, 2)


def test_who_may_read_it(callers, address, visit):
    assert [api.get(address).status_code for api in callers] == [200, 200, 404, 401]


def test_ten_tests_take_as_many_queries_as_one(
    technician_api, visit, zone, address, django_assert_num_queries
):
    add(visit, zone, 1, 40, 0.7)
    queries = 6  # token, company of scope and of units, zone, heads, tests
    with django_assert_num_queries(queries):
        technician_api.get(address)
    for days_ago in range(9):
        add(visit, zone, days_ago, 40, 0.7)

    with django_assert_num_queries(queries):
        assert len(technician_api.get(address).json()["tests"]) == 10
