"""Rows whose id the client made: the same making again is known, another under the id refused."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import transaction
from django.db.models import Model

from properties.domain.errors import RefusedError
from properties.models import IdempotencyKey
from properties.services.idempotency import digest_of

_CREATED: Final = 201


@dataclass(frozen=True)
class Making:
    """The making of a row: of which kind, under which id, and a digest of what was sent."""

    kind: str
    row_id: UUID
    request_sha256: str

    @classmethod
    def of(cls, model: type[Model], body: Any) -> Making | None:
        """Return the making that a body asks for, or None where it names no id."""
        if not isinstance(body, Mapping) or not isinstance(body.get("id"), str):
            return None
        try:
            row_id = UUID(body["id"])
        except ValueError:
            return None
        said = {name: value for name, value in body.items() if name != "id"}
        return cls(model._meta.label_lower, row_id, digest_of(said))


@transaction.atomic
def was_made_before(making: Making, *, now: datetime) -> bool:
    """Return whether the same was made before; else note it, in the transaction of the making.

    Two at once wait here for one another, so that the second finds what the first made.

    Raises
    ------
    RefusedError
        When something else was made under the id.
    """
    known, is_new = IdempotencyKey.objects.get_or_create(
        caller=None, key=f"{making.kind} {making.row_id}",
        defaults={
            "request_sha256": making.request_sha256, "status": _CREATED, "created_at": now,
        },
    )  # fmt: skip
    if not is_new and known.request_sha256 != making.request_sha256:
        raise RefusedError(
            f"The id {making.row_id} is taken.",
            code="id-taken", field="id", remedy="Make a new id, or read the row that has it.",
        )  # fmt: skip
    return not is_new
