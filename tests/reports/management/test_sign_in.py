"""The demo's office account and the file that keeps its password."""

from __future__ import annotations

import json
import stat

import pytest

from properties.domain.errors import RefusedError
from properties.models import Company, StaffMember
from reports.management.demo.sign_in import demo_sign_in
from tests import cast

DATA = {
    "company": {
        "name": "Demo Lawns", "contact_line": "", "units": "us", "time_zone": "America/Denver",
        "currency": "USD",
    },
    "office": {"email": "office@demo.example", "name": "Dana"},
}  # fmt: skip

pytestmark = pytest.mark.django_db


@pytest.fixture
def path(tmp_path):
    return tmp_path / "sign-in.json"


def test_it_founds_the_company_and_keeps_the_password_for_its_owner_only(path):
    sign_in = demo_sign_in(DATA, path, cast.NOW)

    assert Company.objects.get().name == "Demo Lawns"
    office = StaffMember.objects.get(email="office@demo.example")
    assert office.check_password(sign_in["password"])
    assert json.loads(path.read_text()) == sign_in
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_it_signs_in_again_with_what_it_kept(path):
    first = demo_sign_in(DATA, path, cast.NOW)

    assert demo_sign_in(DATA, path, cast.NOW) == first
    assert Company.objects.count() == StaffMember.objects.count() == 1


@pytest.mark.parametrize("kept", [None, {"email": "office@demo.example", "password": "of-another"}])
def test_a_password_that_is_lost_or_of_another_database_is_set_anew(path, kept):
    first = demo_sign_in(DATA, path, cast.NOW)
    path.unlink()
    if kept:
        path.write_text(json.dumps(kept))
        path.chmod(0o644)

    second = demo_sign_in(DATA, path, cast.NOW)

    assert second["password"] != first["password"]
    assert StaffMember.objects.get().check_password(second["password"])
    assert json.loads(path.read_text()) == second
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_it_touches_no_company_of_another_name(path):
    cast.make_company(name="Somebody else")

    with pytest.raises(RefusedError, match="belongs to Somebody else") as refusal:
        demo_sign_in(DATA, path, cast.NOW)

    assert refusal.value.code == "not-the-demo"
    assert not path.exists()
    assert not StaffMember.objects.exists()
