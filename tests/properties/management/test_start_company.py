"""`manage.py start_company`."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from properties.models import Company, StaffMember
from tests import cast

pytestmark = pytest.mark.django_db
ADDRESS = "office@meadowlark.example"


def start(**options) -> str:
    out = StringIO()
    call_command("start_company", "Meadowlark", ADDRESS, stdout=out, **options)
    return out.getvalue()


def test_a_password_is_made_and_shown_once(monkeypatch):
    monkeypatch.delenv("OFFICE_PASSWORD", raising=False)

    said = start(units="metric", time_zone="Europe/Berlin", currency="EUR", office_name="Ada")

    assert "/second-factor" in said
    password = said.split("Password (shown once): ")[1].strip()
    member = StaffMember.objects.get()
    assert member.check_password(password)
    assert (member.email, member.name, member.role) == (ADDRESS, "Ada", "office")
    company = Company.objects.get()
    assert (company.name, company.units, company.time_zone, company.currency) == (
        "Meadowlark", "metric", "Europe/Berlin", "EUR",
    )  # fmt: skip


def test_a_given_password_is_used_and_never_shown(monkeypatch):
    monkeypatch.setenv("OFFICE_PASSWORD", cast.PASSWORD)

    said = start()

    assert cast.PASSWORD not in said
    assert "Password" not in said
    assert StaffMember.objects.get().check_password(cast.PASSWORD)


@pytest.mark.parametrize(
    ("password", "options", "words"),
    [
        ("short", {}, "too short"),
        (cast.PASSWORD, {"time_zone": "Nowhere/City"}, "IANA"),
    ],
)
def test_what_is_wrong_is_said_in_a_sentence(monkeypatch, password, options, words):
    monkeypatch.setenv("OFFICE_PASSWORD", password)

    with pytest.raises(CommandError, match=words):
        start(**options)

    assert not Company.objects.exists()


def test_a_second_run_is_refused_in_a_sentence(monkeypatch):
    monkeypatch.setenv("OFFICE_PASSWORD", cast.PASSWORD)
    start()

    with pytest.raises(CommandError, match="its company already"):
        start()
