"""By what the lists of this app are filtered, searched and ordered."""

from __future__ import annotations

from typing import Final

from django_filters import DateFilter

from properties.http.filters import (
    FirstDateFilter,
    FlagFilter,
    IdFilter,
    LastDateFilter,
    ListFilters,
    SearchFilter,
    SinceFilter,
    TextFilter,
    WordFilter,
)
from properties.http.ordering import Order
from scheduling.models.nights import NightState
from scheduling.models.notices import NoticeKind, NoticeState
from scheduling.models.programs import ProgramStyle
from scheduling.models.reminders import AUDIENCES, REMINDER_KINDS, ReminderState

BY_CREATION: Final = {"created_at": Order("created_at", "the oldest first")}


class WeatherStationFilters(ListFilters):
    search = SearchFilter("code", "name", help_text="In code and name.")
    code = TextFilter()


WEATHER_STATION_ORDERS: Final = {"name": Order("name", "by name")}


class WeatherAgeFilters(ListFilters):
    newest_date_max = LastDateFilter("newest_date", help_text="Newest on this day or earlier.")
    has_weather = FlagFilter(field_name="newest_date", lookup_expr="isnull", exclude=True)
    is_used = FlagFilter(help_text="Whether a zone in use is planned by it.")


WEATHER_AGE_ORDERS: Final = {
    "newest_date": Order(
        "newest_date", "without any weather first, then the oldest weather", nulls="first"
    ),
}


class WeatherDayFilters(ListFilters):
    station = IdFilter()
    date = DateFilter()
    date__gte = FirstDateFilter("date", help_text="On this day or later.")
    date__lte = LastDateFilter("date", help_text="On this day or earlier.")


WEATHER_DAY_ORDERS: Final = {"date": Order("date", "by day")}


class WeatherFileFilters(ListFilters):
    sha256 = TextFilter()


class WateringPlanFilters(ListFilters):
    property = IdFilter(field_name="zone__property")
    zone = IdFilter()
    zone__property = IdFilter()
    is_estimated = FlagFilter()
    created_since = SinceFilter("created_at", help_text="Plans that came at this moment or after.")


class ControllerProgramFilters(ListFilters):
    property = IdFilter(field_name="controller__property")
    controller = IdFilter()
    style = WordFilter(ProgramStyle)
    created_since = SinceFilter("created_at", help_text="Sets that came at this moment or after.")


class ReplayFilters(ListFilters):
    property = IdFilter()


class ReminderFilters(ListFilters):
    kind = WordFilter(REMINDER_KINDS)
    audience = WordFilter(AUDIENCES)
    state = WordFilter(ReminderState)
    property = IdFilter()
    staff = IdFilter()
    due_date = DateFilter()
    due_date_min = FirstDateFilter("due_date", help_text="Due on this day or later.")
    due_date_max = LastDateFilter("due_date", help_text="Due on this day or earlier.")


REMINDER_ORDERS: Final = {"due_date": Order("due_date", "the longest due first")}


class ReminderRuleFilters(ListFilters):
    kind = WordFilter(REMINDER_KINDS)
    is_on = FlagFilter()


class NoticeFilters(ListFilters):
    state = WordFilter(NoticeState)
    kind = WordFilter(NoticeKind)
    customer = IdFilter()
    staff = IdFilter()
    property = IdFilter()
    period = DateFilter()
    created_since = SinceFilter("created_at", help_text="Queued at this moment or after it.")


class NightRunFilters(ListFilters):
    date = DateFilter()
    state = WordFilter(NightState)


class UnplannedPropertyFilters(ListFilters):
    customer = IdFilter()
    city = TextFilter()
