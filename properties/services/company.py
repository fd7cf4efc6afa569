"""Founding the company of an installation."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from properties.domain.errors import RefusedError
from properties.models import Company, Role, StaffMember
from properties.services.rows import add_row
from properties.services.staff import add_staff_member


@transaction.atomic
def start_company(
    values: Mapping[str, Any], *, office_email: str, office_name: str, password: str, now: datetime
) -> tuple[Company, StaffMember]:
    """Create the one company and its first office user."""
    if Company.objects.exists():
        raise RefusedError(
            "This installation has its company already.",
            code="company-exists", remedy="Add staff in the admin pages or through the API.",
        )  # fmt: skip
    company = add_row(Company, values, actor=None, now=now, act="founded")
    office = add_staff_member(
        email=office_email,
        name=office_name,
        role=Role.OFFICE,
        password=password,
        actor=None,
        now=now,
    )
    return company, office
