"""One shape for every error: RFC 9457 problem details with JSON pointers to the fields."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from http import HTTPStatus
from typing import Any, Final

from django.core.exceptions import PermissionDenied
from django.core.exceptions import ValidationError as ModelError
from django.db import IntegrityError, OperationalError
from django.http import Http404, HttpRequest, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response

from properties.domain.errors import DomainError, InvalidInputError, RefusedError
from properties.services.sign_in import SignInFailedError

PROBLEM_JSON: Final = "application/problem+json"
BUSY_RETRY_S: Final = 5
FieldError = dict[str, str]


def problem_response(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn what a view raised into a problem; None lets Django log it and answer 500."""
    names = _api_names(context.get("view"))
    if isinstance(error, DomainError):
        return _domain_problem(error, names)
    if isinstance(error, ModelError):
        return _fields_problem(list(_model_errors(error, names)))
    if isinstance(error, exceptions.ValidationError):
        return _fields_problem(list(_walk(error.detail, "")))
    if isinstance(error, IntegrityError):
        return _problem(409, "conflict", "This contradicts what is stored already.")
    if isinstance(error, OperationalError):
        response = _problem(503, "busy", "The database is busy. Try again in a few seconds.")
        response["Retry-After"] = str(BUSY_RETRY_S)
        return response
    return _http_problem(error)


def not_found(request: HttpRequest, exception: Exception) -> JsonResponse:
    """Answer an unknown address."""
    return JsonResponse(
        _body(404, "not-found", "Nothing is here."), status=404, content_type=PROBLEM_JSON
    )


def server_error(request: HttpRequest) -> JsonResponse:
    """Answer our own failure, without telling anything of the inside."""
    detail = "Something broke on our side. It was logged."
    return JsonResponse(_body(500, "server-error", detail), status=500, content_type=PROBLEM_JSON)


def _domain_problem(error: DomainError, names: Mapping[str, str]) -> Response:
    status = 409 if isinstance(error, RefusedError) else 400
    if isinstance(error, SignInFailedError):
        status = 401
    extra: dict[str, Any] = {"remedy": error.remedy}
    if error.field:
        extra["errors"] = [
            {
                "pointer": _pointer(error.field, names),
                "code": error.code,
                "detail": error.detail,
                "remedy": error.remedy,
            }
        ]
    code = "invalid" if isinstance(error, InvalidInputError) else error.code
    return _problem(status, code, error.detail, **extra)


def _fields_problem(errors: list[FieldError]) -> Response:
    count = "One field" if len(errors) == 1 else f"{len(errors)} fields"
    return _problem(400, "invalid", f"{count} must be put right.", errors=errors)


def _http_problem(error: Exception) -> Response | None:
    if isinstance(error, Http404):
        error = exceptions.NotFound("There is no such thing, or not for you.")
    elif isinstance(error, PermissionDenied):
        error = exceptions.PermissionDenied()
    if not isinstance(error, exceptions.APIException):
        return None
    response = _problem(error.status_code, error.get_codes(), str(error.detail))
    if wait := getattr(error, "wait", None):
        response["Retry-After"] = str(int(wait) + 1)
    if auth_header := getattr(error, "auth_header", None):
        response["WWW-Authenticate"] = auth_header
    return response


def _problem(status: int, code: Any, detail: str, **extra: Any) -> Response:
    return Response(_body(status, code, detail) | extra, status=status, content_type=PROBLEM_JSON)


def _body(status: int, code: Any, detail: str) -> dict[str, Any]:
    slug = str(code).replace("_", "-")
    title = HTTPStatus(status).phrase
    return {"type": f"/problems/{slug}", "title": title, "status": status, "detail": detail}


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
            step = "" if name == "non_field_errors" else f"/{name}"
            yield from _walk(inner, pointer + step)
    elif isinstance(detail, list):
        for index, inner in enumerate(detail):
            nested = isinstance(inner, Mapping | list)
            yield from _walk(inner, f"{pointer}/{index}" if nested else pointer)
    else:
        code = getattr(detail, "code", "invalid")
        yield {"pointer": pointer, "code": str(code).replace("_", "-"), "detail": str(detail)}


def _pointer(field: str, names: Mapping[str, str]) -> str:
    return "" if field == "__all__" else f"/{names.get(field, field)}"


def _api_names(view: Any) -> dict[str, str]:
    """Map model field names to the names under which this view's input knows them."""
    serializer_class = getattr(view, "serializer_class", None)
    declared: Mapping[str, Any] = getattr(serializer_class, "_declared_fields", {})
    by_source = {field.source: name for name, field in declared.items() if field.source}
    return {**getattr(serializer_class, "domain_names", {}), **by_source}
