"""By what the lists of this app are filtered, searched and ordered."""

from __future__ import annotations

from typing import Final

from django.db.models import QuerySet
from django_filters import DateFilter, NumberFilter
from rest_framework.exceptions import ValidationError

from properties.http.filters import (
    FirstDateFilter,
    FlagFilter,
    IdFilter,
    LastDateFilter,
    LeastFilter,
    ListFilters,
    MostFilter,
    SearchFilter,
    SinceFilter,
    TextFilter,
    WordFilter,
)
from properties.http.ordering import Order
from properties.models import Customer, JobState, Property, RainSensor, Relation, Role, WaterSource
from properties.models.customers import MailBlock
from properties.models.imports import IMPORT_KINDS, ImportState
from properties.models.water_budgets import BUDGET_SPANS
from properties.models.watering_rules import PROPERTY_CLASSES
from properties.models.zones import EXPOSURES, HEAD_KINDS, PLANT_TYPES, SOIL_TEXTURES
from properties.selectors.mail_blocks import blocked_by, mailable
from properties.selectors.nearness import properties_near

BY_NAME: Final = {"name": Order("name", "by name")}
BY_CREATION: Final = {"created_at": Order("created_at", "by when it was entered")}
BY_CHANGE: Final = {"changed_at": Order("changed_at", "by when it was last changed")}
FARTHEST_M: Final = 500_000
NEAR: Final = ("near_latitude", "near_longitude", "within_m")


class StaffFilters(ListFilters):
    search = SearchFilter("name", "email", help_text="In name and e-mail.")
    role = WordFilter(Role)
    is_active = FlagFilter()
    email = TextFilter()


class LicenceFilters(ListFilters):
    staff = IdFilter()
    kind = TextFilter()
    valid_until_min = FirstDateFilter("valid_until", help_text="Ends on this day or later.")
    valid_until_max = LastDateFilter("valid_until", help_text="Ends on this day or earlier.")


class CustomerFilters(ListFilters):
    search = SearchFilter(
        "name", "email", "phone", "reference", of_many=("properties__street",),
        help_text="In name, e-mail, telephone, reference and the streets of their properties.",
    )  # fmt: skip
    reference = TextFilter()
    email = TextFilter()
    relation = WordFilter(Relation)
    wants_notices = FlagFilter()
    mail_block = WordFilter(
        MailBlock, method="keep_blocked", help_text="Whom these reasons keep from being mailed."
    )
    can_be_mailed = FlagFilter(method="keep_mailable", help_text="Whom notices reach, or not.")

    def keep_blocked(
        self, rows: QuerySet[Customer], name: str, value: list[str]
    ) -> QuerySet[Customer]:
        blocked = [blocked_by(Customer.objects.all(), MailBlock(word)) for word in value]
        if not blocked:
            return rows
        found = Customer.objects.none()
        for each in blocked:
            found = found | each
        return rows.filter(pk__in=found.values("pk"))

    def keep_mailable(self, rows: QuerySet[Customer], name: str, value: bool) -> QuerySet[Customer]:
        return mailable(rows, can_be_mailed=value)


