"""The pages of the clients."""

from __future__ import annotations

from django.contrib import admin

from properties.http.office_admin import RowAdmin, RowsToSee
from properties.models import Customer, Property


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
        "consent_note", "unsubscribed_at", "mail",
    )  # fmt: skip
    readonly_fields = ("unsubscribed_at", "mail")
    inlines = (PropertiesOfCustomer,)

    @admin.display(description="Notices")
    def mail(self, customer: Customer) -> str:
        block = customer.mail_block()
        return "Go out to this address." if block is None else f"Do not go out: {block.label}"
