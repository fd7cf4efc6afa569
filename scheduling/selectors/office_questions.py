"""What the office asks of plans and weather at once."""

from __future__ import annotations

from django.db.models import Count, Exists, IntegerField, OuterRef, QuerySet, Subquery

from properties.models import Property, Zone
from scheduling.models import PlanMonth, WateringPlan, WeatherDay, WeatherStation


def unplanned_properties() -> QuerySet[Property]:
    """Return the properties with a zone in use that has no plan; each with their number."""
    unplanned = Zone.objects.filter(
        ~Exists(WateringPlan.objects.filter(zone=OuterRef("pk"))),
        property=OuterRef("pk"),
        is_active=True,
    )
    counted = unplanned.order_by().values("property").annotate(count=Count("pk")).values("count")
    return Property.objects.filter(Exists(unplanned), retired_at__isnull=True).annotate(
        zones_without_plan=Subquery(counted, output_field=IntegerField())
    )


def with_newest_dates(rows: QuerySet[WeatherStation]) -> QuerySet[WeatherStation]:
    """Give stations the newest day of which ET0 is known, and whether zones are planned by them."""
    whole = WeatherDay.objects.filter(station=OuterRef("pk"), et0_mm__isnull=False)
    used = PlanMonth.objects.filter(station=OuterRef("pk"), zone__is_active=True)
    return rows.annotate(
        newest_date=Subquery(whole.order_by("-date").values("date")[:1]), is_used=Exists(used)
    )
