from __future__ import annotations

import re

import pytest
from django.contrib import admin
from django.contrib.auth.models import Group
from django.test import Client

from properties.models import AccessToken, Event, Role, StaffMember
from properties.selectors.tokens import valid_token
from properties.services.sign_in import hash_secret, issue_token
from tests import cast
from tests.properties.admin.forms import (
    add_address,
    address_of,
    errors_of,
    filled_form,
    list_address,
)

pytestmark = pytest.mark.django_db
NEW_PASSWORD = "another-odd-password"
STAFF = {"name": "Nia", "email": "nia@meadowlark.example"}


def test_an_office_user_is_added_with_a_password(office_pages: Client, office: StaffMember):
    form = STAFF | {"role": "office", "new_password": NEW_PASSWORD}

    office_pages.post(add_address(StaffMember), form)

    member = StaffMember.objects.get(email=STAFF["email"])
    event = Event.objects.get(subject_id=member.pk)
    assert member.check_password(NEW_PASSWORD)
    assert (event.act, event.actor) == ("created", office)
    assert STAFF["name"] not in str(event.after)


def test_a_technician_is_added_without_a_password(office_pages: Client):
    office_pages.post(add_address(StaffMember), STAFF | {"role": "technician"})

    member = StaffMember.objects.get(email=STAFF["email"])
    assert (member.role, member.has_usable_password()) == (Role.TECHNICIAN, False)


@pytest.mark.parametrize(
    ("role", "password", "words"),
    [
        ("technician", NEW_PASSWORD, "device tokens"),
        ("office", "", "needs a password"),
        ("office", "short", "too short"),
    ],
)
def test_a_password_that_does_not_fit_is_an_error_at_its_field(
    office_pages: Client, role: str, password: str, words: str
):
    form = STAFF | {"role": role, "new_password": password}

    page = office_pages.post(add_address(StaffMember), form)

    assert words in errors_of(page)["new_password"][0]
    assert not StaffMember.objects.filter(email=STAFF["email"]).exists()


def test_an_address_that_is_taken_is_an_error(office_pages: Client, office: StaffMember):
    form = {"name": "Twin", "email": office.email.upper(), "role": "technician"}

    page = office_pages.post(add_address(StaffMember), form)

    assert errors_of(page)
    assert not StaffMember.objects.filter(name="Twin").exists()


def test_an_account_is_ended_with_an_event(office_pages: Client, technician: StaffMember):
    form = filled_form(office_pages, address_of(technician))
    del form["is_active"]

    office_pages.post(address_of(technician), form)

    technician.refresh_from_db()
    event = Event.objects.get(subject_id=technician.pk)
    assert not technician.is_active
    assert (event.before, event.after) == ({"is_active": True}, {"is_active": False})


def test_role_address_and_power_cannot_be_changed_here(
    office_pages: Client, technician: StaffMember
):
    changes = {
        "name": "Ruben", "is_active": "on", "role": "office", "email": "other@meadowlark.example",
        "is_superuser": "on", "password": "hash",
    }  # fmt: skip

    office_pages.post(address_of(technician), changes)

    after = StaffMember.objects.get(pk=technician.pk)
    assert (after.role, after.email, after.is_superuser, after.password) == (
        technician.role, technician.email, False, technician.password,
    )  # fmt: skip
    assert not Event.objects.exists()


def test_nobody_locks_himself_out(office_pages: Client, office: StaffMember):
    office_pages.post(address_of(office), {"name": "Office"})

    office.refresh_from_db()
    assert office.is_active


def test_a_new_password_is_set_with_an_event_and_keeps_ones_own_session(
    office_pages: Client, office: StaffMember
):
    form = filled_form(office_pages, address_of(office)) | {"new_password": NEW_PASSWORD}

    office_pages.post(address_of(office), form)

    office.refresh_from_db()
    assert office.check_password(NEW_PASSWORD)
    assert [event.act for event in Event.objects.all()] == ["password set"]
    assert office_pages.get(address_of(office)).status_code == 200


def test_ones_own_password_is_changed_through_the_service(
    office_pages: Client, office: StaffMember
):
    form = {
        "old_password": cast.PASSWORD, "new_password1": NEW_PASSWORD, "new_password2": NEW_PASSWORD,
    }  # fmt: skip

    answer = office_pages.post("/admin/password_change/", form)

    office.refresh_from_db()
    assert (answer.status_code, office.check_password(NEW_PASSWORD)) == (302, True)
    assert [event.act for event in Event.objects.all()] == ["password set"]


def test_the_old_password_is_asked_for(office_pages: Client, office: StaffMember):
    form = {"old_password": "x", "new_password1": NEW_PASSWORD, "new_password2": NEW_PASSWORD}

    office_pages.post("/admin/password_change/", form)

    office.refresh_from_db()
    assert office.check_password(cast.PASSWORD)


def test_no_page_shows_a_hash(office_pages: Client, office: StaffMember):
    token, secret = issue_token(office, label="phone", actor=office, now=cast.NOW)
    event = Event.objects.get()

    pages = [
        office_pages.get(address).content.decode()
        for address in (
            list_address(StaffMember), address_of(office), list_address(AccessToken),
            address_of(token), list_address(Event), address_of(event),
        )
    ]  # fmt: skip

    for page in pages:
        for hidden in (office.password, token.secret_hash, secret, "secret_hash", "is_superuser"):
            assert hidden not in page


def test_a_token_is_issued_and_its_secret_shown_once(office_pages: Client, technician: StaffMember):
    form = {"staff": str(technician.pk), "label": "Ruben's phone"}

    page = office_pages.post(add_address(AccessToken), form, follow=True).content.decode()

    match = re.search(r"<code>(.+?)</code>", page)
    assert match is not None
    token = valid_token(hash_secret(match[1]), cast.NOW)
    assert token is not None
    assert (token.staff, token.label) == (technician, "Ruben's phone")
    assert match[1] not in office_pages.get(list_address(AccessToken)).content.decode()
    assert Event.objects.filter(act="token issued").count() == 1


def test_tokens_are_revoked(office_pages: Client, office: StaffMember, technician: StaffMember):
    token, secret = issue_token(technician, label="phone", actor=office, now=cast.NOW)

    office_pages.post(
        list_address(AccessToken), {"action": "revoke", "_selected_action": str(token.pk)}
    )

    assert valid_token(hash_secret(secret), cast.NOW) is None
    assert Event.objects.filter(act="token revoked", actor=office).count() == 1


def test_an_issued_token_cannot_be_edited(office_pages: Client, office: StaffMember):
    token, _ = issue_token(office, label="phone", actor=office, now=cast.NOW)

    answer = office_pages.post(address_of(token), {"label": "mine", "expires_at": "2099-01-01"})

    assert answer.status_code == 403


def test_groups_are_not_offered():
    assert not admin.site.is_registered(Group)
