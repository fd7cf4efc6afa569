"""The orders that a list may be read in: named by its view, unique by the id, nulls in place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from django.db.models import F, Model, Q, QuerySet
from django.db.models.expressions import OrderBy
from rest_framework.exceptions import ValidationError
from rest_framework.filters import BaseFilterBackend
from rest_framework.request import Request

ORDERING: Final = "ordering"


@dataclass(frozen=True)
class Order:
    """One order of a list: by a field or an annotation of its rows, upwards unless `-` is asked.

    `nulls` says where rows without a value stand upwards; downwards they stand at the other end.
    `needs` names parameters without which there is no such value.
    """

    by: str
    told: str
    nulls: Literal["", "first", "last"] = ""
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sorting:
    """An order with its direction; rows of the same value go by their id in the same direction."""

    by: str = "pk"
    is_down: bool = True
    nulls: Literal["", "first", "last"] = ""

    def backwards(self) -> Sorting:
        """Return the exact reverse."""
        other: dict[str, Literal["", "first", "last"]] = {"first": "last", "last": "first"}
        return replace(self, is_down=not self.is_down, nulls=other.get(self.nulls, ""))

    def keys(self) -> list[OrderBy]:
        """Return by what to order, so that no two rows are equal."""
        names = ["pk"] if self.by == "pk" else [self.by, "pk"]
        return [self._key(F(name), self.nulls if name == self.by else "") for name in names]

    def _key(self, field: F, nulls: str) -> OrderBy:
        first, last = nulls == "first" or None, nulls == "last" or None
        if self.is_down:
            return field.desc(nulls_first=first, nulls_last=last)
        return field.asc(nulls_first=first, nulls_last=last)

    def beyond(self, value: Any, pk: Any) -> Q:
        """Return the rows that come after the one with this value and id.

        The bound on the value alone stands apart, so that an index can serve it.
        """
        step = "lt" if self.is_down else "gt"
        later = Q(**{f"pk__{step}": pk})
        if self.by == "pk":
            return later
        if value is None:
            same = Q(**{f"{self.by}__isnull": True}) & later
            return same if self.nulls == "last" else same | Q(**{f"{self.by}__isnull": False})
        bound = Q(**{f"{self.by}__{step}e": value})
        found = bound & (Q(**{f"{self.by}__{step}": value}) | later)
        return found | Q(**{f"{self.by}__isnull": True}) if self.nulls == "last" else found

    def value_of(self, row: Model) -> Any:
        return None if self.by == "pk" else getattr(row, self.by)


NEWEST_FIRST: Final = Sorting()


def orders_of(view: Any) -> Mapping[str, Order]:
    """Return the orders that a view names."""
    orders: Mapping[str, Order] = getattr(view, "orders", {})
    return orders


def asked_sorting(request: Request, view: Any) -> Sorting:
    """Return the order that was asked for, or the usual one of the view."""
    asked = request.query_params.get(ORDERING, getattr(view, "usual_ordering", ""))
    if not asked and ORDERING not in request.query_params:
        return NEWEST_FIRST
    orders = orders_of(view)
    order = orders.get(asked.removeprefix("-"))
    if order is None:
        names = ", ".join(orders) or "none here"
        raise ValidationError(
            {ORDERING: f"'{asked}' is no order of this list. Orders: {names}; '-' turns one round."}
        )
    missing = [name for name in order.needs if name not in request.query_params]
    if missing:
        raise ValidationError({ORDERING: f"This order needs {', '.join(missing)} too."})
    upwards = Sorting(order.by, is_down=False, nulls=order.nulls)
    return upwards.backwards() if asked.startswith("-") else upwards


class ListOrdering(BaseFilterBackend):
    """Describes the orders of a list; the pages apply them, because they must know them."""

    def filter_queryset(
        self, request: Request, queryset: QuerySet[Any], view: Any
    ) -> QuerySet[Any]:
        return queryset

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        orders = orders_of(view)
        if not orders:
            return []
        told = "; ".join(f"`{name}`: {order.told}" for name, order in orders.items())
        usual = getattr(view, "usual_ordering", "") or "the newest first"
        schema = {"type": "string", "enum": [*orders, *(f"-{name}" for name in orders)]}
        text = f"In which order; `-` turns one round. {told}. Usually {usual}."
        return [
            {"name": ORDERING, "required": False, "in": "query", "description": text,
             "schema": schema},
        ]  # fmt: skip
