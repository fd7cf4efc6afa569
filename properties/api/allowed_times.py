"""When a zone may be watered, tested or treated: the local rules as an answer for dates."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final, cast
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.domain.watering_rules import Purpose, WateringRule
from properties.domain.watering_rules_answers import AllowedDay, Refusal
from properties.domain.watering_rules_audience import Method
from properties.domain.watering_rules_hours import HourRange
from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import NamedChoiceField, StrictSerializer
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models import Property, Zone
from properties.models.staff import ALL_STAFF
from properties.selectors.scope import narrow_to_scope, visible_properties
from properties.selectors.watering_rules import (
    TimesAsked,
    ZoneTimes,
    place_of,
    property_times,
    zone_times,
)

MOST_DAYS_OF_ZONE: Final = 92
MOST_DAYS_OF_PROPERTY: Final = 31
# A year beyond these is a slip of the keyboard.
FIRST_DATE: Final = date(2000, 1, 1)
LAST_DATE: Final = date(2100, 12, 31)
PURPOSES: Final = [each.value for each in Purpose]
METHODS: Final = [each.value for each in Method]


class TimesQuery(StrictSerializer):
    """One date, or the first and the last of several; today at the place when absent."""

    date = serializers.DateField(required=False)
    first = serializers.DateField(required=False)
    last = serializers.DateField(required=False)
    purpose = NamedChoiceField(PURPOSES, default=Purpose.WATERING.value)
    method = NamedChoiceField(METHODS, required=False)
    applied_at = serializers.DateTimeField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        for name in ("date", "first", "last"):
            _believe(attrs.get(name), name)
        if ("first" in attrs) != ("last" in attrs) or ("date" in attrs and "first" in attrs):
            raise serializers.ValidationError(
                {"last": "Give one date, or the first and the last of several."}
            )
        if "applied_at" in attrs and attrs["purpose"] != Purpose.TREATMENT:
            raise serializers.ValidationError(
                {"applied_at": "Only a treatment was applied: ask with purpose=treatment."}
            )
        _check_length(attrs, self.context["most_days"])
        return attrs


class AnyRuleSerializer(serializers.Serializer[WateringRule]):
    id = serializers.UUIDField(source="key")
    name = serializers.CharField()


class HoursField(serializers.ListField):
    """Ranges of wall-clock hours such as 00:00-10:00."""

    child = serializers.CharField()

    def to_representation(self, data: Any) -> list[str]:
        return [cast(HourRange, each).text() for each in data]


class AllowedDaySerializer(serializers.Serializer[AllowedDay]):
    """`decided_by` are the rules that refuse the date, or else those that hold on it."""

    date = serializers.DateField()
    is_allowed = serializers.BooleanField()
    is_watering_day = serializers.BooleanField(
        help_text="False where only the night of the day before runs on into this date."
    )
    hours = HoursField()
    runs_on_to_min = serializers.IntegerField(
        help_text="How far into the next day the last of these hours may be run on [min]."
    )
    minutes_cap = serializers.FloatField(allow_null=True)
    depth_cap = QuantityField("depth", source="depth_cap_mm", allow_null=True)
    refusal = serializers.ChoiceField(choices=[each.value for each in Refusal])
    needs_exemption = serializers.BooleanField()
    next_date = serializers.DateField(allow_null=True)
    decided_by = AnyRuleSerializer(many=True)
    sentence = serializers.SerializerMethodField()
    verdict = serializers.CharField()
    remarks = serializers.ListField(child=serializers.CharField())

    def get_sentence(self, day: AllowedDay) -> str:
        return day.sentence(self.context["units"])


class ZoneTimesSerializer(serializers.Serializer[ZoneTimes]):
    """What holds on all of the dates, and each of them.

    `weekdays` (Monday = 0) are allowed whenever they come; hours and caps are the strictest of
    their dates; `changes` are dates on which other rules begin to hold.
    """

    zone = serializers.UUIDField(source="zone.pk")
    number = serializers.IntegerField(source="zone.number")
    name = serializers.CharField(source="zone.name")
    first_date = serializers.DateField(source="span.first_date")
    last_date = serializers.DateField(source="span.last_date")
    weekdays = serializers.SerializerMethodField()
    hours = HoursField(source="span.hours")
    runs_on_to_min = serializers.IntegerField(source="span.runs_on_to_min")
    minutes_cap = serializers.FloatField(source="span.minutes_cap", allow_null=True)
    depth_cap = QuantityField("depth", source="span.depth_cap_mm", allow_null=True)
    changes = serializers.ListField(source="span.changes", child=serializers.DateField())
    remarks = serializers.ListField(source="span.remarks", child=serializers.CharField())
    days = AllowedDaySerializer(source="span.days", many=True)

    def get_weekdays(self, times: ZoneTimes) -> list[int]:
        return sorted(times.span.weekdays)


class PropertyTimesSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField(source="property.pk")
    watering_district = serializers.UUIDField(
        source="property.watering_district_id", allow_null=True
    )
    house_number = serializers.IntegerField(source="place.house_number", allow_null=True)
    property_class = serializers.CharField(source="place.property_class")
    zones = ZoneTimesSerializer(many=True)


PARAMETERS: Final = [
    OpenApiParameter("date", date, description="One date; today at the place when absent."),
    OpenApiParameter("first", date, description="The first of several dates, with `last`."),
    OpenApiParameter("last", date),
    OpenApiParameter("purpose", str, enum=PURPOSES, default=Purpose.WATERING.value),
    OpenApiParameter("method", str, enum=METHODS, description="The zone's own when absent."),
    OpenApiParameter("applied_at", str, description="Of a treatment; else on the date itself."),
    UNITS_PARAMETER,
]


class ZoneAllowedTimesView(APIView):
    """When the local rules let a zone run, over at most 92 dates."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=PARAMETERS, responses=ZoneTimesSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        now, zones = timezone.now(), Zone.objects.select_related("property")
        visible = narrow_to_scope(zones, "property", staff=staff_of(request), now=now)
        zone = get_object_or_404(visible, pk=pk)
        times = zone_times(zone, _asked(request, zone.property, MOST_DAYS_OF_ZONE))
        context = {"units": requested_units(request)}
        return Response(ZoneTimesSerializer(times, context=context).data)


