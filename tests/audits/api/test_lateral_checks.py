"""A lateral sent in any units, checked, and not stored."""

from __future__ import annotations

import pytest

from tests.problems import pointers, row_counts

URL = "/api/v1/lateral-checks"
BODY = {
    "flow": {"value": 16, "unit": "gpm"}, "inside_diameter": {"value": 1.049, "unit": "in"},
    "length": {"value": 100, "unit": "ft"}, "outlets": 8,
    "design_pressure": {"value": 30, "unit": "psi"},
}  # fmt: skip


# Hazen-Williams, Christiansen 1942 and 0.4085 gpm / in2, in US units; a foot is 0.3048 m.
def test_answers_in_the_units_of_the_request_and_stores_nothing(technician_api):
    before = row_counts()

    us = technician_api.post(f"{URL}?units=us", BODY).json()
    metric = technician_api.post(f"{URL}?units=metric", BODY).json()

    psi = 0.2083 * (100 / 150 * 16) ** 1.852 / 1.049**4.8655 * 0.433
    loss = psi * (1 / 2.852 + 1 / 16 + 0.852**0.5 / 384)
    assert us["loss"] == {"value": pytest.approx(loss, rel=1e-5), "unit": "psi"}
    assert us["friction_per_100m"]["value"] == pytest.approx(psi / 0.3048, rel=1e-5)
    assert metric["loss"] == {"value": pytest.approx(loss * 6.894757293168, rel=1e-5),
                              "unit": "kPa"}  # fmt: skip
    assert metric["velocity"]["value"] == pytest.approx(0.4085 * 16 / 1.049**2 * 0.3048, rel=1e-3)
    assert us["pressure_spread_ok"] is True
    assert [advice["code"] for advice in us["advice"]] == ["pipe-too-fast"]
    assert row_counts() == before


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"flow": None}, "/flow"), ({"outlets": 0}, "/outlets"), ({"outlets": 2.5}, "/outlets"),
        ({"inside_diameter": {"value": 0.5, "unit": "mm"}}, "/inside_diameter"),
        ({"length": {"value": 11, "unit": "psi"}}, "/length"),
        ({"length": {"value": 10_001, "unit": "m"}}, "/length"),
        ({"design_pressure": {"value": 0, "unit": "kPa"}}, "/design_pressure"),
        ({"material": "copper"}, "/material"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_its_name(technician_api, changes, where):
    answer = technician_api.post(URL, {**BODY, **changes})

    assert answer.status_code == 400
    assert {pointer.removesuffix("/value") for pointer in pointers(answer)} == {where}


def test_all_staff_may_ask(callers):
    assert [api.post(URL, BODY).status_code for api in callers] == [200, 200, 200, 401]