class PropertyFilters(ListFilters):
    search = SearchFilter(
        "name", "street", "city", "postal_code",
        office=("customer__name", "customer__reference", "customer__email", "customer__phone"),
        help_text=(
            "In name, street, city and postal code; for the office in name, reference, e-mail and"
            " telephone of the client too."
        ),
    )  # fmt: skip
    customer = IdFilter()
    city = TextFilter()
    postal_code = TextFilter()
    water_source = WordFilter(WaterSource)
    property_class = WordFilter(PROPERTY_CLASSES)
    watering_district = IdFilter()
    may_change_program = FlagFilter()
    backflow_tested_on_max = DateFilter(
        field_name="backflow_tested_on", lookup_expr="lte",
        help_text="Backflow assembly last tested on this day or earlier.",
    )  # fmt: skip
    near_latitude = NumberFilter(
        method="seen_together",
        min_value=-90,
        max_value=90,
        help_text="WGS 84 [deg]; with both others.",
    )
    near_longitude = NumberFilter(
        method="seen_together", min_value=-180, max_value=180, help_text="WGS 84 [deg]."
    )
    within_m = NumberFilter(
        method="seen_together", min_value=1, max_value=FARTHEST_M,
        help_text="Great-circle distance from that point [m].",
    )  # fmt: skip

    def seen_together(
        self, rows: QuerySet[Property], name: str, value: float
    ) -> QuerySet[Property]:
        return rows

    def filter_queryset(self, queryset: QuerySet[Property]) -> QuerySet[Property]:
        rows: QuerySet[Property] = super().filter_queryset(queryset)
        point = {name: self.form.cleaned_data.get(name) for name in NEAR}
        missing = [name for name, value in point.items() if value is None]
        if len(missing) == len(NEAR):
            return rows
        if missing:
            raise ValidationError({name: f"Give {', '.join(NEAR)} together." for name in missing})
        latitude, longitude, within_m = (float(point[name]) for name in NEAR)
        return properties_near(rows, latitude=latitude, longitude=longitude, within_m=within_m)


class ControllerFilters(ListFilters):
    property = IdFilter()
    rain_sensor = WordFilter(RainSensor)


class ZoneFilters(ListFilters):
    search = SearchFilter("name", "property__name", help_text="In the zone's and property's name.")
    property = IdFilter()
    controller = IdFilter()
    is_active = FlagFilter()
    head_kind = WordFilter(HEAD_KINDS)
    plant_type = WordFilter(PLANT_TYPES)
    soil_texture = WordFilter(SOIL_TEXTURES)
    exposure = WordFilter(EXPOSURES)
    area_m2_min = LeastFilter("area_m2", help_text="Area [m2].")
    area_m2_max = MostFilter("area_m2", help_text="Area [m2].")
    slope_percent_min = LeastFilter("slope_percent", help_text="Slope [%].")
    slope_percent_max = MostFilter("slope_percent", help_text="Slope [%].")


class HeadGroupFilters(ListFilters):
    zone = IdFilter()
    property = IdFilter(field_name="zone__property")
    kind = WordFilter(HEAD_KINDS)


class EventFilters(ListFilters):
    subject_id = IdFilter()
    subject_kind = TextFilter()
    actor = IdFilter()
    act = TextFilter()
    since = SinceFilter("at", help_text="At this moment or after it.")


class JobFilters(ListFilters):
    kind = TextFilter()
    state = WordFilter(JobState)
    subject_id = IdFilter()


class ImportFilters(ListFilters):
    kind = WordFilter(IMPORT_KINDS)
    state = WordFilter(ImportState)
    sha256 = TextFilter()


class StagePeriodFilters(ListFilters):
    stage = IdFilter()
    stage__district = IdFilter()
    is_void = FlagFilter()


class WaterBudgetFilters(ListFilters):
    district = IdFilter()
    span = WordFilter(BUDGET_SPANS)


class WateringDistrictFilters(ListFilters):
    name = TextFilter()
    is_retired = FlagFilter()


class DroughtStageFilters(ListFilters):
    district = IdFilter()
    is_retired = FlagFilter()


class WateringRuleFilters(ListFilters):
    district = IdFilter()
    stage = IdFilter()


CUSTOMER_ORDERS: Final = BY_NAME | BY_CREATION | BY_CHANGE
PROPERTY_ORDERS: Final = {
    **BY_NAME, **BY_CREATION, **BY_CHANGE,
    "city": Order("city", "by city"),
    "backflow_tested_on": Order(
        "backflow_tested_on", "the longest ago first, and before them those not known",
        nulls="first",
    ),
    "distance": Order("distance_m", "the nearest to the point first", needs=NEAR),
}  # fmt: skip
ZONE_ORDERS: Final = {
    **BY_NAME, **BY_CHANGE,
    "area_m2": Order("area_m2", "by area; without one at the end", nulls="last"),
}  # fmt: skip
