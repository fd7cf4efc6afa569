"""The pages of visits: planned here, carried out by the technicians."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

from django.contrib import admin
from django.db.models import Q, QuerySet
from django.forms import BaseInlineFormSet
from django.http import HttpRequest
from django.utils import timezone

from audits.admin.catch_tests import RATE, UNIFORMITY
from audits.admin.findings import FindingsToSee
from audits.models import CatchTest, Visit, VisitState
from audits.services.visits import call_off_visit, miss_visit, plan_visit
from properties.http.office_admin import (
    RowAdmin,
    RowsToSee,
    register_inline,
    staff_of,
    try_each,
)
from properties.models import Property, Role, Row, StaffMember

if TYPE_CHECKING:
    InlineFormSet = BaseInlineFormSet[Any, Any, Any]
else:
    InlineFormSet = BaseInlineFormSet

RECENT: Final = 10


class NewestVisits(InlineFormSet):
    """The newest rows only: a good client has dozens of visits."""

    def get_queryset(self) -> QuerySet[Any]:
        if not hasattr(self, "_newest"):
            self._newest = super().get_queryset()[:RECENT]
        return self._newest


class RecentVisits(RowsToSee):
    model = Visit
    formset = NewestVisits
    shown_with = ("technician",)
    fields = ("planned_date", "kind", "state", "technician")
    readonly_fields = fields
    ordering = ("-planned_date", "-id")
    verbose_name_plural = "recent visits"


class TestsOfVisit(RowsToSee):
    model = CatchTest
    shown_with = ("zone",)
    fields = ("zone", "taken_at", RATE, UNIFORMITY, "cups", "is_pooled", "before_mending")
    readonly_fields = (RATE, UNIFORMITY)
    ordering = ("zone__number", "taken_at")


register_inline(Property, RecentVisits)


@admin.register(Visit)
class VisitAdmin(RowAdmin):
    list_display = ("planned_date", "property", "kind", "state", "technician", "finished_at")
    list_display_links = ("planned_date", "property")
    list_filter = ("state", "kind", ("technician", admin.RelatedOnlyFieldListFilter))
    list_select_related = ("property", "technician")
    date_hierarchy = "planned_date"
    search_fields = ("property__name", "property__street", "property__customer__name", "notes")
    autocomplete_fields = ("property",)
    inlines = (FindingsToSee, TestsOfVisit)
    actions = ("call_off", "miss")

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        course = ("state", "started_at", "finished_at") if obj else ()
        return ("property", "technician", "kind", "planned_date", *course, "notes")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """A visit stays at its property; once begun only its notes are open."""
        fixed: tuple[str, ...] = ()
        if obj is not None:
            fixed = ("property", "state", "started_at", "finished_at")
        if obj is not None and obj.state != VisitState.PLANNED:
            fixed = (*fixed, "technician", "kind", "planned_date")
        return (*super().get_readonly_fields(request, obj), *fixed)

    def add(self, values: dict[str, Any], **who_and_when: Any) -> Row:
        return plan_visit(values, **who_and_when)

    def formfield_for_foreignkey(self, db_field: Any, request: HttpRequest, **kwargs: Any) -> Any:
        if db_field.name == "technician":
            kwargs["queryset"] = _technicians(request)
        return super().formfield_for_foreignkey(db_field, request, **kwargs)

    @admin.action(description="Call off the chosen visits")
    def call_off(self, request: HttpRequest, rows: QuerySet[Visit]) -> None:
        self._move_each(request, rows, call_off_visit, done="called off")

    @admin.action(description="Note the chosen visits as missed")
    def miss(self, request: HttpRequest, rows: QuerySet[Visit]) -> None:
        self._move_each(request, rows, miss_visit, done="noted as missed")

    def _move_each(
        self,
        request: HttpRequest,
        rows: QuerySet[Visit],
        service: Callable[..., Visit],
        *,
        done: str,
    ) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(request, rows, lambda visit: service(visit, actor=actor, now=now), done=done)


def _technicians(request: HttpRequest) -> QuerySet[StaffMember]:
    """Return who can be sent: working technicians, and whoever is planned already."""
    working = Q(role=Role.TECHNICIAN, is_active=True)
    match = request.resolver_match
    if match is not None and "object_id" in match.kwargs:
        working |= Q(visits=match.kwargs["object_id"])
    return StaffMember.objects.filter(working).distinct()
