"""Lists that answer what the office asks: whom to audit, and what was never measured."""

from __future__ import annotations

from rest_framework import mixins, serializers

from audits.api.filters import AUDIT_AGE_ORDERS, AuditAgeFilters, UntestedZoneFilters
from audits.selectors.office_questions import untested_zones, with_audit_dates
from properties.http.cards import CONTROLLER, CUSTOMER, PROPERTY
from properties.http.expansion import ExpandedField
from properties.http.permissions import Access
from properties.http.views import ScopedViewSet
from properties.models import Property, Zone
from properties.models.staff import OFFICE_ONLY


class AuditAgeSerializer(serializers.ModelSerializer[Property]):
    """A property in use; the days are those on which the visits were planned."""

    property = serializers.UUIDField(source="pk", read_only=True)
    last_audit_date = serializers.DateField(
        read_only=True, allow_null=True, help_text="Of the last finished audit; null: never."
    )
    next_audit_date = serializers.DateField(
        read_only=True, allow_null=True, help_text="Of an audit that is planned or under way."
    )
    expanded = ExpandedField({"customer": CUSTOMER})

    class Meta:
        model = Property
        fields = (
            "property", "name", "street", "city", "customer", "last_audit_date", "next_audit_date",
            "expanded",
        )  # fmt: skip


class AuditAgeViewSet(mixins.ListModelMixin, ScopedViewSet[Property]):
    """Who is due for an audit: never audited first, then the longest ago."""

    access = Access(read=OFFICE_ONLY, write=frozenset())
    queryset = with_audit_dates(Property.objects.filter(retired_at__isnull=True))
    serializer_class = AuditAgeSerializer
    filterset_class = AuditAgeFilters
    orders = AUDIT_AGE_ORDERS
    usual_ordering = "last_audit_date"
    expansions = {"customer": CUSTOMER}
    lists_retired = False


class UntestedZoneSerializer(serializers.ModelSerializer[Zone]):
    expanded = ExpandedField({"property": PROPERTY, "controller": CONTROLLER})

    class Meta:
        model = Zone
        fields = ("id", "property", "controller", "number", "name", "head_kind", "expanded")


class UntestedZoneViewSet(mixins.ListModelMixin, ScopedViewSet[Zone]):
    """Zones in use without a valid catch test: their plans are estimates."""

    access = Access(read=OFFICE_ONLY, write=frozenset())
    queryset = untested_zones()
    serializer_class = UntestedZoneSerializer
    filterset_class = UntestedZoneFilters
    expansions = {"property": PROPERTY, "controller": CONTROLLER}
    lists_retired = False
