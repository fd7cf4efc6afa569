"""The pages of what meters, gauges and buckets showed: facts, to look at."""

from __future__ import annotations

from typing import Final

from django.contrib import admin

from audits.models import BucketTest, EmitterCheck, EmitterReading, FlowCheck, MeterReading
from properties.http.office_admin import ReadOnlyAdmin, RowsToSee
from properties.http.office_columns import measured

BEFORE: Final = measured("meter_before_l", "Meter before [L]")
AFTER: Final = measured("meter_after_l", "Meter after [L]")
REGISTER: Final = measured("register_l", "Register [L]")
RUN: Final = measured("run_min")
STATIC: Final = measured("static_kpa", "Static pressure [kPa]")
RUNNING: Final = measured("running_kpa", "Running pressure [kPa]")
FLOW: Final = measured("flow_l_min")
VOLUME: Final = measured("volume_l", "Volume [L]")
SECONDS: Final = measured("seconds", "Time [s]")
CAUGHT: Final = measured("volume_ml", "Caught [mL]")
CATCH: Final = measured("catch_s", "Time of the catch [s]")
MEAN: Final = measured("mean_flow_l_min", "Mean flow [L/min]")
EVEN: Final = measured("emission_uniformity", "Emission uniformity")
READING: Final = measured("reading_l", "Reading [L]")


@admin.register(FlowCheck)
class FlowCheckAdmin(ReadOnlyAdmin):
    list_display = ("taken_at", "zone__property", "zone", FLOW, STATIC, RUNNING, "has_pump")
    list_filter = ("has_pump",)
    list_select_related = ("zone__property",)
    date_hierarchy = "taken_at"
    search_fields = ("zone__name", "zone__property__name")
    readonly_fields = (BEFORE, AFTER, REGISTER, RUN, STATIC, RUNNING, FLOW)
    fields = (
        "visit", "zone", "tap", "taken_at", BEFORE, AFTER, REGISTER, RUN, STATIC, RUNNING,
        "has_pump", FLOW,
    )  # fmt: skip


@admin.register(BucketTest)
class BucketTestAdmin(ReadOnlyAdmin):
    list_display = ("taken_at", "zone__property", "zone", VOLUME, SECONDS, FLOW)
    list_select_related = ("zone__property",)
    date_hierarchy = "taken_at"
    search_fields = ("zone__name", "zone__property__name")
    readonly_fields = (VOLUME, SECONDS, FLOW)
    fields = ("visit", "zone", "taken_at", VOLUME, SECONDS, FLOW)


class EmittersOfCheck(RowsToSee):
    model = EmitterReading
    fields = ("number", CAUGHT, FLOW)
    readonly_fields = (CAUGHT, FLOW)
    show_change_link = False
    verbose_name_plural = "emitters"


@admin.register(EmitterCheck)
class EmitterCheckAdmin(ReadOnlyAdmin):
    list_display = ("taken_at", "zone__property", "zone", "emitters", "dry_emitters", MEAN, EVEN)
    list_select_related = ("zone__property",)
    date_hierarchy = "taken_at"
    search_fields = ("zone__name", "zone__property__name")
    inlines = (EmittersOfCheck,)
    readonly_fields = (CATCH, RUNNING, MEAN, EVEN)
    fields = (
        "visit", "zone", "taken_at", CATCH, RUNNING, "has_pump", "emitters", "dry_emitters", MEAN,
        EVEN,
    )  # fmt: skip


@admin.register(MeterReading)
class MeterReadingAdmin(ReadOnlyAdmin):
    list_display = ("read_at", "property", READING, "meter_changed", "note")
    list_filter = ("meter_changed",)
    list_select_related = ("property",)
    date_hierarchy = "read_at"
    search_fields = ("property__name", "note")
    readonly_fields = (READING,)
    fields = ("property", "visit", "read_at", READING, "meter_changed", "note")
