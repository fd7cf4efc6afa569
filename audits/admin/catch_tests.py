"""The pages of catch tests: measured facts, to look at, and to take out of force by name."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.urls import path, reverse
from django.utils.html import format_html, format_html_join

from audits.admin.void_tests import void_page
from audits.models import CatchTest, CupReading
from audits.selectors.catch_tests import advice_of
from properties.http.office_admin import ReadOnlyAdmin, RowsToSee
from properties.http.office_columns import measured, number_text

RUN: Final = measured("run_min")
THROAT: Final = measured("throat_area_cm2")
WIND: Final = measured("wind_m_s")
MEAN_DEPTH: Final = measured("mean_depth_mm")
RATE: Final = measured("rate_mm_h")
UNIFORMITY: Final = measured("du_lq", "DU low quarter")
UNIFORMITY_HALF: Final = measured("du_lh", "DU low half")
CHRISTIANSEN: Final = measured("cu", "Christiansen's uniformity")
DEPTH: Final = measured("depth_mm")
X: Final = measured("x_m")
Y: Final = measured("y_m")


class CupsOfTest(RowsToSee):
    model = CupReading
    fields = ("number", DEPTH, X, Y)
    readonly_fields = (DEPTH, X, Y)
    show_change_link = False
    verbose_name_plural = "cups"


@admin.register(CatchTest)
class CatchTestAdmin(ReadOnlyAdmin):
    list_display = (
        "taken_at", "zone__property", "zone", RATE, UNIFORMITY, "cups", "is_pooled",
        "before_mending", "voided_at",
    )  # fmt: skip
    list_filter = ("is_pooled", "before_mending", "zone__head_kind")
    list_select_related = ("zone__property",)
    date_hierarchy = "taken_at"
    search_fields = ("zone__name", "zone__property__name")
    inlines = (CupsOfTest,)
    fieldsets = (
        (None, {"fields": ("zone", "visit", "taken_at", "before_mending")}),
        ("Whether it stands", {"fields": (
            "supersedes", "voided_at", "void_reason", "void_it",
        )}),
        ("How it was taken", {"fields": (
            RUN, "cups", "is_pooled", "cup_shape", THROAT, "cups_level", WIND,
        )}),
        ("What it says", {"fields": (
            MEAN_DEPTH, RATE, "rate_interval", UNIFORMITY, UNIFORMITY_HALF, CHRISTIANSEN, "advice",
        )}),
    )  # fmt: skip
    readonly_fields = (
        RUN, THROAT, WIND, MEAN_DEPTH, RATE, UNIFORMITY, UNIFORMITY_HALF, CHRISTIANSEN,
        "rate_interval", "advice", "void_it",
    )  # fmt: skip

    def get_urls(self) -> list[Any]:
        page = self.admin_site.admin_view(void_page)
        return [
            path("<uuid:object_id>/void/", page, name="audits_catchtest_void"),
            *super().get_urls(),
        ]

    def get_queryset(self, request: HttpRequest) -> QuerySet[CatchTest]:
        return super().get_queryset(request).select_related("visit", "supersedes", "zone__property")

    @admin.display(description="Rate lies between [mm/h]")
    def rate_interval(self, test: CatchTest) -> str:
        return f"{number_text(test.rate_low_mm_h)} and {number_text(test.rate_high_mm_h)}"

    @admin.display(description="Void")
    def void_it(self, test: CatchTest) -> str:
        if test.voided_at is not None:
            return "It was voided."
        address = reverse("admin:audits_catchtest_void", args=[test.pk])
        return format_html('<a href="{}">Void this test, with a reason</a>', address)

    @admin.display(description="Advice")
    def advice(self, test: Any) -> str:
        return format_html_join("", "<p>{}</p>", ((one.sentence,) for one in advice_of(test)))
