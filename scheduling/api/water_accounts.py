"""The water account of a zone: what came in, what was used and lost, and what the roots hold."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.selectors.zones import visible_zones
from properties.http.permissions import Access
from properties.http.quantities import QuantityField, QuantityListField, rounded
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models import Zone
from properties.models.staff import ALL_STAFF
from scheduling.selectors.water_accounts import Unscored, ZoneAccount, account_of_last_days
from scheduling.selectors.weather_outlook import local_date

USUAL_DAYS: Final = 60
MOST_DAYS: Final = 366


class ScoresSerializer(serializers.Serializer[Any]):
    """Fractions: of the need that was met, and of the net irrigation that was lost."""

    adequacy = serializers.FloatField(allow_null=True)
    excess = serializers.FloatField(allow_null=True)
    scheduling_efficiency = serializers.FloatField(allow_null=True)


class UnscoredSerializer(serializers.Serializer[Unscored]):
    """Why there is no score or record."""

    code = serializers.CharField()
    sentence = serializers.CharField()


class ZoneAccountSerializer(serializers.Serializer[dict[str, Any]]):
    """One value for each date in every list.

    Waterings are assumed from the settings of the controller; before `setting_since` none is
    known. The store is taken as full on the first date. `stored` counts what lies above wilting;
    at `limit` the readily available water is used up. Without a setting for each of the days, or
    without weather on more than two days in a row or three of any thirty, the scores are null, and
    `unscored` says why.
    """

    zone = serializers.UUIDField(source="zone.pk")
    is_estimated = serializers.BooleanField(
        source="facts.estimated", help_text="The rate comes from the heads, not from a test."
    )
    setting_since = serializers.DateField(allow_null=True)
    days_filled = serializers.IntegerField(
        source="weather.gaps.days_filled", help_text="Days with weather of a neighbouring station."
    )
    days_usual = serializers.IntegerField(
        help_text="Days whose ET0 nobody has, on which the usual need stands in."
    )
    days_rain_unknown = serializers.IntegerField(
        help_text="Days whose rain nobody has: the account takes it as none."
    )
    dates = serializers.ListField(child=serializers.DateField())
    is_et0_usual = serializers.ListField(
        child=serializers.BooleanField(), help_text="Where the usual ET0 of the day stands in."
    )
    is_rain_unknown = serializers.ListField(child=serializers.BooleanField())
    et0 = QuantityListField("depth")
    rain = QuantityListField("depth")
    need = QuantityListField("depth")
    effective_rain = QuantityListField("depth")
    gross = QuantityListField("depth", help_text="Put down by the controller.")
    uneven_loss = QuantityListField("depth", help_text="Gross less net.")
    runoff = QuantityListField("depth", help_text="Of too long cycles and too short soaks, net.")
    drained_rain = QuantityListField("depth")
    drained_irrigation = QuantityListField("depth")
    stored = QuantityListField("depth")
    deficit = QuantityListField("depth", help_text="Need that was not met.")
    limit = QuantityListField("depth")
    capacity = QuantityField("depth", help_text="What the roots can hold on the last date.")
    scores = ScoresSerializer()
    unscored = UnscoredSerializer(allow_null=True)


class WaterAccountView(APIView):
    """The account of a zone over the days up to yesterday, computed now."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(
        parameters=[OpenApiParameter("days", int, default=USUAL_DAYS), UNITS_PARAMETER],
        responses=ZoneAccountSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        days = serializers.IntegerField(min_value=7, max_value=MOST_DAYS)
        try:
            count = days.run_validation(request.query_params.get("days", USUAL_DAYS))
        except serializers.ValidationError as error:
            raise serializers.ValidationError({"days": error.detail}) from error
        now = timezone.now()
        zone: Zone = get_object_or_404(visible_zones(staff_of(request), now), pk=pk)
        found = account_of_last_days(zone, local_date(zone.property, now), count)
        context = {"units": requested_units(request)}
        return Response(ZoneAccountSerializer(_columns(found), context=context).data)


def _columns(found: ZoneAccount) -> dict[str, Any]:
    account, days = found.water.account, found.days
    scores = found.scores
    return {
        "zone": found.zone,
        "facts": found.facts,
        "weather": found.weather,
        "setting_since": found.setting_since,
        "days_usual": found.days_usual,
        "days_rain_unknown": found.days_rain_unknown,
        "dates": days.dates.tolist(),
        "is_et0_usual": days.et0_is_usual.tolist(),
        "is_rain_unknown": days.rain_is_unknown.tolist(),
        "et0": _list(days.et0_mm),
        "rain": _list(days.rain_mm),
        "need": _list(account.need_mm),
        "effective_rain": _list(account.effective_rain_mm),
        "gross": _list(account.gross_mm),
        "uneven_loss": _list(account.uneven_loss_mm),
        "runoff": _list(account.runoff_mm + account.soak_runoff_mm),
        "drained_rain": _list(account.rain_overflow_mm),
        "drained_irrigation": _list(account.irrigation_overflow_mm),
        "stored": _list(account.stored_mm),
        "deficit": _list(account.deficit_mm),
        "limit": _list(found.water.limit_mm),
        "capacity": float(account.capacity_mm[-1, 0]),
        "scores": {name: _known(value) for name, value in scores.items()},
        "unscored": found.unscored,
    }


def _list(values: Any) -> Sequence[float]:
    depths: list[float] = values.reshape(-1).tolist()
    return depths


def _known(value: float | None) -> float | None:
    return None if value is None else rounded(value)
