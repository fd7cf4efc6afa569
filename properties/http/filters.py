"""Filters that tell nothing of rows that the caller may not see."""

from __future__ import annotations

from typing import Any

from django.db.models import ForeignKey
from django_filters import UUIDFilter
from django_filters.rest_framework import DjangoFilterBackend, FilterSet


class PlainIdFilterSet(FilterSet):
    """Takes any id for a reference: a foreign one finds as little as an unknown one."""

    FILTER_DEFAULTS: dict[Any, Any] = {
        **FilterSet.FILTER_DEFAULTS,
        ForeignKey: {"filter_class": UUIDFilter},
    }


class ByIdFilterBackend(DjangoFilterBackend):
    filterset_base = PlainIdFilterSet