class PropertyAllowedTimesView(APIView):
    """When the local rules let each active zone of a property run, over at most 31 dates."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=PARAMETERS, responses=PropertyTimesSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        visible = visible_properties(staff_of(request), timezone.now())
        property_ = get_object_or_404(visible, pk=pk)
        asked = _asked(request, property_, MOST_DAYS_OF_PROPERTY)
        content = {
            "property": property_,
            "place": place_of(property_),
            "zones": property_times(property_, asked),
        }
        context = {"units": requested_units(request)}
        return Response(PropertyTimesSerializer(content, context=context).data)


def _asked(request: Request, property_: Property, most_days: int) -> TimesAsked:
    sent = {name: text for name, text in request.query_params.dict().items() if name != "units"}
    query = TimesQuery(data=sent, context={"most_days": most_days})
    query.is_valid(raise_exception=True)
    values = query.validated_data
    today = timezone.now().astimezone(place_of(property_).time_zone).date()
    first = values.get("first") or values.get("date") or today
    return TimesAsked(
        first_date=first,
        last_date=values.get("last") or first,
        purpose=Purpose(values["purpose"]),
        method=Method(values["method"]) if "method" in values else None,
        applied_at=values.get("applied_at"),
    )


def _believe(day: date | None, name: str) -> None:
    if day is not None and not FIRST_DATE <= day <= LAST_DATE:
        raise serializers.ValidationError({name: "Give a day from 2000 to 2100."})


def _check_length(attrs: dict[str, Any], most_days: int) -> None:
    if "first" not in attrs or timedelta(0) <= attrs["last"] - attrs["first"] < timedelta(
        most_days
    ):
        return
    raise serializers.ValidationError(
        {"last": f"Give a last date that is 0 to {most_days - 1} days after the first."}
    )
