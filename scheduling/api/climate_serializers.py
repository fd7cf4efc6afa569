"""How a usual year goes out: months, and each quantity of the 366 days as one array."""

from __future__ import annotations

import math
from typing import Any, Final

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from properties.domain.units import dimension, from_canonical, preferred_unit
from properties.http.quantities import QuantityField, rounded
from scheduling.domain.climate import Climate
from scheduling.domain.daily_climate import DailyClimate, UsualDays

_ARRAY_SCHEMA: Final = {
    "type": "object",
    "properties": {
        "unit": {"type": "string", "enum": ["mm", "in"]},
        "values": {"type": "array", "items": {"type": ["number", "null"]}},
    },
    "required": ["unit", "values"],
}


@extend_schema_field(_ARRAY_SCHEMA)
class DepthsField(serializers.Field[Any, Any, Any, Any]):
    """Depths of one unit, one for each day; null where nothing is known."""

    def to_representation(self, depths_mm: Any) -> dict[str, Any]:
        depth = dimension("depth")
        unit = preferred_unit(depth, self.context["units"])
        return {
            "unit": unit,
            "values": [
                rounded(from_canonical(mm, unit, depth)) if math.isfinite(mm) else None
                for mm in depths_mm.tolist()
            ],
        }


class UsualDaysSerializer(serializers.Serializer[UsualDays]):
    mean = DepthsField()
    low = DepthsField()
    high = DepthsField()


class DailyClimateSerializer(serializers.Serializer[DailyClimate]):
    """366 values from 1 January on, the 60th for 29 February.

    ET0: one day in five of the season lies below low, one above high. Effective rain per day: the
    mean of the month around the day in one year of five lies below low, in one above high; a day's
    rain counts as in the water account.
    """

    first_date = serializers.DateField()
    last_date = serializers.DateField()
    years_used = serializers.IntegerField()
    few_years = serializers.BooleanField()
    et0 = UsualDaysSerializer()
    effective_rain = UsualDaysSerializer()


class UsualMonthSerializer(serializers.Serializer[Any]):
    month = serializers.IntegerField()
    et0_per_day = QuantityField("depth", source="et0_mm_day")
    rain = QuantityField("rain", source="rain_mm")
    effective_rain = QuantityField("rain", source="effective_rain_mm")
    tmin = QuantityField("temperature", source="tmin_c")
    tmax = QuantityField("temperature", source="tmax_c")


class MonthlyClimateSerializer(serializers.Serializer[Climate]):
    """The twelve months: ET0 of a mean day, rain of the whole month, mean temperatures.

    Effective rain is the sum over the days of what the water account counts of each day's rain.
    """

    first_date = serializers.DateField()
    last_date = serializers.DateField()
    years_used = serializers.IntegerField()
    few_years = serializers.BooleanField()
    days_used = serializers.IntegerField()
    days_skipped = serializers.IntegerField()
    months = serializers.SerializerMethodField()

    @extend_schema_field(UsualMonthSerializer(many=True))
    def get_months(self, climate: Climate) -> Any:
        names = ("et0_mm_day", "rain_mm", "effective_rain_mm", "tmin_c", "tmax_c")
        months = [
            {"month": place + 1, **{name: getattr(climate, name)[place] for name in names}}
            for place in range(12)
        ]
        return UsualMonthSerializer(months, many=True, context=self.context).data


class UsualYearOfStationSerializer(serializers.Serializer[Any]):
    monthly = MonthlyClimateSerializer(source="months")
    daily = DailyClimateSerializer(source="days")
