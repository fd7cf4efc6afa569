"""Filters that a list names one by one, and that tell nothing of rows that the caller may not see.

A parameter that a list does not know is refused: dropped in silence, it would answer another
question than the one that was asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from operator import or_
from typing import Any, Final

from django import forms
from django.db.models import Q, QuerySet
from django_filters import (
    BooleanFilter,
    CharFilter,
    ChoiceFilter,
    DateFilter,
    Filter,
    IsoDateTimeFilter,
    NumberFilter,
    UUIDFilter,
)
from django_filters.filters import BaseInFilter
from django_filters.rest_framework import DjangoFilterBackend, FilterSet
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request

from properties.http.expansion import EXPAND, expansions_of
from properties.http.ordering import ORDERING, orders_of
from properties.http.paging import CURSOR, LIMIT
from properties.models import Role
from properties.selectors.retirement import retires_by

MOST_SEARCHED: Final = 100
UNITS, RETIRED = "units", "retired"


class IdFilter(UUIDFilter):
    """Takes any id: a foreign one finds as little as an unknown one."""


class WordFilter(BaseInFilter, ChoiceFilter):
    """One of the words of a field, or several after commas."""

    def __init__(self, choices: Any, **extra: Any) -> None:
        named = ", ".join(str(word) for word, _ in _pairs(choices) if word)
        refusal = {"invalid_choice": f"'%(value)s' is not known here. Use one of: {named}."}
        super().__init__(choices=choices, error_messages=refusal, **extra)


def _pairs(choices: Any) -> Any:
    return choices.choices if hasattr(choices, "choices") else choices


class TextFilter(CharFilter):
    """The whole text, as it is stored."""


class FlagField(forms.CharField):
    def clean(self, value: Any) -> bool | None:
        word = super().clean(value)
        if word not in ("", "true", "false"):
            raise forms.ValidationError("Use true or false.", code="invalid")
        return None if word == "" else word == "true"


class FlagFilter(BooleanFilter):
    """`true` or `false`, and nothing else."""

    field_class = FlagField


class LeastFilter(NumberFilter):
    """Not below a number, in the unit of the parameter's name."""

    def __init__(self, field_name: str, **extra: Any) -> None:
        super().__init__(field_name=field_name, lookup_expr="gte", **extra)


class MostFilter(NumberFilter):
    """Not above a number, in the unit of the parameter's name."""

    def __init__(self, field_name: str, **extra: Any) -> None:
        super().__init__(field_name=field_name, lookup_expr="lte", **extra)


class FirstDateFilter(DateFilter):
    def __init__(self, field_name: str, **extra: Any) -> None:
        super().__init__(field_name=field_name, lookup_expr="gte", **extra)


class LastDateFilter(DateFilter):
    def __init__(self, field_name: str, **extra: Any) -> None:
        super().__init__(field_name=field_name, lookup_expr="lte", **extra)


class SinceFilter(IsoDateTimeFilter):
    """At a moment or after it."""

    def __init__(self, field_name: str, **extra: Any) -> None:
        super().__init__(field_name=field_name, lookup_expr="gte", **extra)


class SearchFilter(CharFilter):
    """Rows in which each word stands somewhere; in fields for the office alone only for the office.

    A field that the caller is not shown is not searched either: a hit would tell what is in it.
    """

    def __init__(
        self,
        *fields: str,
        office: tuple[str, ...] = (),
        of_many: tuple[str, ...] = (),
        **extra: Any,
    ) -> None:
        self.open_fields, self.office_fields, self.of_many = fields, office, of_many
        super().__init__(max_length=MOST_SEARCHED, **extra)

    def filter(self, qs: QuerySet[Any], value: str | None) -> QuerySet[Any]:
        is_office = getattr(self.parent.request.user, "role", None) == Role.OFFICE
        names = (*self.open_fields, *(self.office_fields if is_office else ()))
        for word in (value or "").split():
            own = (Q(**{f"{name}__icontains": word}) for name in names)
            qs = qs.filter(reduce(or_, (*own, *self._of_many(qs, word))))
        return qs

    def _of_many(self, qs: QuerySet[Any], word: str) -> Iterator[Q]:
        """Look in rows of which there may be several to one, and meet the one once."""
        for name in self.of_many:
            found = qs.model._default_manager.filter(**{f"{name}__icontains": word})
            yield Q(pk__in=found.values("pk"))


class ListFilters(FilterSet):
    """The filters of one list; each is written out, so that none appears by itself."""


class ExplicitFilters(DjangoFilterBackend):
    """Filters a list by what its view names, and refuses what it does not know."""

    filterset_base = ListFilters

    def filter_queryset(
        self, request: Request, queryset: QuerySet[Any], view: Any
    ) -> QuerySet[Any]:
        is_list = getattr(view, "detail", None) is False
        if is_list or getattr(view, "action", None) == "retrieve":
            _refuse(request, known_parameters(view, is_list=is_list), filters_of(view))
        return super().filter_queryset(request, queryset, view) if is_list else queryset


def filters_of(view: Any) -> dict[str, Filter]:
    """Return the filters that a view names."""
    filterset = ExplicitFilters().get_filterset_class(view, view.queryset)
    return {} if filterset is None else dict(filterset.base_filters)


def known_parameters(view: Any, *, is_list: bool) -> list[str]:
    """Return the query parameters that a view takes."""
    known = [UNITS]
    if expansions_of(view):
        known.append(EXPAND)
    if len(getattr(view, "renderer_classes", ())) > 1:
        known.append("format")
    return [*(_list_parameters(view) if is_list else ()), *known]


def _list_parameters(view: Any) -> Iterator[str]:
    yield from filters_of(view)
    if view.pagination_class is not None:
        yield from (ORDERING,) if orders_of(view) else ()
        yield from (LIMIT, CURSOR)
    if getattr(view, "lists_retired", True) and retires_by(view.queryset.model):
        yield RETIRED


def _refuse(request: Request, known: list[str], filters: dict[str, Filter]) -> None:
    """Refuse what is unknown, said twice, or a filter that says nothing."""
    errors = {}
    for name, values in request.query_params.lists():
        if name not in known:
            told = f"This parameter is not known here. Parameters: {', '.join(known)}."
            errors[name] = ErrorDetail(told, code="unknown-parameter")
        elif len(values) > 1:
            errors[name] = ErrorDetail("Send this parameter once.", code="said-twice")
        elif name in filters and not values[0].strip():
            told = "Give a value, or leave the parameter out."
            errors[name] = ErrorDetail(told, code="blank")
    if errors:
        raise ValidationError(errors)
