"""The doors of the office's pages, as a browser uses them."""

from __future__ import annotations

import re
from base64 import b32decode

import pytest
from django.contrib import admin
from django.test import Client
from django_otp.plugins.otp_totp.models import TOTPDevice

from properties.models import Event, StaffMember
from tests import cast
from tests.conftest import pages_of
from tests.properties.admin.forms import address_of, list_address

pytestmark = pytest.mark.django_db
LOGIN, FACTOR = "/admin/login/", "/second-factor"


def sent(**changes):
    known = {"username": "office@meadowlark.example", "password": cast.PASSWORD}
    return {**known, "code": cast.code_at(), **changes}


@pytest.fixture
def factor(office):
    return cast.make_second_factor(office)


def test_the_form_asks_for_address_password_and_code(client: Client, company):
    page = client.get(LOGIN).text

    for name in ("username", "password", "code", "csrfmiddlewaretoken"):
        assert f'name="{name}"' in page
    assert 'autocomplete="one-time-code"' in page


def test_the_office_gets_in_and_to_where_it_wanted(client: Client, factor):
    wanted = list_address(StaffMember)

    answer = client.post(LOGIN, sent(next=wanted))

    assert (answer.status_code, answer["Location"]) == (302, wanted)
    assert Event.objects.get().act == "signed in"
    assert client.get(wanted).status_code == 200
    assert client.get(LOGIN).status_code == 302


def test_nobody_is_sent_to_another_site(client: Client, factor):
    assert client.post(LOGIN, sent(next="https://evil.example/"))["Location"] == "/admin/"


@pytest.mark.parametrize(
    "wrong",
    [
        {"code": ""}, {"code": "000000"}, {"password": "x"}, {"username": "nobody@b.example"},
        {"username": "ruben@meadowlark.example"},
    ],
)  # fmt: skip
def test_whoever_fails_is_told_the_same(client: Client, factor, technician, wrong):
    page = client.post(LOGIN, sent(**wrong))

    assert page.status_code == 200
    assert "E-mail, password or code is wrong." in page.text
    assert client.get("/admin/").status_code == 302


def test_a_locked_door_is_429_with_the_page(client: Client, factor, settings):
    settings.SIGN_IN_FAILURES_OF_ACCOUNT = 1

    answers = [client.post(LOGIN, sent(code="000000")) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [200, 429]
    assert answers[1]["Retry-After"] == "900"
    assert "too many failed attempts" in answers[1].text


def test_a_form_from_another_site_is_refused(factor):
    browser = Client(enforce_csrf_checks=True)

    assert browser.post(LOGIN, sent()).status_code == 403
    assert browser.post(FACTOR, sent()).status_code == 403


def test_a_newcomer_sets_up_his_factor_in_two_steps_and_gets_in(client: Client, office):
    newcomer = cast.make_office("new@meadowlark.example", second_factor_at=None)
    refused = client.post(LOGIN, sent(username=newcomer.email, code=""))
    assert "You need a second factor" in refused.text
    assert client.get(FACTOR).status_code == 200

    first = client.post(FACTOR, {"email": newcomer.email, "password": cast.PASSWORD}).text
    secret = re.search(r"<code>([A-Z2-7]{32})</code>", first)[1]
    ticket = re.search(r'name="ticket" value="([^"]+)"', first)[1]
    assert 'aria-label="QR code"' in first
    wrong = client.post(FACTOR, {"ticket": "forged", "code": "000000"}).text
    assert "ticket is unknown" in wrong
    code = cast.code_at(key=b32decode(secret).hex())
    second = client.post(FACTOR, {"ticket": ticket, "code": code}).text

    codes = re.findall(r"<code>((?:\w{4}-){3}\w{4})</code>", second)
    assert len(codes) == 10
    answer = client.post(LOGIN, sent(username=newcomer.email, code=codes[0]))
    assert answer.status_code == 302
    assert client.get("/admin/").status_code == 200


def test_no_factor_is_shown_to_whoever_does_not_prove_himself(client: Client, factor):
    for wrong in ({"code": ""}, {"password": "x"}, {"email": "nobody@b.example"}):
        form = {"email": "office@meadowlark.example", **sent(), **wrong}
        page = client.post(FACTOR, form).text
        assert "QR code" not in page
        assert "E-mail, password or code is wrong." in page


def test_pages_with_secrets_are_not_kept_by_browsers(client: Client, factor):
    form = {"email": "office@meadowlark.example", **sent()}

    assert "no-store" in client.post(FACTOR, form)["Cache-Control"]


def test_no_page_shows_the_secrets_of_factors(office):
    assert not admin.site.is_registered(TOTPDevice)


def test_colleagues_are_unlocked_and_their_factors_reset(office, settings):
    other = cast.make_office("other@meadowlark.example")
    client = pages_of(office)

    for action in ("unlock_chosen", "reset_second_factors"):
        chosen = {"action": action, "_selected_action": [str(other.pk)]}
        assert client.post(list_address(StaffMember), chosen).status_code == 302

    other.refresh_from_db()
    assert other.second_factor_at is None
    assert Event.objects.get(act="second factor reset").actor == office


def test_ones_own_factor_stays(office):
    chosen = {"action": "reset_second_factors", "_selected_action": [str(office.pk)]}

    page = pages_of(office).post(list_address(StaffMember), chosen, follow=True)

    office.refresh_from_db()
    assert office.second_factor_at is not None
    assert "resets his own" in page.text
    assert pages_of(office).get(address_of(office)).status_code == 200
