"""The page of photos: what is known of them. The pictures leave through the API alone."""

from __future__ import annotations

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from audits.models import Photo
from properties.http.office_admin import ReadOnlyAdmin


@admin.register(Photo)
class PhotoAdmin(ReadOnlyAdmin):
    list_display = ("taken_at", "visit__property", "zone", "caption", "width_px", "height_px")
    list_select_related = ("visit__property", "zone")
    date_hierarchy = "taken_at"
    search_fields = ("visit__property__name", "zone__name", "caption")
    fields = ("visit", "zone", "taken_at", "caption", "width_px", "height_px", "source_sha256")
    readonly_fields = ("width_px", "height_px", "source_sha256")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Photo]:
        return super().get_queryset(request).defer("jpeg")
