"""Questions to past weather as they are sent, checked field by field."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from properties.http.quantities import QuantityField
from properties.http.serializers import NamedChoiceField, StrictSerializer
from scheduling.selectors.replay_cases import BASES, CHANGE_KINDS
from scheduling.services.replays import MOST_VARIANTS

MOST_ZONES: Final = 500


class _ZonesField(serializers.ListField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(child=serializers.UUIDField(), max_length=MOST_ZONES, **kwargs)


def _weekdays() -> serializers.ListField:
    return serializers.ListField(
        child=serializers.IntegerField(min_value=0, max_value=6), min_length=1, max_length=7,
        required=False, help_text="0 is Monday, 6 is Sunday; give these or interval_days.",
    )  # fmt: skip


def _interval() -> serializers.IntegerField:
    return serializers.IntegerField(min_value=1, max_value=31, required=False)


def _percents(**kwargs: Any) -> serializers.ListField:
    return serializers.ListField(
        child=serializers.FloatField(min_value=0, max_value=300), min_length=12, max_length=12,
        help_text="January to December [%].", **kwargs,
    )  # fmt: skip


class _ChangeSerializer(StrictSerializer):
    kind = NamedChoiceField(list(CHANGE_KINDS))
    zones = _ZonesField(required=False, help_text="All zones when absent.")


class MendFaultsSerializer(_ChangeSerializer):
    du_lq = serializers.FloatField(
        min_value=0.05, max_value=1, required=False,
        help_text="Uniformity after the repair; as the diagnosis expects when absent.",
    )  # fmt: skip
    shorten_runs = serializers.BooleanField(default=True)


class SwapNozzlesSerializer(_ChangeSerializer):
    zones = _ZonesField(min_length=1)
    rate = QuantityField("rate", source="rate_mm_h")


class CutAreaSerializer(_ChangeSerializer):
    cut_percent = serializers.FloatField(min_value=1, max_value=99)


class ChangeDaysSerializer(_ChangeSerializer):
    weekdays = _weekdays()
    interval_days = _interval()


class ChangeMinutesSerializer(_ChangeSerializer):
    percent = serializers.FloatField(
        min_value=0, max_value=1000, help_text="Of the minutes that are set."
    )


class RainSensorSerializer(_ChangeSerializer):
    rain = QuantityField("rain", source="rain_mm", help_text="Of a day, from which it skips.")
    days = serializers.IntegerField(min_value=1, max_value=31)


class SeasonalPercentSerializer(_ChangeSerializer):
    seasonal_percent = _percents()


_SERIALIZERS: Final[dict[str, type[_ChangeSerializer]]] = {
    "mend_faults": MendFaultsSerializer,
    "swap_nozzles": SwapNozzlesSerializer,
    "cut_area": CutAreaSerializer,
    "days": ChangeDaysSerializer,
    "minutes": ChangeMinutesSerializer,
    "rain_sensor": RainSensorSerializer,
    "seasonal_percent": SeasonalPercentSerializer,
}


@extend_schema_field(
    {
        "type": "object",
        "description": "One change; the fields depend on its kind.",
        "properties": {"kind": {"type": "string", "enum": list(CHANGE_KINDS)}},
        "required": ["kind"],
    }
)
class ChangeField(serializers.Field[Any, Any, Any, Any]):
    """One change, read by the serializer of its kind."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        kind = data.get("kind") if isinstance(data, Mapping) else None
        known = isinstance(kind, str) and kind in _SERIALIZERS
        serializer_class = _SERIALIZERS[kind] if known else _ChangeSerializer  # type: ignore[index]
        serializer = serializer_class(data=data, context=self.context)
        serializer.is_valid(raise_exception=True)
        return {name: _plain(value) for name, value in serializer.validated_data.items()}

    def to_representation(self, value: Any) -> Any:
        return value


class RunSerializer(StrictSerializer):
    zone = serializers.UUIDField()
    run_min = serializers.FloatField(min_value=0, max_value=1440)


class ProgramSerializer(StrictSerializer):
    weekdays = _weekdays()
    interval_days = _interval()
    starts = serializers.ListField(
        child=serializers.TimeField(input_formats=["%H:%M"], format="%H:%M"),
        min_length=1, max_length=24,
    )  # fmt: skip
    runs = RunSerializer(many=True, allow_empty=False)


class VariantSerializer(StrictSerializer):
    """One way of watering: what it starts from, and what is changed of it, in order."""

    name = serializers.CharField(max_length=60)
    base = NamedChoiceField(list(BASES), default="found")
    programs = ProgramSerializer(many=True, required=False)
    seasonal_percent = _percents(required=False)
    anchor = serializers.DateField(
        required=False, help_text="A day on which programs by interval run; else the first one."
    )
    changes = serializers.ListField(child=ChangeField(), max_length=20, default=list)


class AskReplaySerializer(StrictSerializer):
    """Without years the last five whole ones; without variants the found program and the ideal.

    What is fitted stands beside them. Each variant after the first is held against the first.
    """

    first_year = serializers.IntegerField(min_value=1850, max_value=2200, required=False)
    last_year = serializers.IntegerField(min_value=1850, max_value=2200, required=False)
    variants = serializers.ListField(
        child=VariantSerializer(), min_length=1, max_length=MOST_VARIANTS, required=False
    )


def question_of(sent: AskReplaySerializer) -> dict[str, Any]:
    """Return a checked question as JSON, metric, with the variants as they were sent beside it."""
    entered = sent.initial_data.get("variants") or []
    return {**_plain(dict(sent.validated_data)), "entered": entered}


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _plain(each) for name, each in value.items()}
    if isinstance(value, list):
        return [_plain(each) for each in value]
    if isinstance(value, bool | int | None):
        return value
    if isinstance(value, float):
        return float(value)
    if hasattr(value, "strftime") and hasattr(value, "hour"):
        return value.strftime("%H:%M")
    return str(value)
