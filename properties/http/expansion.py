"""`?expand=`: rows that a row refers to, in the same answer and at a constant number of queries.

The references stay as they are; what was asked for stands beside them under `expanded`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

from django.db.models import Model, QuerySet
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.fields import SkipField
from rest_framework.request import Request

from properties.models.staff import ALL_STAFF

EXPAND: Final = "expand"


@dataclass(frozen=True)
class Expansion:
    """One reference that may be asked for: where it is, how it is shown, and who may see it."""

    path: str
    card: type[serializers.BaseSerializer[Any]]
    roles: frozenset[str] = field(default=ALL_STAFF)


def expansions_of(view: Any) -> Mapping[str, Expansion]:
    """Return the references of a view's rows that may be asked for."""
    found: Mapping[str, Expansion] = getattr(view, "expansions", {})
    return found


def asked_expansions(request: Request, view: Any) -> dict[str, Expansion]:
    """Return what was asked for; what the caller may not see is as unknown as what is not there."""
    asked = request.query_params.get(EXPAND)
    if asked is None:
        return {}
    role = getattr(request.user, "role", None)
    allowed = {name: one for name, one in expansions_of(view).items() if role in one.roles}
    names = dict.fromkeys(asked.split(","))
    unknown = [name for name in names if name not in allowed]
    if unknown:
        told = f"'{unknown[0]}' cannot be asked for here. Use: {', '.join(allowed) or 'nothing'}."
        raise ValidationError({EXPAND: told})
    return {name: allowed[name] for name in names}


def with_expanded(rows: QuerySet[Any], asked: Mapping[str, Expansion]) -> QuerySet[Any]:
    """Have the rows that are asked for read in the same query."""
    return rows.select_related(*(one.path for one in asked.values())) if asked else rows


class ExpandedField(serializers.Field[Any, Any, Any, Any]):
    """What was asked for by `?expand=`; absent where nothing was."""

    def __init__(self, expansions: Mapping[str, Expansion]) -> None:
        self.expansions = expansions
        super().__init__(
            read_only=True, help_text="What was asked for by `expand`; absent where nothing was."
        )

    def get_attribute(self, instance: Model) -> Model:
        if not self.context.get(EXPAND):
            raise SkipField
        return instance

    def to_representation(self, value: Model) -> dict[str, Any]:
        return {name: _shown(value, path, card) for name, path, card in self._cards}

    @cached_property
    def _cards(self) -> list[tuple[str, str, serializers.BaseSerializer[Any]]]:
        """Make the card of each reference once for all rows of a page."""
        asked: Mapping[str, Expansion] = self.context[EXPAND]
        return [(name, one.path, one.card(context=self.context)) for name, one in asked.items()]


def _shown(row: Any, path: str, card: serializers.BaseSerializer[Any]) -> Any:
    for step in path.split("__"):
        row = getattr(row, step)
    return None if row is None else card.to_representation(row)
