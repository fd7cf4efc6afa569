"""The pages of documents, and their bytes behind the scope check."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils import timezone
from django.utils.html import format_html

from properties.http.office_admin import ReadOnlyAdmin, staff_of
from properties.selectors.scope import narrow_to_scope
from reports.models import Document


@admin.register(Document)
class DocumentAdmin(ReadOnlyAdmin):
    list_display = ("title", "kind", "number", "created_at", "size", "open_pdf")
    list_filter = ("kind",)
    date_hierarchy = "created_at"
    search_fields = ("title", "property__name", "property__customer__name")
    fields = (
        "title", "open_pdf", "kind", "property", "visit", "notice", "number", "created_at", "size",
        "sha256",
    )  # fmt: skip
    readonly_fields = ("open_pdf", "size")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Document]:
        rows = super().get_queryset(request).defer("pdf")
        return narrow_to_scope(rows, "property", staff=staff_of(request), now=timezone.now())

    def get_urls(self) -> list[Any]:
        pdf = self.admin_site.admin_view(self.pdf_view)
        return [path("<uuid:pk>/pdf/", pdf, name="reports_document_pdf"), *super().get_urls()]

    def pdf_view(self, request: HttpRequest, pk: UUID) -> HttpResponse:
        """Answer with the bytes as they were rendered."""
        document = get_object_or_404(self.get_queryset(request), pk=pk)
        response = HttpResponse(bytes(document.pdf), content_type="application/pdf")
        name = f"{document.kind}-{document.number}.pdf"
        response["Content-Disposition"] = f'inline; filename="{name}"'
        response["Cache-Control"] = "private, no-store"
        return response

    @admin.display(description="PDF")
    def open_pdf(self, document: Document) -> str:
        address = reverse("admin:reports_document_pdf", args=[document.pk])
        return format_html('<a href="{}">Open the PDF</a>', address)

    @admin.display(description="Size [kB]", ordering="size_bytes")
    def size(self, document: Document) -> str:
        return f"{document.size_bytes / 1000:.0f}"
