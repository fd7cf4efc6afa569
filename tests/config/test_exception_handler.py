"""Every way of failing has one shape, and nothing of the inside leaks out."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest
from django.core.exceptions import (
    PermissionDenied,
    RequestDataTooBig,
    SuspiciousOperation,
    ValidationError,
)
from django.db import DataError, IntegrityError, OperationalError, ProgrammingError
from django.http import Http404
from django.test import Client
from rest_framework import exceptions, serializers

from config.exception_handler import problem_response
from config.problem_types import NAMES
from properties.api import records
from properties.domain.errors import InvalidInputError, RefusedError, StaleError
from properties.http.quantities import QuantityField
from properties.services.lockouts import LockedOutError
from properties.services.sign_in import SignInFailedError


class AreaSerializer(serializers.Serializer):
    domain_names = {"duration_min": "run_min"}

    area = QuantityField("area", source="area_m2")
    name = serializers.CharField()


VIEW = SimpleNamespace(serializer_class=AreaSerializer)


def answer_to(error: Exception, view: object = VIEW):
    response = problem_response(error, {"view": view})
    assert response is not None
    assert response["Content-Type"] == "application/problem+json"
    body = json.loads(response.content)
    assert body["status"] == response.status_code
    assert {"type", "title", "code", "detail"} <= body.keys()
    assert body["type"].removeprefix("/problems/") in NAMES
    return response, body


def test_invalid_input_is_400_with_pointer_code_and_remedy():
    error = InvalidInputError("Too small.", field="area_m2", code="small", remedy="Measure again.")

    response, body = answer_to(error)

    assert response.status_code == 400
    assert (body["type"], body["code"]) == ("/problems/invalid-value", "small")
    assert (body["title"], body["detail"], body["remedy"]) == (
        "A value is wrong", "Too small.", "Measure again.",
    )  # fmt: skip
    assert body["errors"] == [
        {"pointer": "/area", "code": "small", "detail": "Too small.", "remedy": "Measure again."}
    ]


def test_names_of_the_domain_become_names_of_the_input():
    error = InvalidInputError("Too short.", field="duration_min", remedy="Run longer.")

    assert answer_to(error)[1]["errors"][0]["pointer"] == "/run_min"


@pytest.mark.parametrize("view", [None, object(), SimpleNamespace(serializer_class=None)])
def test_a_view_without_serializer_leaves_names_as_they_are(view):
    error = InvalidInputError("Too small.", field="area_m2", remedy="Measure again.")

    assert answer_to(error, view)[1]["errors"][0]["pointer"] == "/area_m2"


def test_a_refusal_is_409_by_its_own_name():
    response, body = answer_to(RefusedError("Not now.", code="too-early", remedy="Wait."))

    assert response.status_code == 409
    assert body == {
        "type": "/problems/refused-by-rule", "title": "A rule forbids it now", "status": 409,
        "code": "too-early", "detail": "Not now.", "remedy": "Wait.",
    }  # fmt: skip


def test_a_refusal_may_point_to_a_field():
    error = RefusedError("Taken.", code="id-taken", field="id", remedy="Make a new one.")

    assert answer_to(error)[1]["errors"][0]["pointer"] == "/id"


def test_a_failed_sign_in_is_401_and_says_how_to_sign_in():
    error = SignInFailedError("Wrong.", code="sign-in", remedy="Try again.")

    response, body = answer_to(error)

    assert (response.status_code, response["WWW-Authenticate"]) == (401, "Bearer")
    assert (body["type"], body["code"]) == ("/problems/not-signed-in", "sign-in")


def test_a_locked_door_is_429_and_says_when_it_opens():
    response, body = answer_to(LockedOutError(wait_s=61.2))

    assert (response.status_code, response["Retry-After"]) == (429, "62")
    assert (body["type"], body["code"]) == ("/problems/too-many", "locked-out")


def test_what_is_stale_is_412_and_says_what_holds_now():
    response, body = answer_to(StaleError(revision=4))

    assert (response.status_code, body["type"], body["revision"]) == (412, "/problems/stale", 4)


def test_errors_of_a_model_name_their_fields():
    error = ValidationError({"area_m2": ["Too small."], "name": ["Too long.", "Too odd."]})

    response, body = answer_to(error)

    assert response.status_code == 400
    assert body["detail"] == "3 fields must be put right."
    assert [(one["pointer"], one["detail"]) for one in body["errors"]] == [
        ("/area", "Too small."), ("/name", "Too long."), ("/name", "Too odd."),
    ]  # fmt: skip


def test_the_message_of_a_constraint_begins_with_its_field():
    error = ValidationError({"__all__": ["area_m2: must be larger.", "Both are needed."]})

    errors = answer_to(error)[1]["errors"]

    assert [(one["pointer"], one["detail"]) for one in errors] == [
        ("/area", "must be larger."), ("", "Both are needed."),
    ]  # fmt: skip


def test_an_error_of_a_model_without_fields_points_to_the_whole():
    _, body = answer_to(ValidationError("It is all wrong."))

    assert body["detail"] == "One field must be put right."
    assert body["errors"] == [{"pointer": "", "code": "invalid", "detail": "It is all wrong."}]


def test_errors_of_a_serializer_are_walked_to_the_last_leaf():
    detail = {
        "name": [exceptions.ErrorDetail("Needed.", code="max_length")],
        "places": [{}, {"x": ["Odd."]}],
        "cups": {1: {"depth": ["Deep."]}},
        "non_field_errors": ["Together wrong."],
        "inner": {"non_field_errors": ["Inside wrong."]},
    }

    errors = answer_to(serializers.ValidationError(detail))[1]["errors"]

    assert {one["pointer"]: (one["code"], one["detail"]) for one in errors} == {
        "/name": ("max-length", "Needed."),
        "/places/1/x": ("invalid", "Odd."),
        "/cups/1/depth": ("invalid", "Deep."),
        "": ("invalid", "Together wrong."),
        "/inner": ("invalid", "Inside wrong."),
    }


def test_pointers_are_escaped():
    """RFC 6901, section 3: ~ is written ~0 and / is written ~1."""
    errors = answer_to(serializers.ValidationError({"a/b": {"~c": ["No."]}}))[1]["errors"]

    assert errors[0]["pointer"] == "/a~1b/~0c"


def test_a_list_of_messages_points_to_the_whole():
    errors = answer_to(serializers.ValidationError(["No.", "Not so."]))[1]["errors"]

    assert [one["pointer"] for one in errors] == ["", ""]


def test_text_that_utf8_cannot_carry_is_answered_nevertheless():
    assert answer_to(serializers.ValidationError({"\ud800": ["\udfff"]}))[0].status_code == 400


def test_a_contradiction_in_the_database_is_409_without_its_words(caplog):
    response, body = answer_to(IntegrityError("UNIQUE constraint failed: secret_table.column"))

    assert response.status_code == 409
    assert (body["type"], body["code"]) == ("/problems/refused-by-rule", "conflict")
    assert "secret_table" not in response.content.decode()
    assert "secret_table" in caplog.text


def test_a_busy_database_is_503_and_says_when_to_come_again(caplog):
    response, body = answer_to(OperationalError("database is locked at /srv/secret"))

    assert (response.status_code, response["Retry-After"]) == (503, "5")
    assert body["type"] == "/problems/busy"
    assert "/srv/secret" not in response.content.decode()
    assert "/srv/secret" in caplog.text


@pytest.mark.parametrize(
    ("error", "status", "kind", "code"),
    [
        (Http404("Zone matching query"), 404, "not-found", "not-found"),
        (PermissionDenied("inner"), 403, "not-allowed", "permission-denied"),
        (exceptions.NotFound(), 404, "not-found", "not-found"),
        (exceptions.PermissionDenied(), 403, "not-allowed", "permission-denied"),
        (exceptions.NotAuthenticated(), 401, "not-signed-in", "not-authenticated"),
        (exceptions.AuthenticationFailed(), 401, "not-signed-in", "authentication-failed"),
        (exceptions.ParseError(), 400, "not-understood", "parse-error"),
        (exceptions.MethodNotAllowed("PUT"), 405, "not-understood", "method-not-allowed"),
        (exceptions.NotAcceptable(), 406, "not-understood", "not-acceptable"),
        (exceptions.UnsupportedMediaType("x/y"), 415, "not-understood", "unsupported-media-type"),
        (exceptions.Throttled(wait=7.2), 429, "too-many", "throttled"),
        (RequestDataTooBig("inner"), 413, "too-large", "too-large"),
        (SuspiciousOperation("inner"), 400, "not-understood", "bad-request"),
    ],
)
def test_errors_of_http_keep_their_status(error, status, kind, code):
    response, body = answer_to(error)

    assert (response.status_code, body["type"]) == (status, f"/problems/{kind}")
    assert body["code"] == code
    assert "inner" not in body["detail"]
    assert "errors" not in body


def test_a_missing_row_does_not_say_what_was_looked_for():
    _, body = answer_to(Http404("No Zone matches the given query."))

    assert body["detail"] == "There is no such thing, or not for you."


def test_waiting_and_signing_in_are_said_in_headers():
    throttled, _ = answer_to(exceptions.Throttled(wait=7.2))
    unsaid, _ = answer_to(exceptions.Throttled())
    unknown = exceptions.NotAuthenticated()
    unknown.auth_header = "Bearer"
    unauthenticated, _ = answer_to(unknown)

    assert (throttled["Retry-After"], unsaid["Retry-After"]) == ("8", "60")
    assert unauthenticated["WWW-Authenticate"] == "Bearer"


@pytest.mark.parametrize("error", [ZeroDivisionError(), ProgrammingError("syntax"), KeyError("x")])
def test_our_own_failures_are_left_to_be_logged(error):
    assert problem_response(error, {"view": VIEW}) is None


def test_a_broken_view_says_nothing_of_the_inside(office_api, monkeypatch, caplog):
    def broken():
        raise RuntimeError("password=hunter2 in /srv/secret.py")

    monkeypatch.setattr(records, "the_company", broken)
    office_api.raise_request_exception = False

    answer = office_api.get("/api/v1/company")

    assert answer.status_code == 500
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json() == {
        "type": "/problems/server-error", "title": "Something broke on our side", "status": 500,
        "code": "server-error", "detail": "Something broke on our side. It was logged.",
    }  # fmt: skip
    assert "hunter2" in caplog.text


@pytest.mark.parametrize(
    "error",
    [
        ProgrammingError('relation "secret_table" does not exist'),
        DataError("value too long for secret_table.column"),
        OperationalError("canceling statement due to statement timeout: secret_table"),
        IntegrityError("secret_table.column"),
        KeyError("secret_table"),
    ],
)
def test_no_error_of_the_database_or_ours_tells_of_tables(office_api, monkeypatch, error):
    def broken():
        raise error

    monkeypatch.setattr(records, "the_company", broken)
    office_api.raise_request_exception = False

    answer = office_api.get("/api/v1/company")

    assert answer.status_code in (409, 500, 503)
    assert answer["Content-Type"] == "application/problem+json"
    assert "secret_table" not in answer.content.decode() + str(answer.headers)
    assert type(error).__name__ not in answer.content.decode()


def test_an_unknown_address_has_the_same_shape(db):
    answer = Client().get("/api/v1/no-such-thing")

    assert answer.status_code == 404
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["type"] == "/problems/not-found"


def test_a_page_of_the_docs_refuses_in_the_same_shape(db):
    answer = Client().post("/api/v1/docs")

    assert answer.status_code == 405
    assert answer["Content-Type"] == "application/problem+json"


def test_a_huge_body_is_refused_unread(db, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    body = json.dumps({"email": "a@b.example", "password": "x" * 2000})

    answer = Client().post("/api/v1/sign-in", body, content_type="application/json")

    assert answer.status_code == 413
    assert answer.json()["type"] == "/problems/too-large"
