"""Opaque cursors over a unique order, with a hard cap.

A cursor holds the order's value and the id of the row that was read last, so that rows which come
or go shift nothing. It is signed together with address, order and filters: one that was damaged,
or that belongs to another list, is refused.
"""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

from django.core.signing import BadSignature, Signer
from django.db.models import Model, QuerySet
from rest_framework.exceptions import ValidationError
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from properties.http.ordering import NEWEST_FIRST, Sorting, asked_sorting

PAGE_ROWS: Final = 50
MOST_ROWS: Final = 200
LIMIT, CURSOR = "limit", "cursor"
FREE_TO_CHANGE: Final = frozenset({CURSOR, LIMIT, "units", "expand"})
"""What may differ from page to page, as it changes neither the rows nor their order."""

NO_CURSOR: Final = (
    "This cursor does not belong to this list, order and filters. Take it as it was given in `next`"
    " or `previous`, or leave it out to begin anew."
)


class KeysetPages(BasePagination):
    """Pages in the order asked for; newest first where none is."""

    sorting: Sorting = NEWEST_FIRST
    page: list[Any]

    def paginate_queryset(  # type: ignore[override]  # never a plain sequence here
        self, queryset: QuerySet[Any], request: Request, view: Any = None
    ) -> list[Any]:
        self.request, self.sorting = request, asked_sorting(request, view)
        self.signer = Signer(salt=_belonging(request))
        self.is_back, position = self._position()
        sorting = self.sorting.backwards() if self.is_back else self.sorting
        rows = queryset.order_by(*sorting.keys())
        if position is not None:
            rows = rows.filter(sorting.beyond(*position))
        size = rows_asked(request)
        found = list(rows[: size + 1])
        self.has_more, self.has_come = len(found) > size, position is not None
        self.page = found[:size][::-1] if self.is_back else found[:size]
        return self.page

    def _position(self) -> tuple[bool, tuple[Any, Any] | None]:
        cursor = self.request.query_params.get(CURSOR)
        if cursor is None:
            return False, None
        try:
            is_back, value, pk = self.signer.unsign_object(cursor)
        except (BadSignature, ValueError) as error:
            raise ValidationError({CURSOR: NO_CURSOR}) from error
        return bool(is_back), (value, pk)

    def get_paginated_response(self, data: Any) -> Response:
        return Response({"next": self._next(), "previous": self._previous(), "results": data})

    def _next(self) -> str | None:
        goes_on = self.has_come if self.is_back else self.has_more
        return self._link(self.page[-1], is_back=False) if goes_on and self.page else None

    def _previous(self) -> str | None:
        goes_on = self.has_more if self.is_back else self.has_come
        return self._link(self.page[0], is_back=True) if goes_on and self.page else None

    def _link(self, row: Model, *, is_back: bool) -> str:
        position = [_plain(self.sorting.value_of(row)), _plain(row.pk)]
        cursor = self.signer.sign_object([int(is_back), *position])
        return replace_query_param(self.request.build_absolute_uri(), CURSOR, cursor)

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        link = {"type": ["string", "null"], "format": "uri"}
        return {
            "type": "object",
            "required": ["next", "previous", "results"],
            "properties": {
                "next": {**link, "description": "The page after this one; null at the end."},
                "previous": {**link, "description": "The page before; null at the beginning."},
                "results": schema,
            },
        }

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        least_and_most = {"minimum": 1, "maximum": MOST_ROWS, "default": PAGE_ROWS}
        told = f"Rows of a page; {PAGE_ROWS} when absent, never more than {MOST_ROWS}."
        return [
            {"name": CURSOR, "required": False, "in": "query", "schema": {"type": "string"},
             "description": "Out of `next` or `previous` of a page, as it stands there."},
            {"name": LIMIT, "required": False, "in": "query", "description": told,
             "schema": {"type": "integer", **least_and_most}},
        ]  # fmt: skip


def rows_asked(request: Request) -> int:
    """Return how long a page is to be; what is no number above nothing asks for the usual one."""
    asked = request.query_params.get(LIMIT, "")
    is_number = asked.isascii() and asked.isdigit() and len(asked) < 10
    return min(int(asked), MOST_ROWS) or PAGE_ROWS if is_number else PAGE_ROWS


def _belonging(request: Request) -> str:
    """Return what a cursor belongs to: address, order and filters."""
    lists = sorted(request.query_params.lists())
    return repr([request.path, *(pair for pair in lists if pair[0] not in FREE_TO_CHANGE)])


def _plain(value: Any) -> Any:
    """Return a value as JSON holds it without loss."""
    if isinstance(value, dt.date | dt.datetime):
        return value.isoformat()
    return value if isinstance(value, int | float | str | None) else str(value)
