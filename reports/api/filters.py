"""By what the lists of this app are filtered."""

from __future__ import annotations

from properties.http.filters import IdFilter, ListFilters, WordFilter
from reports.models.documents import DocumentKind


class DocumentFilters(ListFilters):
    property = IdFilter()
    visit = IdFilter()
    notice = IdFilter()
    kind = WordFilter(DocumentKind)
