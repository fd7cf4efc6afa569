"""How the table of programs and the changes to a controller go out: as data and as text."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers
from rest_framework.renderers import BaseRenderer

from properties.http.quantities import QuantityField
from properties.http.serializers import StrictSerializer
from scheduling.domain.program_changes import Change
from scheduling.domain.program_table import (
    MonthLine,
    NotMet,
    PlanUsed,
    ProgramDays,
    ProgramLines,
    ProgramTable,
    Sheet,
    ZoneLine,
)
from scheduling.models.programs import ProgramStyle
from scheduling.selectors.program_tables import ProgramComparison

TIME = "%H:%M"


class PlainTextRenderer(BaseRenderer):
    """Lets a caller ask for `text/plain`; the view answers with the text by itself."""

    media_type = "text/plain"
    format = "text"


class MonthQuery(StrictSerializer):
    """The month to look at; this one by the clock of the place when absent."""

    month = serializers.IntegerField(required=False, min_value=1, max_value=12)


class DaysSerializer(serializers.Serializer[Any]):
    """Exactly one of weekdays (0 is Monday), every so many days, and odd or even dates."""

    weekdays = serializers.ListField(child=serializers.IntegerField())
    every_days = serializers.IntegerField(allow_null=True)
    first_day = serializers.IntegerField(help_text="Of an interval, counted from a Monday.")
    parity = serializers.CharField(allow_null=True)


class ZoneLineSerializer(serializers.Serializer[ZoneLine]):
    """A zone in the order of its running; estimated: its rate was not measured."""

    zone = serializers.UUIDField()
    number = serializers.IntegerField()
    name = serializers.CharField()
    run_min = serializers.IntegerField()
    is_estimated = serializers.BooleanField()


class ProgramLinesSerializer(serializers.Serializer[ProgramLines]):
    """`first_date` says from when an interval counts."""

    name = serializers.CharField()
    days = serializers.CharField()
    pattern = DaysSerializer(allow_null=True, help_text="Null: off.")
    first_date = serializers.DateField(allow_null=True)
    starts = serializers.ListField(child=serializers.TimeField(format=TIME))
    zones = ZoneLineSerializer(many=True)


class SheetProgramSerializer(serializers.Serializer[ProgramLines]):
    name = serializers.CharField()
    starts = serializers.ListField(child=serializers.TimeField(format=TIME))
    zones = ZoneLineSerializer(many=True)


class SheetSerializer(serializers.Serializer[Sheet]):
    """Starts and minutes, and the months in which they stay."""

    months = serializers.ListField(child=serializers.IntegerField())
    programs = SheetProgramSerializer(many=True)


class ProgramDaysSerializer(serializers.Serializer[ProgramDays]):
    """`first_date` says from when an interval counts."""

    program = serializers.CharField()
    days = serializers.CharField()
    first_date = serializers.DateField(allow_null=True)


class MonthLineSerializer(serializers.Serializer[MonthLine]):
    """What changes in a month, and the hours of its busiest day against those allowed."""

    month = serializers.IntegerField()
    percent = serializers.IntegerField()
    days = ProgramDaysSerializer(many=True)
    busiest_day_min = serializers.FloatField()
    window_min = serializers.IntegerField()
    is_proven = serializers.BooleanField(help_text="No other days, or percentage, do better.")


class NotMetSerializer(serializers.Serializer[NotMet]):
    """What is not met in the thirstiest month, for which zone (none: all), and its cure."""

    zone = serializers.UUIDField(allow_null=True)
    code = serializers.CharField()
    month = serializers.IntegerField()
    shortfall_week = QuantityField("rain", source="shortfall_mm_week", allow_null=True)
    excess_week = QuantityField("rain", source="excess_mm_week", allow_null=True)
    sentence = serializers.CharField()
    cure = serializers.CharField()


class PlanUsedSerializer(serializers.Serializer[PlanUsed]):
    zone = serializers.CharField()
    number = serializers.IntegerField()
    newest = serializers.IntegerField()


class ProgramTableSerializer(serializers.Serializer[ProgramTable]):
    """The programs of a controller to type in; `programs` are those of the month asked for."""

    property_name = serializers.CharField()
    controller_name = serializers.CharField()
    number = serializers.IntegerField()
    style = serializers.ChoiceField(ProgramStyle.choices)  # type: ignore[assignment]
    fitted_at = serializers.DateTimeField()
    month = serializers.IntegerField()
    percent = serializers.IntegerField()
    programs = ProgramLinesSerializer(many=True)
    sheets = SheetSerializer(many=True)
    months = MonthLineSerializer(many=True)
    not_met = NotMetSerializer(many=True)
    left_out = serializers.ListField(child=serializers.CharField())
    remarks = serializers.ListField(child=serializers.CharField())
    gap_week = QuantityField(
        "rain", source="gap_mm_week", help_text="Weighted: how far from the best it may be."
    )
    quality = serializers.CharField()
    plans = PlanUsedSerializer(many=True)
    is_stale = serializers.BooleanField(help_text="A zone has a newer plan than was fitted.")
    has_estimates = serializers.BooleanField()


class ProgramChangeSerializer(serializers.Serializer[Change]):
    """One thing to change; `program` null is the controller, `zone` null the whole program."""

    program = serializers.CharField(allow_null=True)
    zone = serializers.UUIDField(allow_null=True)
    field = serializers.ChoiceField(["percent", "days", "starts", "minutes"])
    before = serializers.CharField()
    after = serializers.CharField()
    sentence = serializers.CharField()


class ProgramComparisonSerializer(serializers.Serializer[ProgramComparison]):
    """What to change against the setting that runs now; no change: it is set so already."""

    fit = serializers.UUIDField(source="fit.pk")
    setting = serializers.UUIDField(source="found.pk")
    since = serializers.DateField(source="found.since")
    month = serializers.IntegerField()
    changes = ProgramChangeSerializer(many=True)
    sentences = serializers.ListField(child=serializers.CharField())
