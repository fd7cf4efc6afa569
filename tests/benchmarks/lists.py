"""Every list of the API against a view that does the least that it could.

    export DATABASE_URL=postgres://postgres@127.0.0.1:5432/<database>
    python -m tests.benchmarks.lists

Makes a test database beside the one named, and drops it again. The floor has the same sign-in,
access, filters, order and pages, and answers with `.values()` of the columns that the list shows;
both are asked in turn, from the request to the bytes of the answer. Budget: 2.5 times the floor.
Each figure is the median of many rounds, for a machine that others use too.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import time
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import django

BUDGET = 2.5
ROWS, ROUNDS = 55, 40
BESIDE_THE_BUDGET = {
    "catch-tests": "computes advice and cups for an error of each test",
    "reminders": "words each sentence",
}
"""What a list computes of each row, which columns alone cannot show."""


def floor_of(viewset: type[Any]) -> type[Any]:
    """Return the same list without serializers: the columns as the database has them."""
    from rest_framework.response import Response

    from properties.http.paging import KeysetPages

    class ValuePages(KeysetPages):
        def get_paginated_response(self, data: Any) -> Any:
            self.page = [SimpleNamespace(**row) for row in self.page]
            return super().get_paginated_response(data)

    class Floor(viewset):  # type: ignore[misc]
        pagination_class = ValuePages

        def list(self, request: Any) -> Any:
            rows = self.filter_queryset(self.get_queryset())
            page = self.paginate_queryset(rows.values(*columns_of(self, rows)))
            add_children(page, rows)
            return Response({**self.get_paginated_response(page).data, "results": page})

    return Floor


def add_children(page: list[Any], rows: Any) -> None:
    """Give the rows of a page what hangs on them and is shown too, as it is stored."""
    by_id = {row["pk"]: row for row in page}
    for name in rows._prefetch_related_lookups:
        is_plain = isinstance(name, str) and "__" not in name
        relation = rows.model._meta.get_field(name) if is_plain else None
        if relation is None or not relation.one_to_many:
            continue
        to_row = relation.field.attname
        children = relation.related_model._default_manager.filter(**{f"{to_row}__in": by_id})
        for child in children.values():
            by_id[child[to_row]].setdefault(name, []).append(child)


def columns_of(view: Any, rows: Any) -> list[str]:
    """Return the columns and annotations that the serializer of a list shows."""
    concrete = {field.attname for field in rows.model._meta.concrete_fields}
    shown = {"pk"} | {order.by for order in view.orders.values()} & concrete
    for field in view.get_serializer().fields.values():
        name = str(field.source)
        for each in (name, f"{name}_id"):
            if each in concrete or each in rows.query.annotations:
                shown.add(each)
    return sorted(shown)


def seconds_of(ask: Callable[[], Any]) -> float:
    start = time.perf_counter()
    ask()
    return time.perf_counter() - start


def asker(viewset: type[Any], secret: str, query: dict[str, str]) -> Callable[[], Any]:
    from rest_framework.test import APIRequestFactory

    view = viewset.as_view({"get": "list"}, detail=False)
    factory = APIRequestFactory()

    def ask() -> Any:
        request = factory.get("/api/v1/list", query, headers={"authorization": f"Bearer {secret}"})
        answer = view(request).render()
        assert answer.status_code == 200, answer.content
        return answer

    return ask


def run(rounds: int) -> int:
    from django.db import connection

    from config.urls import router
    from properties.services.sign_in import issue_token
    from tests import cast
    from tests.list_rows import make_rows_for_lists

    cast.make_company()
    office = cast.make_office()
    cast.make_technician()
    cast.make_property()
    for number in range(1, ROWS + 1):
        make_rows_for_lists(number)
    _, secret = issue_token(
        office, label="benchmark", actor=office, now=django.utils.timezone.now()
    )
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    over = []
    print(f"{'list':24}{'rows':>5}{'ms':>8}{'floor ms':>10}{'ratio':>7}")
    for prefix, viewset, _ in sorted(router.registry, key=lambda entry: entry[0]):
        if not hasattr(viewset, "list"):
            continue
        ours, floor = asker(viewset, secret, {}), asker(floor_of(viewset), secret, {})
        rows = len(ours().data["results"])
        floor()
        pairs = [(seconds_of(ours), seconds_of(floor)) for _ in range(rounds)]
        ms, floor_ms = (1000 * statistics.median(side) for side in zip(*pairs, strict=True))
        ratio = ms / floor_ms
        if ratio > BUDGET and prefix not in BESIDE_THE_BUDGET:
            over.append(prefix)
        told = BESIDE_THE_BUDGET.get(prefix, "OVER" if prefix in over else "")
        print(f"{prefix:24}{rows:5}{ms:8.2f}{floor_ms:10.2f}{ratio:7.2f}  {told}", flush=True)
    print(f"over {BUDGET}: {', '.join(over) or 'none'}")
    return 1 if over else 0


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    arguments = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.test")
    os.environ.setdefault("READ_RATE", "1000000/min")
    django.setup()
    from django.db import connection

    if connection.vendor != "postgresql":
        print("Name a PostgreSQL database in DATABASE_URL.")
        return 2
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        return run(arguments.rounds)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)


if __name__ == "__main__":
    sys.exit(main())
