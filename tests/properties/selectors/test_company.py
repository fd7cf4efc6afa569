"""The company and the units of its readers."""

from __future__ import annotations

import pytest

from properties.domain.errors import RefusedError
from properties.models import Company, Customer
from properties.selectors.company import company_units, customer_units, the_company
from tests import cast


def test_the_company_is_found(company):
    assert the_company() == company


def test_an_installation_without_company_says_what_to_do(db):
    with pytest.raises(RefusedError) as refused:
        the_company()

    assert refused.value.code == "no-company"
    assert "start_company" in refused.value.remedy


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_company_has_units(db, units):
    cast.make_company(units=units)

    assert company_units() == units


@pytest.mark.parametrize(
    ("own", "companys", "expected"),
    [
        ("", "us", "us"),
        ("", "metric", "metric"),
        ("us", "metric", "us"),
        ("metric", "us", "metric"),
    ],
)
def test_a_customer_reads_in_his_own_units_or_else_in_the_companys(own, companys, expected):
    assert customer_units(Customer(units=own), Company(units=companys)) == expected
