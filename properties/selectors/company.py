"""Reading the company."""

from __future__ import annotations

from properties.domain.errors import RefusedError
from properties.domain.units import System
from properties.models import Company, Customer


def the_company() -> Company:
    """Return the one company; an installation without it is not set up."""
    company = Company.objects.first()
    if company is None:
        raise RefusedError(
            "This installation has no company yet.",
            code="no-company", remedy="Run `manage.py start_company` first.",
        )  # fmt: skip
    return company


def company_units() -> System:
    """Return the unit system in which the company works."""
    return "metric" if the_company().units == "metric" else "us"


def customer_units(customer: Customer, company: Company) -> System:
    """Return the unit system in which a customer reads."""
    return "metric" if (customer.units or company.units) == "metric" else "us"
