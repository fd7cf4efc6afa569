"""Which problems and headers an operation answers with, told from what it is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

KEY_HEADER: Final = "Idempotency-Key"
KEY_TOLD: Final = (
    "Your own name of this request, such as a UUID. Sent again within 30 days with the same body,"
    " the first answer comes back and nothing is done twice."
)
PROBLEM_JSON: Final = "application/problem+json"
PROBLEMS: Final = {
    400: "Something that was sent cannot be right; `errors` point to it.",
    401: "Nobody is signed in, or what signs in is wrong.",
    403: "Your role may not do this.",
    404: "There is no such thing, or not for you.",
    409: "A rule or the present state forbids it.",
    412: "It has changed since you read it: read it again.",
    413: "What was sent is too large.",
    415: "What was sent is of a kind that is not read here.",
    422: "This key stands for another request.",
    428: "Say in If-Match which revision you read.",
    429: "Too many requests: wait as long as Retry-After says.",
}
OTHERWISE: Final = "Any other problem."
RETRY_AFTER: Final = {
    "description": "Seconds to wait.", "schema": {"type": "integer", "minimum": 0}
}  # fmt: skip
ETAG: Final = {
    "description": "The state of the row, for If-Match and If-None-Match.",
    "schema": {"type": "string"},
}
LOCATION: Final = {"description": "The address of the row.", "schema": {"type": "string"}}
NEED_CSRF: Final = {"session_create"}  # open to all, but for this site's own pages alone
PLAIN_READS: Final = {"cursor", "If-None-Match"}


def tell_problems(
    operation: dict[str, Any], method_and_path: tuple[str, str], shape: dict[str, Any]
) -> None:
    """Add each problem that the operation can answer with, all in one shape."""
    answers, content = operation["responses"], {PROBLEM_JSON: {"schema": shape}}
    for status in _problems_of(operation, *method_and_path):
        answer = {"description": PROBLEMS[status], "content": content}
        if status == 429:
            answer["headers"] = {"Retry-After": RETRY_AFTER}
        answers.setdefault(str(status), answer)
    answers["default"] = {"description": OTHERWISE, "content": content}


def _problems_of(operation: dict[str, Any], method: str, path: str) -> Iterator[int]:
    named = operation.get("parameters", ())
    headers = {one["name"] for one in named if one["in"] == "header"}
    yield from (400, 401, 429)
    if operation.get("security") or operation["operationId"] in NEED_CSRF:
        yield 403
    if "{" in path:
        yield 404
    # What is computed is refused where something is still unknown.
    if method != "get" or not PLAIN_READS & {one["name"] for one in named}:
        yield 409
    if "requestBody" in operation:
        yield from (413, 415)
    if "If-Match" in headers:
        yield from (412, 428)
    if KEY_HEADER in headers:
        yield 422


def tell_row_headers(operation: dict[str, Any]) -> None:
    """Add ETag, Location and 304 where a row is read, made or changed."""
    answers = operation["responses"]
    names = {one["name"] for one in operation.get("parameters", ()) if one["in"] == "header"}
    if "If-None-Match" in names:
        answers["304"] = {"description": "It is as you have it.", "headers": {"ETag": ETAG}}
    makes_row = {"200", "201"} <= answers.keys()
    if makes_row or names & {"If-None-Match", "If-Match"}:
        for status in ("200", "201"):
            if status in answers:
                answers[status].setdefault("headers", {})["ETag"] = ETAG
    if makes_row:
        answers["201"]["headers"]["Location"] = LOCATION
