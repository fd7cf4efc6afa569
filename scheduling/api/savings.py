"""Whether a change saved what was promised, by the meter."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.permissions import Access
from properties.http.quantities import QuantityField
from properties.http.serializers import NamedChoiceField, StrictSerializer
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import ALL_STAFF
from properties.selectors.scope import visible_properties
from scheduling.domain.savings import Promise, ToldBy
from scheduling.selectors.replay_cases import FOUND, IDEAL
from scheduling.selectors.savings import PropertySaving, promised_litres, property_saving


class AskSavingSerializer(StrictSerializer):
    change_date = serializers.DateField()
    reference = NamedChoiceField(
        [IDEAL, FOUND], default=IDEAL, help_text="By which replay the weather is taken out."
    )
    base_l_day = serializers.FloatField(
        min_value=0, max_value=1e6, required=False,
        help_text="Litres a day that are used without watering; else idle periods tell it.",
    )  # fmt: skip
    replay = serializers.UUIDField(required=False, help_text="The replay that made the promise,")
    variant = serializers.CharField(required=False, help_text="and its variant.")
    units = serializers.CharField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        for one, other in (("replay", "variant"), ("variant", "replay")):
            if one in attrs and other not in attrs:
                raise serializers.ValidationError(
                    {other: f"Give {other} together with {one}."}, code="half-promise"
                )
        return attrs


class MissingSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()


class SavingSerializer(serializers.Serializer[PropertySaving]):
    """Litres of a usual year, below 0 where more is used; null and `missing` where unknown."""

    property = serializers.UUIDField(source="property_.pk")
    change_date = serializers.DateField()
    reference = serializers.CharField()
    saved = QuantityField("volume", source="saving.litres", allow_null=True)
    saved_low = QuantityField("volume", source="saving.litres_low", allow_null=True)
    saved_high = QuantityField("volume", source="saving.litres_high", allow_null=True)
    money = serializers.FloatField(allow_null=True)
    base_a_day = QuantityField(
        "volume", source="saving.base_l_day", allow_null=True,
        help_text="Used without watering; null: not known, and allowed for in the interval.",
    )  # fmt: skip
    base_told_by = serializers.ChoiceField(
        [word.value for word in ToldBy], source="saving.base_told_by", allow_null=True
    )
    share_before = serializers.FloatField(
        source="saving.share_before", allow_null=True, help_text="Metered over replayed use."
    )
    share_after = serializers.FloatField(source="saving.share_after", allow_null=True)
    readings = serializers.IntegerField()
    periods_before = serializers.IntegerField(source="saving.periods_before")
    periods_after = serializers.IntegerField(source="saving.periods_after")
    periods_idle = serializers.IntegerField(source="saving.periods_idle")
    zones = serializers.IntegerField()
    zones_left_out = serializers.IntegerField()
    promised = QuantityField("volume", source="promised_l", allow_null=True)
    verdict = serializers.ChoiceField([word.value for word in Promise], allow_null=True)
    missing = MissingSerializer(source="saving.missing", many=True)


class SavingView(APIView):
    """What a change saved in a usual year, by the meter before and after it."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[AskSavingSerializer, UNITS_PARAMETER], responses=SavingSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        property_ = get_object_or_404(visible_properties(staff_of(request), timezone.now()), pk=pk)
        asked = AskSavingSerializer(data=request.query_params.dict())
        asked.is_valid(raise_exception=True)
        said, context = asked.validated_data, {"units": requested_units(request)}
        promised = None
        if "replay" in said:
            promised = promised_litres(property_, said["replay"], said["variant"])
        found = property_saving(
            property_, said["change_date"], reference=said["reference"],
            base_l_day=said.get("base_l_day"), promised_l=promised,
        )  # fmt: skip
        return Response(SavingSerializer(found, context=context).data)
