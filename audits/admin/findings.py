"""The pages of findings (facts) and of the repair tickets that come out of them."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.http import HttpRequest
from django.utils import timezone

from audits.models import Finding, PriceItem, RepairTicket, TicketLine, TicketProof
from audits.services.price_list import add_price_item, change_price_item
from audits.services.tickets import open_ticket
from properties.http.office_admin import ReadOnlyAdmin, RowAdmin, RowsToSee, staff_of
from properties.http.office_forms import PlacedChoiceField, of_asked_property
from properties.models import Row, Zone


class FindingsToSee(RowsToSee):
    model = Finding
    shown_with = ("zone",)
    fields = ("zone", "fault", "severity", "count", "where", "mended_on_the_spot")


@admin.register(Finding)
class FindingAdmin(ReadOnlyAdmin):
    list_display = (
        "fault", "visit__property", "zone", "severity", "count", "mended_on_the_spot", "seen_at",
    )  # fmt: skip
    list_filter = ("severity", "mended_on_the_spot", "fault")
    list_select_related = ("visit__property", "zone")
    date_hierarchy = "seen_at"
    search_fields = ("visit__property__name", "zone__name", "where", "note")
    fields = (
        "visit", "zone", "fault", "severity", "count", "where", "note", "mended_on_the_spot",
        "seen_at", "ticket",
    )  # fmt: skip


class LinesToSee(RowsToSee):
    model = TicketLine
    shown_with = ("item",)
    fields = ("item", "quantity", "unit_price", "is_struck")


class ProofsToSee(RowsToSee):
    model = TicketProof
    fields = ("kind", "seen_at", "fault_is_gone", "note")


@admin.register(PriceItem)
class PriceItemAdmin(RowAdmin):
    list_display = ("code", "name", "kind", "unit", "price", "is_active")
    list_filter = ("kind", "is_active")
    search_fields = ("code", "name")
    fields = ("code", "name", "kind", "unit", "price", "is_active")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """Code and kind are what an item is; tickets and the company's books know it by them."""
        fixed = ("code", "kind") if obj else ()
        return (*super().get_readonly_fields(request, obj), *fixed)

    def add(self, values: dict[str, Any], **who_and_when: Any) -> Row:
        return add_price_item(values, **who_and_when)

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        if not change:
            super().save_model(request, obj, form, change)
            return
        values = form.cleaned_data
        changes = {name: values[name] for name in form.changed_data if name != "read_revision"}
        change_price_item(
            obj, changes, read_revision=values["read_revision"] or 0, actor=staff_of(request),
            now=timezone.now(),
        )  # fmt: skip


@admin.register(RepairTicket)
class RepairTicketAdmin(RowAdmin):
    list_display = ("fault", "property", "zone", "state", "created_at")
    list_filter = ("state", "fault")
    list_select_related = ("property", "zone")
    search_fields = ("property__name", "zone__name", "work")
    autocomplete_fields = ("property",)
    inlines = (FindingsToSee, LinesToSee, ProofsToSee)

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        state = ("state",) if obj else ()
        return ("property", "zone", "fault", *state, "work")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """What is broken and where is a fact; how to mend it may be put better."""
        facts = ("property", "zone", "fault", "state") if obj else ()
        return (*super().get_readonly_fields(request, obj), *facts)

    def add(self, values: dict[str, Any], **who_and_when: Any) -> Row:
        return open_ticket(values, **who_and_when)

    def formfield_for_foreignkey(self, db_field: Any, request: HttpRequest, **kwargs: Any) -> Any:
        if db_field.name == "zone":
            zones = Zone.objects.select_related("property").order_by("property__name", "number")
            zones = of_asked_property(zones, request)
            kwargs |= {"form_class": PlacedChoiceField, "queryset": zones}
        return super().formfield_for_foreignkey(db_field, request, **kwargs)

    def formfield_for_dbfield(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        field = super().formfield_for_dbfield(db_field, request, **kwargs)
        if db_field.name == "work" and "object_id" not in request.resolver_match.kwargs:
            field.required = False
            field.help_text = "What is to be done; empty: the usual repair of the fault."
        return field
