"""One shape for every error: RFC 9457 problem details with JSON pointers to the fields."""

from __future__ import annotations

import logging
import math
from collections.abc import Iterator, Mapping
from typing import Any, Final

from django.core.exceptions import PermissionDenied, RequestDataTooBig, SuspiciousOperation
from django.core.exceptions import ValidationError as ModelError
from django.db import DatabaseError, IntegrityError, OperationalError
from django.http import Http404, HttpRequest, JsonResponse
from rest_framework import exceptions

from config.problem_types import INVALID_VALUE, title_of, type_of, uri_of
from properties.domain.errors import (
    DomainError,
    KeyReusedError,
    RefusedError,
    StaleError,
)
from properties.services.lockouts import LockedOutError
from properties.services.sign_in import SecondFactorNeededError, SignInFailedError

logger = logging.getLogger(__name__)

PROBLEM_JSON: Final = "application/problem+json"
BUSY_RETRY_S: Final = 5
THROTTLED_RETRY_S: Final = 60  # where a throttle does not say
STATUSES: Final[tuple[tuple[type[DomainError], int], ...]] = (
    (SignInFailedError, 401),
    (SecondFactorNeededError, 401),
    (LockedOutError, 429),
    (StaleError, 412),
    (KeyReusedError, 422),
    (RefusedError, 409),
)
FieldError = dict[str, str]


def problem_response(error: Exception, context: dict[str, Any]) -> JsonResponse | None:
    """Turn what a view raised into a problem; None lets Django log it and answer 500."""
    names = _api_names(context.get("view"))
    if isinstance(error, DomainError):
        return _domain_problem(error, names)
    if isinstance(error, ModelError):
        return _fields_problem(list(_model_errors(error, names)))
    if isinstance(error, exceptions.ValidationError):
        return _fields_problem(list(_walk(error.detail, "")))
    if isinstance(error, DatabaseError):
        return _database_problem(error)
    return _http_problem(error)


def not_found(request: HttpRequest, exception: Exception) -> JsonResponse:
    """Answer an unknown address."""
    return _problem(404, "not-found", "Nothing is here.")


def server_error(request: HttpRequest) -> JsonResponse:
    """Answer our own failure, without telling anything of the inside."""
    return _problem(500, "server-error", "Something broke on our side. It was logged.")


def _domain_problem(error: DomainError, names: Mapping[str, str]) -> JsonResponse:
    status = _status_of(error)
    extra: dict[str, Any] = {"remedy": error.remedy}
    if isinstance(error, StaleError):
        extra["revision"] = error.revision
    if error.field:
        extra["errors"] = [
            {
                "pointer": _pointer(error.field, names),
                "code": error.code,
                "detail": error.detail,
                "remedy": error.remedy,
            }
        ]
    name = INVALID_VALUE if status == 400 else type_of(status)
    response = _problem(status, error.code, error.detail, name=name, **extra)
    if status == 401:
        response["WWW-Authenticate"] = "Bearer"
    if isinstance(error, LockedOutError):
        response["Retry-After"] = str(error.retry_after_s)
    return response


def _status_of(error: DomainError) -> int:
    return next((status for kind, status in STATUSES if isinstance(error, kind)), 400)


def _fields_problem(errors: list[FieldError]) -> JsonResponse:
    count = "One field" if len(errors) == 1 else f"{len(errors)} fields"
    detail = f"{count} must be put right."
    return _problem(400, "invalid", detail, name=INVALID_VALUE, errors=errors)


def _database_problem(error: DatabaseError) -> JsonResponse | None:
    if isinstance(error, IntegrityError):
        logger.warning("refused by the database", exc_info=error)
        return _problem(409, "conflict", "This contradicts what is stored already.")
    if isinstance(error, OperationalError):
        logger.warning("the database did not answer", exc_info=error)
        response = _problem(503, "busy", "The database is busy. Try again in a few seconds.")
        response["Retry-After"] = str(BUSY_RETRY_S)
        return response
    return None


def _http_problem(error: Exception) -> JsonResponse | None:
    if isinstance(error, RequestDataTooBig):
        return _problem(413, "too-large", "What was sent is too large. Send it in smaller parts.")
    if isinstance(error, SuspiciousOperation):
        return _problem(400, "bad-request", "This request is not well-formed.")
    if isinstance(error, Http404):
        error = exceptions.NotFound("There is no such thing, or not for you.")
    elif isinstance(error, PermissionDenied):
        error = exceptions.PermissionDenied()
    if not isinstance(error, exceptions.APIException):
        return None
    response = _problem(error.status_code, error.get_codes(), str(error.detail))
    if isinstance(error, exceptions.Throttled):
        response["Retry-After"] = str(math.ceil(getattr(error, "wait", None) or THROTTLED_RETRY_S))
    if auth_header := getattr(error, "auth_header", None):
        response["WWW-Authenticate"] = auth_header
    return response


def _problem(
    status: int, code: Any, detail: str, *, name: str | None = None, **extra: Any
) -> JsonResponse:
    """Answer in JSON whatever the view renders otherwise (the pages of the docs, a PDF)."""
    name = name or type_of(status)
    body = {
        "type": uri_of(name), "title": title_of(name), "status": status,
        "code": str(code).replace("_", "-"), "detail": detail,
    }  # fmt: skip
    return JsonResponse(body | extra, status=status, content_type=PROBLEM_JSON)


def _model_errors(error: ModelError, names: Mapping[str, str]) -> Iterator[FieldError]:
    """Name the field of each model error; a constraint's message begins with its field."""
    by_field = error.message_dict if hasattr(error, "error_dict") else {"__all__": error.messages}
    for field, messages in by_field.items():
        for message in messages:
            name, text = field, message
            if field == "__all__" and ": " in message:
                name, text = message.split(": ", 1)
            yield {"pointer": _pointer(name, names), "code": "invalid", "detail": text}


def _walk(detail: Any, pointer: str) -> Iterator[FieldError]:
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            step = "" if name == "non_field_errors" else f"/{_escaped(name)}"
            yield from _walk(inner, pointer + step)
    elif isinstance(detail, list):
        for index, inner in enumerate(detail):
            nested = isinstance(inner, Mapping | list)
            yield from _walk(inner, f"{pointer}/{index}" if nested else pointer)
    else:
        code = getattr(detail, "code", "invalid")
        yield {
            "pointer": pointer,
            "code": str(code).replace("_", "-"),
            "detail": str(detail),
        }


def _pointer(field: str, names: Mapping[str, str]) -> str:
    return "" if field == "__all__" else f"/{_escaped(names.get(field, field))}"


def _escaped(name: str) -> str:
    """Escape one step of a JSON pointer (RFC 6901, section 3)."""
    return str(name).replace("~", "~0").replace("/", "~1")


def _api_names(view: Any) -> dict[str, str]:
    """Map model field names to the names under which this view's input knows them."""
    serializer_class = getattr(view, "serializer_class", None)
    declared: Mapping[str, Any] = getattr(serializer_class, "_declared_fields", {})
    by_source = {field.source: name for name, field in declared.items() if field.source}
    return {**getattr(serializer_class, "domain_names", {}), **by_source}
