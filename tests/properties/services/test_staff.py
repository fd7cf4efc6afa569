"""Hiring and passwords."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from properties.domain.errors import InvalidInputError
from properties.models import Event, Role, StaffMember
from properties.services.sign_in import issue_token
from properties.services.staff import add_staff_member, set_password
from tests import cast


def hire(**changes):
    values = {
        "email": "New@Meadowlark.example", "name": "New", "role": Role.OFFICE,
        "password": cast.PASSWORD, "actor": None, "now": cast.NOW,
    }  # fmt: skip
    return add_staff_member(**{**values, **changes})


def test_an_office_user_gets_a_password(company):
    member = hire()

    stored = StaffMember.objects.get(pk=member.pk)
    assert stored.email == "new@meadowlark.example"
    assert stored.check_password(cast.PASSWORD)


def test_a_technician_gets_none(company):
    member = hire(role=Role.TECHNICIAN, password=None)

    assert not member.has_usable_password()


def test_hiring_is_remembered_without_address_name_or_password(company, office):
    member = hire(actor=office)

    event = Event.objects.get(subject_id=member.pk)
    assert (event.act, event.actor) == ("created", office)
    assert event.after["role"] == "office"
    assert event.after["email"] == event.after["name"] == event.after["password"] == "(not kept)"
    assert member.password not in str(event.after)


@pytest.mark.parametrize("password", [None, ""])
def test_an_office_user_without_password_is_refused(company, password):
    with pytest.raises(InvalidInputError) as refused:
        hire(password=password)

    assert refused.value.field == "password"
    assert not StaffMember.objects.exists()


@pytest.mark.parametrize("password", ["", "some-password-of-length"])
def test_a_technician_with_a_password_is_refused(company, password):
    with pytest.raises(InvalidInputError, match="device tokens"):
        hire(role=Role.TECHNICIAN, password=password)


@pytest.mark.parametrize(
    "weak", ["short-one", "password1234", "new@meadowlark.example", "qwertyuiop123456"[:10]]
)
def test_a_weak_password_is_refused_with_a_remedy(company, weak):
    with pytest.raises(InvalidInputError) as refused:
        hire(password=weak)

    assert refused.value.field == "password"
    assert refused.value.remedy
    assert not StaffMember.objects.exists()


def test_the_same_address_in_other_letters_is_refused(company):
    hire()

    with pytest.raises(ValidationError) as refused:
        hire(email="NEW@meadowlark.EXAMPLE")

    assert "email" in refused.value.message_dict
    assert StaffMember.objects.count() == 1


def test_a_new_password_replaces_the_old_and_is_remembered(office):
    set_password(office, "another-long-password", actor=office, now=cast.NOW)

    stored = StaffMember.objects.get(pk=office.pk)
    assert stored.check_password("another-long-password")
    assert not stored.check_password(cast.PASSWORD)
    event = Event.objects.get(act="password set")
    assert (event.before, event.after, event.subject_id) == ({}, {}, office.pk)


def test_a_password_given_by_somebody_else_ends_what_is_signed_in(office):
    other = cast.make_office("other@meadowlark.example")
    for actor, is_ended in ((office, False), (other, True), (None, True)):
        token, _ = issue_token(office, label="x", actor=office, now=cast.NOW)
        set_password(office, "another-long-password", actor=actor, now=cast.NOW)
        token.refresh_from_db()
        assert (token.revoked_at is not None) == is_ended


@pytest.mark.parametrize("weak", ["", "short"])
def test_a_weak_new_password_changes_nothing(office, weak):
    with pytest.raises(InvalidInputError):
        set_password(office, weak, actor=office, now=cast.NOW)

    assert StaffMember.objects.get(pk=office.pk).check_password(cast.PASSWORD)


def test_a_technician_cannot_be_given_a_password(technician, office):
    with pytest.raises(InvalidInputError):
        set_password(technician, "another-long-password", actor=office, now=cast.NOW)
