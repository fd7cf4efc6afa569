"""Lost updates: a row's ETag goes out with it, and comes back with every change of it.

`"3-us-1f2e3d4c5b6a"` is revision 3 in US units, with a digest of all that the answer says: what an
answer tells of other rows changes it too. `If-Match` compares the revision alone (RFC 9110,
section 13.1.1; RFC 6585, section 3), so that a change goes through in whichever units it was read.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from typing import Any, Final

from django.utils.http import parse_etags, quote_etag
from drf_spectacular.utils import OpenApiParameter
from rest_framework import status
from rest_framework.exceptions import APIException
from rest_framework.request import Request
from rest_framework.utils.encoders import JSONEncoder

from properties.domain.errors import StaleError

DIGEST_DIGITS: Final = 12
ANY: Final = "*"
_REVISION: Final = re.compile(r'"(\d{1,9})(-[^"]*)?"', re.ASCII)
IF_MATCH: Final = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, required=True,
    description="The ETag of the row as you read it; 412 when it has changed since.",
)  # fmt: skip
IF_NONE_MATCH: Final = OpenApiParameter(
    "If-None-Match", str, OpenApiParameter.HEADER,
    description="The ETag of what you have: 304 and no body while it holds.",
)  # fmt: skip


class PreconditionRequiredError(APIException):
    status_code = status.HTTP_428_PRECONDITION_REQUIRED
    default_code = "precondition-required"
    default_detail = "Send If-Match with the ETag of the row as you read it."


class PreconditionFailedError(APIException):
    """A condition that names no revision, so that there is none to compare."""

    status_code = status.HTTP_412_PRECONDITION_FAILED
    default_code = "precondition-failed"
    default_detail = "If-Match names no revision of this row. Send its ETag as you read it."


def etag_of(content: Mapping[str, Any], units: str) -> str:
    """Return the strong ETag of a row as it is shown."""
    # In the order of the names: a database may keep an object in another than it was sent in.
    text = json.dumps(content, cls=JSONEncoder, sort_keys=True)
    digest = hashlib.sha256(text.encode()).hexdigest()[:DIGEST_DIGITS]
    return quote_etag(f"{content.get('revision', 0)}-{units}-{digest}")


def is_known_to(request: Request, etag: str) -> bool:
    """Return whether the caller has what the ETag stands for (a weak comparison)."""
    sent = parse_etags(request.headers.get("If-None-Match", ""))
    return ANY in sent or etag in (each.removeprefix("W/") for each in sent)


def read_revision(request: Request, current: int) -> int:
    """Return the revision that the caller read; that of the row, if he wants any changed.

    Raises
    ------
    PreconditionRequiredError
        When no If-Match was sent.
    StaleError
        When the row has another revision by now.
    """
    sent = request.headers.get("If-Match")
    if sent is None:
        raise PreconditionRequiredError
    tags = parse_etags(sent)
    if ANY in tags:
        return current
    # A weak tag never matches here (RFC 9110, section 13.1.1).
    revisions = [int(match[1]) for tag in tags if (match := _REVISION.fullmatch(tag))]
    if not revisions:
        raise PreconditionFailedError
    if current not in revisions:
        raise StaleError(revision=current)
    return current
