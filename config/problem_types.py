"""The types of problems: a handful, each with an address that stays and a page behind it.

A program decides by `type` and status what to do, and by `code` which rule it met.
"""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Final

PAGES: Final = Path(__file__).with_name("problems")
INVALID_VALUE: Final = "invalid-value"
NOT_UNDERSTOOD: Final = "not-understood"

# A wrong value apart, the status says which type it is.
TYPES: Final = {
    400: NOT_UNDERSTOOD,
    401: "not-signed-in",
    403: "not-allowed",
    404: "not-found",
    405: NOT_UNDERSTOOD,
    406: NOT_UNDERSTOOD,
    409: "refused-by-rule",
    412: "stale",
    413: "too-large",
    415: NOT_UNDERSTOOD,
    422: "key-reused",
    428: "precondition-needed",
    429: "too-many",
    500: "server-error",
    503: "busy",
}
NAMES: Final = sorted({INVALID_VALUE, *TYPES.values()})


def type_of(status: int) -> str:
    """Return the type of a problem that is not about a value."""
    return TYPES.get(status, NOT_UNDERSTOOD if status < 500 else TYPES[500])


def uri_of(name: str) -> str:
    """Return the URI of a type: the same in every installation, and a page of each."""
    return f"/problems/{name}"


@functools.cache
def page_of(name: str) -> str:
    """Return the text of a type's page, as Markdown."""
    return (PAGES / f"{name}.md").read_text()


@functools.cache
def title_of(name: str) -> str:
    """Return the heading of a type's page, which is the title of its problems."""
    return page_of(name).partition("\n")[0].removeprefix("# ")
