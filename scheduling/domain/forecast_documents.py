"""The text of a forecast document: UTF-8, JSON, and nothing that JSON does not have."""

from __future__ import annotations

import json
from typing import Any, NoReturn

from properties.domain.errors import InvalidInputError

_REMEDY = "Check the source's address, and that it answers with a forecast in JSON."


def text_of(body: bytes) -> str:
    """Return the text of a document.

    Raises
    ------
    InvalidInputError
        Code "forecast-encoding" when it is not UTF-8.
    """
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise InvalidInputError(
            f"The forecast is not UTF-8 text (byte {error.start}).",
            field="forecast", code="forecast-encoding", remedy=_REMEDY,
        ) from error  # fmt: skip


def parsed(text: str) -> Any:
    """Return the content of a JSON text.

    Raises
    ------
    InvalidInputError
        Code "forecast-not-json": broken, too deeply nested, or with NaN or Infinity in it.
    """
    try:
        return json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise InvalidInputError(
            "The forecast is not JSON that can be read.",
            field="forecast", code="forecast-not-json", remedy=_REMEDY,
        ) from error  # fmt: skip


def _refuse_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is not JSON")
