"""What rows say of themselves, without a query."""

from __future__ import annotations

import datetime as dt

import pytest
from django.core.exceptions import ValidationError

from properties.domain.site import SoilTexture
from properties.models import (
    AccessToken,
    Controller,
    Customer,
    HeadGroup,
    Job,
    JobState,
    Property,
    Role,
    StaffMember,
    Zone,
)
from properties.models.company import check_time_zone
from properties.models.zones import check_root_depths, choices_of
from tests import cast


def test_a_token_is_valid_until_it_ends_or_is_revoked():
    token = AccessToken(expires_at=cast.NOW, label="Phone")

    assert token.is_valid_at(cast.NOW - dt.timedelta(seconds=1))
    assert not token.is_valid_at(cast.NOW)
    token.revoked_at = cast.NOW
    assert not token.is_valid_at(cast.NOW - dt.timedelta(days=1))


def test_only_active_office_users_enter_the_admin_pages():
    office = StaffMember(role=Role.OFFICE, name="Office")
    technician = StaffMember(role=Role.TECHNICIAN, name="Ruben")
    leaver = StaffMember(role=Role.OFFICE, is_active=False)

    assert (office.is_staff, technician.is_staff) == (True, False)
    assert office.has_perm("any")
    assert office.has_module_perms("properties")
    assert not technician.has_perm("any")
    assert not technician.has_module_perms("properties")
    assert not leaver.has_perm("any")
    assert not leaver.has_module_perms("properties")


def test_rows_are_called_by_their_names():
    assert str(StaffMember(name="Ruben")) == "Ruben"
    assert str(Customer(name="Ingrid")) == "Ingrid"
    assert str(Property(name="Garden")) == "Garden"
    assert str(Controller(name="Garage")) == "Garage"
    assert str(Zone(number=3, name="Front")) == "3 Front"
    assert str(HeadGroup(count=4, kind="spray")) == "4 spray"
    assert str(Job(kind="plans", subject_id=None, state=JobState.DONE)) == "plans None (done)"


def test_an_address_leaves_out_what_is_missing():
    whole = Property(street="1 A St", city="Tallgrass", region="KS", postal_code="67000")
    short = Property(street="1 A St", city="Tallgrass")

    assert whole.address_lines() == ("1 A St", "Tallgrass KS 67000")
    assert short.address_lines() == ("1 A St", "Tallgrass")


@pytest.mark.parametrize("name", ["America/Chicago", "Europe/Berlin", "UTC"])
def test_time_zones_of_the_database_of_zones_pass(name):
    check_time_zone(name)


@pytest.mark.parametrize("name", ["", "Chicago", "America/chicago", "../etc/passwd", "EST5"])
def test_other_time_zones_are_refused_with_an_example(name):
    with pytest.raises(ValidationError, match="America/Chicago"):
        check_time_zone(name)


@pytest.mark.parametrize("depths", [[25] * 12, [3000] * 12, [150.5] * 12])
def test_twelve_root_depths_pass(depths):
    check_root_depths(depths)


@pytest.mark.parametrize(
    "depths",
    [[], [150] * 11, [150] * 13, [24.9] + [150] * 11, [3001] + [150] * 11, [None] * 12,
     ["150"] * 12, "150", {"jan": 150}, [float("nan")] * 12, None],
)  # fmt: skip
def test_other_root_depths_are_refused(depths):
    with pytest.raises(ValidationError, match="twelve root depths"):
        check_root_depths(depths)


def test_choices_have_readable_labels():
    assert choices_of(SoilTexture)[2] == ("sandy_loam", "Sandy loam")


def test_accounts_keep_their_email_in_lower_case_and_their_password_hashed(company):
    member = StaffMember.objects.create_user(
        "  New@Meadowlark.Example ", cast.PASSWORD, name="New", role=Role.OFFICE
    )

    assert member.email == "new@meadowlark.example"
    assert member.check_password(cast.PASSWORD)
    assert cast.PASSWORD not in member.password


def test_an_account_without_password_has_no_usable_one(technician):
    assert not technician.has_usable_password()
    assert not technician.check_password("")


@pytest.mark.parametrize(
    "wrong", [{"email": "no-address"}, {"role": "boss"}, {"name": ""}, {"role": ""}]
)
def test_an_account_is_checked_before_it_is_stored(company, wrong):
    values = {"email": "a@b.example", "name": "A", "role": "office", **wrong}
    with pytest.raises(ValidationError):
        StaffMember.objects.create_user(values.pop("email"), cast.PASSWORD, **values)

    assert not StaffMember.objects.exists()


def test_a_superuser_is_an_office_user(company):
    member = StaffMember.objects.create_superuser("r@b.example", cast.PASSWORD, name="Root")

    stored = StaffMember.objects.get(pk=member.pk)
    assert (stored.role, stored.is_superuser) == (Role.OFFICE, True)


@pytest.mark.parametrize(
    ("changes", "is_due"),
    [
        ({}, True),
        ({"due_at": cast.NOW + dt.timedelta(seconds=1)}, False),
        ({"state": JobState.DONE}, False),
        ({"state": JobState.PARKED}, False),
        ({"state": JobState.RUNNING, "claimed_until": cast.NOW}, True),
        (
            {"state": JobState.RUNNING, "claimed_until": cast.NOW + dt.timedelta(seconds=1)},
            False,
        ),
    ],
)
def test_a_job_is_due_when_its_moment_came_or_its_worker_died(garden, changes, is_due):
    values = {"kind": "t", "subject_id": garden.pk, "created_at": cast.NOW, "due_at": cast.NOW}
    Job.objects.create(**{**values, **changes})

    assert Job.objects.due(cast.NOW).exists() is is_due


def test_the_longest_waiting_job_is_due_first(garden, other_garden):
    late = {"kind": "t", "created_at": cast.NOW, "due_at": cast.NOW}
    early = {**late, "due_at": cast.NOW - dt.timedelta(hours=1)}
    second = Job.objects.create(subject_id=garden.pk, **late)
    first = Job.objects.create(subject_id=other_garden.pk, **early)

    assert list(Job.objects.due(cast.NOW)) == [first, second]
