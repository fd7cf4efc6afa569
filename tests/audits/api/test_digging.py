"""When to dig and when to tell the marking service, over the API (SAFE-01, SAFE-03)."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from tests.problems import pointers

URL = "/api/v1/digging-window"


def dates(answer):
    assert answer.status_code == 200, answer.json()
    return answer.json()["first_date"], answer.json()["last_date"]


# texas811.org: two business days, weekends and holidays excluded; Tex. Utilities Code 251.151:
# not earlier than 14 days before. 2026-07-03 is the Friday of the holiday.
@pytest.mark.parametrize(
    ("notice", "holidays", "window"),
    [
        ("2026-06-15", [], ("2026-06-17", "2026-06-29")),
        ("2026-06-18", [], ("2026-06-22", "2026-07-02")),
        ("2026-07-01", [], ("2026-07-03", "2026-07-15")),
        ("2026-07-01", ["2026-07-03"], ("2026-07-06", "2026-07-15")),
    ],
)
def test_a_notice_opens_a_window(technician_api, company, notice, holidays, window):
    company.holidays = holidays
    company.save()

    answer = technician_api.get(f"{URL}?notice_date={notice}")

    assert dates(answer) == window
    assert answer.json()["rule"].startswith("texas811.org")
    said = " ".join(answer.json()["cautions"])
    for words in ("by hand", "public lines only", "call 811", "approximate"):
        assert words in said


def test_a_digging_says_when_to_give_notice_and_the_two_agree(technician_api):
    first, last = dates(technician_api.get(f"{URL}?digging_date=2026-06-22"))

    assert (first, last) == ("2026-06-08", "2026-06-18")
    assert dates(technician_api.get(f"{URL}?notice_date={last}"))[0] == "2026-06-22"


def test_the_company_may_have_another_rule(technician_api, company):
    company.digging_business_days, company.digging_longest_days = 3, 10
    company.save()

    answer = technician_api.get(f"{URL}?notice_date=2026-06-15")

    assert dates(answer) == ("2026-06-18", "2026-06-25")
    body = answer.json()
    assert (body["business_days"], body["longest_days"]) == (3, 10)
    assert body["rule"] == "as the company entered"


@pytest.mark.parametrize(
    ("query", "where"),
    [
        ("", "/notice_date"),
        ("?notice_date=2026-06-15&digging_date=2026-06-18", "/digging_date"),
        ("?notice_date=15.06.2026", "/notice_date"),
        ("?notice_date=2026-02-30", "/notice_date"),
        ("?digging_date=soon", "/digging_date"),
        ("?notice_date=9999-12-31", "/notice_date"),
        ("?digging_date=0001-01-01", "/digging_date"),
        ("?day=2026-06-15", "/day"),
    ],
)
def test_bad_days_are_refused_by_name(technician_api, query, where):
    answer = technician_api.get(f"{URL}{query}")

    assert answer.status_code == 400
    assert where in pointers(answer)


def test_holidays_without_end_leave_no_day(technician_api, company):
    company.holidays = [f"2026-06-{day:02}" for day in range(10, 31)]
    company.save()

    answer = technician_api.get(f"{URL}?notice_date=2026-06-10")

    assert (answer.status_code, pointers(answer)) == (400, ["/holidays"])


@pytest.mark.parametrize(
    "holidays",
    [["Christmas"], ["2026-02-30"], ["20261225"], [20261225], "2026-12-25", {"2026-12-25": 1},
     [None], ["2026-12-25", "2026-12-25"]],
)  # fmt: skip
def test_what_is_no_list_of_days_is_refused(company, holidays):
    company.holidays = holidays

    with pytest.raises(ValidationError) as refusal:
        company.full_clean()

    assert list(refusal.value.message_dict) == ["holidays"]


def test_a_list_of_days_is_taken(company):
    company.holidays = ["2026-12-25", "2027-01-01"]

    company.full_clean()


def test_who_may_ask(callers):
    assert [api.get(f"{URL}?notice_date=2026-06-15").status_code for api in callers] == [
        200, 200, 200, 401,
    ]  # fmt: skip
