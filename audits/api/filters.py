"""By what the lists of this app are filtered, searched and ordered."""

from __future__ import annotations

from typing import Final

from django.db.models import QuerySet
from django_filters import DateFilter

from audits.models import (
    CatchTest,
    LineKind,
    RepairTicket,
    SettingSource,
    TreatmentKind,
    VisitState,
)
from audits.models.findings import SEVERITIES
from audits.models.plants import SPOTS, SYMPTOM_KINDS
from audits.models.tickets import FAULT_KINDS, LIVE_TICKET_STATES, TICKET_STATES
from audits.models.visits import VISIT_KINDS
from audits.selectors.awaited_proofs import narrow_to_awaiting
from audits.selectors.zones import narrow_to_ruling
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
from properties.models.zones import HEAD_KINDS


class VisitFilters(ListFilters):
    search = SearchFilter(
        "property__name", "property__street",
        office=("property__customer__name", "technician__name"),
        help_text=(
            "In name and street of the property; for the office in the client's and the"
            " technician's name too."
        ),
    )  # fmt: skip
    property = IdFilter()
    technician = IdFilter()
    state = WordFilter(VisitState)
    kind = WordFilter(VISIT_KINDS)
    planned_date = DateFilter()
    planned_date_min = FirstDateFilter("planned_date", help_text="On this day or later.")
    planned_date_max = LastDateFilter("planned_date", help_text="On this day or earlier.")


VISIT_ORDERS: Final = {
    "planned_date": Order("planned_date", "by the day it is planned for"),
    "finished_at": Order("finished_at", "by its end; without one at the end", nulls="last"),
}


class CatchTestFilters(ListFilters):
    property = IdFilter(field_name="zone__property")
    zone = IdFilter()
    visit = IdFilter()
    is_pooled = FlagFilter()
    before_mending = FlagFilter()
    is_void = FlagFilter(field_name="voided_at", lookup_expr="isnull", exclude=True)
    is_ruling = FlagFilter(
        method="keep_ruling", help_text="By which a zone in use is planned (true), or all others."
    )
    taken_since = SinceFilter("taken_at", help_text="At this moment or after it.")
    rate_mm_h_min = LeastFilter("rate_mm_h", help_text="Precipitation rate [mm/h].")
    rate_mm_h_max = MostFilter("rate_mm_h", help_text="Precipitation rate [mm/h].")
    du_lq_min = LeastFilter("du_lq", help_text="Low-quarter uniformity, 0 to 1.")
    du_lq_max = MostFilter("du_lq", help_text="Low-quarter uniformity, 0 to 1.")

    def keep_ruling(
        self, tests: QuerySet[CatchTest], name: str, value: bool
    ) -> QuerySet[CatchTest]:
        return narrow_to_ruling(tests, is_ruling=value)


CATCH_TEST_ORDERS: Final = {
    "taken_at": Order("taken_at", "by when it was taken"),
    "rate_mm_h": Order("rate_mm_h", "by precipitation rate"),
    "du_lq": Order("du_lq", "the worst uniformity first; without one at the end", nulls="last"),
}


class ProgramSettingFilters(ListFilters):
    property = IdFilter(field_name="controller__property")
    controller = IdFilter()
    visit = IdFilter()
    source = WordFilter(SettingSource)


class FindingFilters(ListFilters):
    property = IdFilter(field_name="visit__property")
    visit = IdFilter()
    zone = IdFilter()
    fault = WordFilter(FAULT_KINDS)
    severity = WordFilter(SEVERITIES)
    ticket = IdFilter()
    seen_since = SinceFilter("seen_at", help_text="At this moment or after it.")


class TicketFilters(ListFilters):
    property = IdFilter()
    zone = IdFilter()
    visit = IdFilter(help_text="Booked on this visit.")
    state = WordFilter(TICKET_STATES)
    fault = WordFilter(FAULT_KINDS)
    is_live = FlagFilter(
        method="keep_live", help_text="Open, agreed or booked (true), or ended (false)."
    )
    awaits_proof = FlagFilter(
        method="keep_awaiting",
        help_text="Mended and not seen since (true), or all others (false).",
    )

    def keep_live(
        self, tickets: QuerySet[RepairTicket], name: str, value: bool
    ) -> QuerySet[RepairTicket]:
        live = {"state__in": LIVE_TICKET_STATES}
        return tickets.filter(**live) if value else tickets.exclude(**live)

    def keep_awaiting(
        self, tickets: QuerySet[RepairTicket], name: str, value: bool
    ) -> QuerySet[RepairTicket]:
        return narrow_to_awaiting(tickets, awaits_proof=value)


TICKET_ORDERS: Final = {
    "created_at": Order("created_at", "the oldest first"),
    "agreed_at": Order("agreed_at", "by the agreement; without one at the end", nulls="last"),
    "mended_at": Order("mended_at", "by the mending; without one at the end", nulls="last"),
}


class PriceItemFilters(ListFilters):
    search = SearchFilter("code", "name", help_text="In code and name.")
    code = TextFilter()
    kind = WordFilter(LineKind)
    is_active = FlagFilter()


PRICE_ITEM_ORDERS: Final = {
    "code": Order("code", "by code"),
    "price": Order("price", "the cheapest first"),
}


class ReadingFilters(ListFilters):
    """Of what is read in a zone at a visit."""

    property = IdFilter(field_name="visit__property")
    visit = IdFilter()
    zone = IdFilter()


class MeterReadingFilters(ListFilters):
    property = IdFilter()
    visit = IdFilter()
    meter_changed = FlagFilter()


METER_READING_ORDERS: Final = {"read_at": Order("read_at", "by when it was read")}


class SymptomFilters(ReadingFilters):
    kind = WordFilter(SYMPTOM_KINDS)
    spot = WordFilter(SPOTS)


class TreatmentFilters(ListFilters):
    property = IdFilter()
    zone = IdFilter()
    visit = IdFilter()
    kind = WordFilter(TreatmentKind)
    is_called_off = FlagFilter()


class PhotoFilters(ReadingFilters):
    finding = IdFilter()


class AuditAgeFilters(ListFilters):
    customer = IdFilter()
    city = TextFilter()
    audited_before = DateFilter(
        field_name="last_audit_date", lookup_expr="lt",
        help_text="Last audited before this day; never audited ones are not among them.",
    )  # fmt: skip
    never_audited = FlagFilter(field_name="last_audit_date", lookup_expr="isnull")
    has_next_audit = FlagFilter(
        field_name="next_audit_date", lookup_expr="isnull", exclude=True,
        help_text="Whether an audit is planned or under way.",
    )  # fmt: skip


AUDIT_AGE_ORDERS: Final = {
    "last_audit_date": Order(
        "last_audit_date", "never audited first, then the longest ago", nulls="first"
    ),
}


class UntestedZoneFilters(ListFilters):
    property = IdFilter()
    controller = IdFilter()
    head_kind = WordFilter(HEAD_KINDS)
