"""`manage.py reset_second_factor`."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from properties.models import Event
from properties.services.lockouts import LockedOutError, count_attempt
from tests import cast


def test_the_operator_lets_the_last_office_user_in_again(office, settings):
    settings.SIGN_IN_FAILURES_OF_ACCOUNT = 0
    cast.make_second_factor(office)
    with pytest.raises(LockedOutError):
        count_attempt(email=office.email, address="192.0.2.1", now=cast.NOW)
    out = StringIO()

    call_command("reset_second_factor", office.email.upper(), stdout=out)

    office.refresh_from_db()
    assert office.second_factor_at is None
    assert f"{settings.PUBLIC_URL}/second-factor" in out.getvalue()
    acts = Event.objects.filter(subject_id=office.pk).values_list("act", "actor")
    assert {("second factor reset", None), ("sign-in unlocked", None)} <= set(acts)


@pytest.mark.parametrize("email", ["nobody@meadowlark.example", "ruben@meadowlark.example"])
def test_a_stranger_and_a_technician_have_none(technician, email):
    with pytest.raises(CommandError, match="No office user"):
        call_command("reset_second_factor", email)
