"""Founding the one company."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Company, Event, StaffMember
from properties.services.company import start_company
from tests import cast

VALUES = {"name": "Meadowlark", "units": "metric", "time_zone": "Europe/Berlin", "currency": "EUR"}

pytestmark = pytest.mark.django_db


def start(password=cast.PASSWORD, **changes):
    return start_company(
        {**VALUES, **changes}, office_email="office@meadowlark.example", office_name="Office",
        password=password, now=cast.NOW,
    )  # fmt: skip


def test_the_company_and_its_first_office_user_are_made(db):
    company, office = start()

    assert Company.objects.get() == company
    assert (company.units, company.time_zone, company.currency) == (
        "metric",
        "Europe/Berlin",
        "EUR",
    )
    assert (office.role, office.check_password(cast.PASSWORD)) == ("office", True)
    assert Event.objects.get(subject_id=company.pk).act == "founded"


def test_a_second_company_is_refused(db):
    start()

    with pytest.raises(RefusedError) as refused:
        start(name="Second")

    assert refused.value.code == "company-exists"
    assert StaffMember.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "error"),
    [
        ({"password": "short"}, InvalidInputError),
        ({"time_zone": "Mars/Olympus"}, ValidationError),
        ({"name": ""}, ValidationError),
        ({"units": "cubits"}, ValidationError),
    ],
)
def test_all_or_nothing_is_made(db, wrong, error):
    with pytest.raises(error):
        start(**wrong)

    assert not Company.objects.exists()
    assert not StaffMember.objects.exists()
    assert not Event.objects.exists()
