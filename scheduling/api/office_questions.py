"""Lists that answer what the office asks: what has no plan yet, and where the weather is old."""

from __future__ import annotations

from rest_framework import mixins, serializers

from properties.http.cards import CUSTOMER
from properties.http.expansion import ExpandedField
from properties.http.permissions import Access
from properties.http.views import ScopedViewSet
from properties.models import Property
from properties.models.staff import OFFICE_ONLY
from scheduling.api.filters import WEATHER_AGE_ORDERS, UnplannedPropertyFilters, WeatherAgeFilters
from scheduling.models import WeatherStation
from scheduling.selectors.office_questions import unplanned_properties, with_newest_dates


class UnplannedPropertySerializer(serializers.ModelSerializer[Property]):
    property = serializers.UUIDField(source="pk", read_only=True)
    zones_without_plan = serializers.IntegerField(read_only=True)
    expanded = ExpandedField({"customer": CUSTOMER})

    class Meta:
        model = Property
        fields = (
            "property", "name", "street", "city", "customer", "zones_without_plan", "expanded",
        )  # fmt: skip


class UnplannedPropertyViewSet(mixins.ListModelMixin, ScopedViewSet[Property]):
    """Properties with a zone in use that has no watering plan yet."""

    access = Access(read=OFFICE_ONLY, write=frozenset())
    queryset = unplanned_properties()
    serializer_class = UnplannedPropertySerializer
    filterset_class = UnplannedPropertyFilters
    expansions = {"customer": CUSTOMER}
    lists_retired = False


class WeatherAgeSerializer(serializers.ModelSerializer[WeatherStation]):
    station = serializers.UUIDField(source="pk", read_only=True)
    newest_date = serializers.DateField(
        read_only=True, allow_null=True, help_text="Newest day of which ET0 is known; null: none."
    )
    is_used = serializers.BooleanField(
        read_only=True, help_text="Whether a zone in use is planned by it."
    )

    class Meta:
        model = WeatherStation
        fields = ("station", "code", "name", "newest_date", "is_used")


class WeatherAgeViewSet(mixins.ListModelMixin, ScopedViewSet[WeatherStation]):
    """How old the weather of each station is: none at all first, then the oldest."""

    access = Access(read=OFFICE_ONLY, write=frozenset())
    queryset = with_newest_dates(WeatherStation.objects.all())
    serializer_class = WeatherAgeSerializer
    filterset_class = WeatherAgeFilters
    orders = WEATHER_AGE_ORDERS
    usual_ordering = "newest_date"
    lists_retired = False
