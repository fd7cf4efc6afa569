"""The pages of the clients."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.urls import path, reverse
from django.utils import timezone
from django.utils.html import format_html

from properties.admin.erase_clients import erase_page
from properties.http.office_admin import RowAdmin, RowsToSee, staff_of, try_each
from properties.models import Customer, Property
from properties.services.mail_consent import change_customer, clear_refused_address


class PropertiesOfCustomer(RowsToSee):
    model = Property
    fields = ("name", "street", "city", "water_source")


@admin.register(Customer)
class CustomerAdmin(RowAdmin):
    list_display = ("name", "relation", "email", "phone", "reference", "wants_notices")
    list_filter = ("relation", "wants_notices")
    search_fields = ("name", "email", "phone", "reference")
    fields = (
        "name", "relation", "email", "phone", "reference", "language", "units", "wants_notices",
        "consent_note", "unsubscribed_at", "mail", "erase",
    )  # fmt: skip
    readonly_fields = ("unsubscribed_at", "mail", "erase")
    inlines = (PropertiesOfCustomer,)
    actions = ("trust_address",)

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Customer:
        return change_customer(row, changes, read_revision=row.revision, **who_and_when)

    @admin.action(description="Trust addresses again that the mail server refused")
    def trust_address(self, request: HttpRequest, rows: QuerySet[Customer]) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(
            request, rows, lambda row: clear_refused_address(row.pk, actor=actor, now=now),
            done="trusted again; notices held back are tried again on their own page",
        )  # fmt: skip

    def get_urls(self) -> list[Any]:
        page = self.admin_site.admin_view(erase_page)
        return [
            path("<uuid:object_id>/erase/", page, name="properties_customer_erase"),
            *super().get_urls(),
        ]

    @admin.display(description="Notices")
    def mail(self, customer: Customer) -> str:
        block = customer.mail_block()
        return "Go out to this address." if block is None else f"Do not go out: {block.label}"

    @admin.display(description="Erase")
    def erase(self, customer: Customer) -> str:
        if customer.erased_at is not None:
            return f"Erased on {customer.erased_at:%Y-%m-%d}: {customer.get_erased_for_display()}"
        if customer.pk is None or customer.created_at is None:
            return ""
        address = reverse("admin:properties_customer_erase", args=[customer.pk])
        return format_html('<a href="{}">Erase this client for good</a>', address)
