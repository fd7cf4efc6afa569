"""The OWASP API Security Top 10 of 2023, each risk with real requests.

What is tested in full elsewhere has here one walk through it. Sync, devices and routes have their
lines where they are built.
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings as configured
from django.core.cache import cache
from django.test import Client
from django.urls import get_resolver
from rest_framework.settings import api_settings
from rest_framework.test import APIClient

from properties.models import AccessToken, Customer, Event, Property, StaffMember, Zone
from properties.services.sign_in import issue_token, revoke_token
from scheduling.models import Notice, WeatherDay
from tests import cast
from tests.conftest import client_of, pages_of
from tests.problems import pointers, row_counts
from tests.properties.api.bodies import API, member

DOCUMENT = Path(configured.BASE_DIR) / "config" / "openapi.yaml"


@pytest.fixture
def their_zone(other_garden):
    return cast.make_zone(cast.make_controller(other_garden))


# API1: broken object level authorization


def test_api1_another_technicians_ids_are_unknown_wherever_they_are_sent(
    technician_api, visit, zone, other_garden, outsider, their_zone
):
    their_visit = cast.make_visit_under_way(other_garden, outsider)
    for path in (f"properties/{other_garden.pk}", f"zones/{their_zone.pk}",
                 f"visits/{their_visit.pk}", f"zones/{their_zone.pk}/test-history"):  # fmt: skip
        answer = technician_api.get(f"{API}/{path}")
        unknown = technician_api.get(f"{API}/{path.replace(path.split('/')[1], str(uuid4()))}")
        assert answer.status_code == 404, path
        assert answer.json() == unknown.json()
    before = row_counts()
    depths = {"unit": "mm", "values": [6, 7]}
    cups = {"cup_shape": "straight_walled", "run_min": 10, "depths": depths}
    for ids in ({"visit": str(their_visit.pk), "zone": str(zone.pk)},
                {"visit": str(visit.pk), "zone": str(their_zone.pk)}):  # fmt: skip
        answer = technician_api.post(f"{API}/catch-tests", {**ids, **cups})
        assert answer.status_code in (400, 404)
    assert technician_api.post(f"{API}/visits/{their_visit.pk}/finish").status_code == 404
    assert row_counts() == before


def test_api1_a_colleagues_token_is_neither_seen_nor_ended(office_api, technician, technician_api):
    token = AccessToken.objects.get(staff=technician)

    assert office_api.get(f"{API}/tokens/{token.pk}").status_code == 404
    assert office_api.post(f"{API}/tokens/{token.pk}/revoke").status_code == 404


# API2: broken authentication


def test_api2_only_what_was_given_out_and_still_holds_signs_in(office, technician):
    token, secret = issue_token(technician, label="x", actor=office, now=cast.NOW)
    client = APIClient(headers={"Authorization": f"Bearer {secret}"})
    assert client.get(f"{API}/company").status_code == 200

    revoke_token(token, actor=office, now=cast.NOW)

    forged = ("", secret, secret[:-1], token.secret_hash, str(token.pk), "null", "a.b.c")
    for each in forged:
        refused = APIClient(headers={"Authorization": f"Bearer {each}"}).get(f"{API}/company")
        assert (refused.status_code, refused["WWW-Authenticate"]) == (401, "Bearer")
    assert APIClient().get(f"{API}/company?token={secret}").status_code == 401


def test_api2_a_password_alone_gives_the_office_nothing_and_a_technician_has_none(
    office, technician, settings
):
    settings.SIGN_IN_FAILURES_OF_ACCOUNT = 3
    cast.make_second_factor(office)
    known = {"email": office.email, "password": cast.PASSWORD}

    statuses = [APIClient().post(f"{API}/sign-in", known).status_code for _ in range(4)]

    assert statuses == [401, 401, 401, 429]
    assert not AccessToken.objects.exists()
    assert not technician.has_usable_password()
    hired = client_of(office).post(f"{API}/staff", {**member(), "password": cast.PASSWORD})
    assert (hired.status_code, pointers(hired)) == (400, ["/password"])


def test_api2_a_session_writes_only_with_its_csrf_token(office):
    browser = pages_of(office)
    browser.handler.enforce_csrf_checks = True

    answer = browser.post(f"{API}/customers", {"name": "x"}, content_type="application/json")

    assert answer.status_code == 403
    assert not Customer.objects.exists()


# API3: broken object property level authorization


def test_api3_fields_that_are_not_ones_to_set_are_refused(office_api, garden):
    for path, body in (
        ("staff", {**member(), "is_superuser": True}),
        ("staff", {**member(), "second_factor_at": "2026-01-01T00:00:00Z"}),
        ("staff", {**member(), "sign_in_epoch": 9}),
        ("tokens", {"label": "x", "secret_hash": "x"}),
        ("customers", {"name": "x", "revision": 9}),
        ("customers", {"name": "x", "created_at": "2020-01-01T00:00:00Z"}),
    ):
        before = row_counts()
        answer = office_api.post(f"{API}/{path}", body)
        assert answer.status_code == 400, (path, body)
        assert pointers(answer) == [f"/{list(body)[-1]}"]
        assert row_counts() == before


def test_api3_no_answer_holds_a_password_or_the_hash_of_a_secret(
    office_api, office, technician_api
):
    token = AccessToken.objects.get(staff=office)
    for path in ("staff", f"staff/{office.pk}", "tokens", "events", "session"):
        text = office_api.get(f"{API}/{path}").content.decode()
        for hidden in (office.password, token.secret_hash, "secret_hash", "sign_in_epoch"):
            assert hidden not in text, path
    assert technician_api.get(f"{API}/customers").status_code == 403


# API4: unrestricted resource consumption


def test_api4_a_list_has_an_end_whatever_is_asked_for(office_api, garden):
    for number in range(205):
        cast.make_customer(name=f"C{number}")

    rows = office_api.get(f"{API}/customers", {"limit": 100_000}).json()["results"]

    assert len(rows) == 200


def test_api4_bodies_have_an_end_in_size_and_depth(office_api, company):
    huge = json.dumps({"name": "x" * configured.DATA_UPLOAD_MAX_MEMORY_SIZE})
    deep = "[" * 100_000
    before = row_counts()

    for body, status in ((huge, 413), (deep, 400)):
        answer = office_api.generic(
            "POST", f"{API}/customers", body, content_type="application/json"
        )
        assert answer.status_code == status
    assert row_counts() == before


def test_api4_a_packed_file_is_not_unpacked_without_end(office_api, company, settings):
    settings.WEATHER_FILE_MAX_UNPACKED_BYTES = 10_000
    bomb = gzip.compress(b"0" * 1_000_000)

    answer = office_api.generic(
        "POST", f"{API}/weather-files?name=bomb.csv.gz", bomb, content_type="application/gzip"
    )

    assert 400 <= answer.status_code < 500
    assert not WeatherDay.objects.exists()


def test_api4_requests_have_a_rate(office_api, monkeypatch):
    cache.clear()
    monkeypatch.setattr(api_settings, "DEFAULT_THROTTLE_RATES", {"read": "2/min"})

    answers = [office_api.get(f"{API}/company") for _ in range(3)]
    cache.clear()

    assert [answer.status_code for answer in answers] == [200, 200, 429]
    assert int(answers[2]["Retry-After"]) > 0


# API5: broken function level authorization


def test_api5_what_the_office_does_no_technician_does(technician_api, technician, office, visit):
    before = row_counts()
    for verb, path, body in (
        ("post", "staff", member()),
        ("post", f"staff/{office.pk}/tokens", {"label": "x"}),
        ("post", f"staff/{office.pk}/reset-second-factor", {}),
        ("post", f"staff/{office.pk}/unlock", {}),
        ("post", "tokens", {"label": "x"}),
        ("post", "pause-notices", {}),
        ("post", "night-runs", {}),
        ("get", "events", None),
        ("get", "staff", None),
        ("patch", f"properties/{visit.property_id}", {"name": "mine"}),
        ("delete", f"properties/{visit.property_id}", None),
    ):
        answer = getattr(technician_api, verb)(f"{API}/{path}", body)
        assert answer.status_code in (403, 405), path
    assert row_counts() == before
    assert pages_of(technician).get("/admin/").status_code == 302


def test_api5_a_view_that_says_nothing_of_access_answers_nobody():
    assert configured.REST_FRAMEWORK["DEFAULT_PERMISSION_CLASSES"] == [
        "properties.http.permissions.DeclaredAccess"
    ]


# API6: unrestricted access to sensitive business flows


def test_api6_mail_has_quotas_and_a_switch_and_nothing_is_sent_by_a_request(office_api, mailoutbox):
    assert configured.NOTICES_A_DAY > 0
    assert configured.CLIENT_NOTICES_A_MONTH > 0

    assert office_api.post(f"{API}/pause-notices", {}).status_code == 200

    assert office_api.get("/statusz").status_code == 200
    assert mailoutbox == []
    assert not Notice.objects.exists()


# API7: server side request forgery


def test_api7_no_request_says_where_we_fetch_from(office_api, settings, station):
    settings.FORECAST_SOURCES = []
    for body in ({"address": "http://127.0.0.1:1/"}, {"url": "http://169.254.169.254/"}):
        answer = office_api.post(f"{API}/weather-stations/{station.pk}/fetch-forecast", body)
        assert answer.status_code in (400, 409)
        assert "169.254" not in answer.content.decode()
    made = office_api.post(f"{API}/weather-stations", {"code": "X", "address": "http://[::1]/"})
    assert "/address" in pointers(made)


# API8: security misconfiguration


def test_api8_answers_carry_their_guards_and_no_name_of_what_made_them(office_api, client):
    for answer in (office_api.get(f"{API}/company"), client.get("/healthz")):
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["X-Frame-Options"] == "DENY"
        assert "default-src" in answer["Content-Security-Policy"]
        assert answer["Referrer-Policy"] == "same-origin"
        assert "Access-Control-Allow-Origin" not in answer
        assert "Server" not in answer


def test_api8_answers_are_json_whatever_a_browser_asks_for(office_api):
    answer = office_api.get(f"{API}/company", headers={"Accept": "text/html,*/*"})
    refused = office_api.get(f"{API}/company", headers={"Accept": "text/html"})

    assert answer["Content-Type"] == "application/json"
    assert refused.status_code == 406
    assert configured.DEBUG is False


def test_api8_a_foreign_host_is_refused(db):
    stranger = Client(raise_request_exception=False)
    answer = stranger.get("/healthz/x", headers={"host": "evil.example"})

    assert answer.status_code == 400
    assert "evil.example" not in answer.content.decode()


# API9: improper inventory management


def test_api9_there_is_one_version_and_every_address_of_it_is_described():
    described = DOCUMENT.read_text()
    outside = {str(part.pattern) for part in get_resolver().url_patterns} - {"api/v1/"}

    assert "api/v1/" in {str(part.pattern) for part in get_resolver().url_patterns}
    assert not any(part.startswith("api") for part in outside)
    assert "/api/v1/sign-in" in described
    assert Client().get("/api/v2/company").status_code == 404
    assert Client().get("/api/company").status_code == 404


# API10: unsafe consumption of APIs


@pytest.mark.parametrize(
    "odd", [{"tmax": {"value": 1e9, "unit": "degC"}}, {"rain": {"value": -5, "unit": "mm"}},
            {"tmax": {"value": 20, "unit": "K"}}, {"tmax": "warm"}],
)  # fmt: skip
def test_api10_weather_that_cannot_be_is_not_stored(office_api, company, odd):
    station = cast.make_station()
    body = {"station": str(station.pk), "date": "2026-06-01"}

    answer = office_api.post(f"{API}/weather-days", {**body, **odd})

    assert answer.status_code == 400
    assert not WeatherDay.objects.exists()


def test_the_memory_has_no_secret_of_all_this(office, technician, garden):
    hired = {**member(), "role": "office", "password": "odd-and-long-one"}
    client_of(office).post(f"{API}/staff", hired)

    remembered = str(list(Event.objects.values()))

    assert "odd-and-long-one" not in remembered
    assert StaffMember.objects.get(email=member()["email"]).password not in remembered
    assert Property.objects.count() == 1
    assert not Zone.objects.exists()
