"""Opaque cursors over an unchanging order, with a hard cap."""

from __future__ import annotations

from rest_framework.pagination import CursorPagination


class NewestFirst(CursorPagination):
    """Pages by id: ids are time-ordered, so the newest row comes first and no row is skipped."""

    ordering = "-id"
    page_size = 50
    page_size_query_param = "limit"
    max_page_size = 200
