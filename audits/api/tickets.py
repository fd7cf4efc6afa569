"""Repair tickets: their moves, what they cost, and what proves them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django.http import StreamingHttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from audits.api.filters import TICKET_ORDERS, TicketFilters
from audits.api.ticket_proofs import TicketProofSerializer
from audits.domain.ticket_proofs import ProofKind
from audits.models import PriceItem, RepairTicket, TicketLine, Visit
from audits.selectors.awaited_proofs import awaited_proofs, with_proof_seen
from audits.selectors.quotes import quote_entries
from audits.selectors.tickets import proofs_of, total_of
from audits.services.quotes import quotes_csv
from audits.services.ticket_lines import add_ticket_line, strike_ticket_line
from audits.services.ticket_moves import (
    agree_ticket,
    book_ticket,
    decline_ticket,
    mend_ticket,
    unbook_ticket,
    void_ticket,
)
from audits.services.ticket_proofs import prove_ticket
from audits.services.tickets import change_ticket, open_ticket
from properties.http.cards import PROPERTY, ZONE
from properties.http.changes import ChangedRowViewSet
from properties.http.expansion import ExpandedField
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer, ScopedField, StrictSerializer
from properties.http.views import ScopedViewSet, staff_of
from properties.models import Property, Zone
from properties.models.staff import ALL_STAFF, OFFICE_ONLY

EXPANSIONS = {"property": PROPERTY, "zone": ZONE}


class RepairTicketSerializer(RowSerializer[RepairTicket]):
    expanded = ExpandedField(EXPANSIONS)
    property: ScopedField[Property] = ScopedField(
        queryset=Property.objects.all(), property_path="pk"
    )
    zone: ScopedField[Zone] = ScopedField(
        queryset=Zone.objects.all(), property_path="property", required=False, allow_null=True
    )
    work = serializers.CharField(
        required=False, max_length=2000, help_text="The usual repair of the fault when absent."
    )
    total = serializers.SerializerMethodField(help_text="Of the lines that are not struck.")
    awaits_proof = serializers.SerializerMethodField(
        help_text="Of a mended ticket that was not seen since: the proofs of which one is enough."
    )

    class Meta:
        model = RepairTicket
        fields = (
            "id", "property", "zone", "fault", "state", "work", "opens_main_line", "licence_asked",
            "agreed_by", "agreed_at", "visit", "mended_by", "mended_at", "closing_word", "total",
            "awaits_proof", "created_at", "changed_at", "revision", "expanded",
        )  # fmt: skip
        read_only_fields = (
            "state", "agreed_by", "agreed_at", "visit", "mended_by", "mended_at", "closing_word",
            "created_at", "changed_at", "revision",
        )  # fmt: skip
        fixed = ("property", "zone", "fault")

    @extend_schema_field(serializers.DecimalField(max_digits=20, decimal_places=2))
    def get_total(self, ticket: RepairTicket) -> str:
        return str(total_of(ticket.lines.all()))

    @extend_schema_field(
        serializers.ListField(
            child=serializers.ChoiceField(choices=[kind.value for kind in ProofKind]),
            allow_null=True,
        )
    )
    def get_awaits_proof(self, ticket: RepairTicket) -> tuple[str, ...] | None:
        return awaited_proofs(ticket)


class AgreementSerializer(StrictSerializer):
    person = serializers.CharField(max_length=200, help_text="Who agreed.")
    agreed_at = serializers.DateTimeField(required=False, help_text="Now when absent.")


class BookingSerializer(StrictSerializer):
    visit: ScopedField[Visit] = ScopedField(queryset=Visit.objects.all(), property_path="property")


class MendingSerializer(StrictSerializer):
    mended_at = serializers.DateTimeField(required=False, help_text="Now when absent.")


class DecliningSerializer(StrictSerializer):
    person = serializers.CharField(max_length=200, help_text="Who declined.")


class ReasonSerializer(StrictSerializer):
    reason = serializers.CharField(max_length=500)


class TicketLineSerializer(RowSerializer[TicketLine]):
    item = serializers.PrimaryKeyRelatedField(
        queryset=PriceItem.objects.all(), pk_field=serializers.UUIDField()
    )
    amount = serializers.DecimalField(max_digits=20, decimal_places=2, read_only=True)

    class Meta:
        model = TicketLine
        fields = (
            "id", "ticket", "item", "quantity", "unit_price", "amount", "is_struck", "created_at",
        )  # fmt: skip
        read_only_fields = ("ticket", "unit_price", "is_struck", "created_at")


class CsvRenderer(BaseRenderer):
    """Lets a caller ask for `text/csv`; the view streams its own bytes."""

    media_type = "text/csv"
    format = "csv"


class RepairTicketViewSet(ChangedRowViewSet[RepairTicket]):
    """The office moves tickets; the technician mends and proves at his own visits."""

    access = Access(
        read=ALL_STAFF,
        write=OFFICE_ONLY,
        acts=(("mend", ALL_STAFF), ("prove", ALL_STAFF), ("quotes", OFFICE_ONLY)),
    )
    queryset = with_proof_seen(RepairTicket.objects.prefetch_related("lines"))
    serializer_class = RepairTicketSerializer
    property_path: ClassVar[str | None] = "property"
    filterset_class = TicketFilters
    expansions = EXPANSIONS
    orders = TICKET_ORDERS
    change_service = staticmethod(change_ticket)
    unkept_acts = frozenset({"lines", "prove"})

    def perform_create(self, serializer: serializers.BaseSerializer[RepairTicket]) -> None:
        serializer.instance = open_ticket(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )

    @extend_schema(request=AgreementSerializer)
    @action(detail=True, methods=["post"])
    def agree(self, request: Request, pk: str) -> Response:
        """Note who agreed to the repair."""
        return self._move(agree_ticket, AgreementSerializer)

    @extend_schema(request=BookingSerializer)
    @action(detail=True, methods=["post"])
    def book(self, request: Request, pk: str) -> Response:
        """Book the repair on a planned visit, for the first time or again."""
        return self._move(book_ticket, BookingSerializer)

    @extend_schema(request=ReasonSerializer)
    @action(detail=True, methods=["post"])
    def unbook(self, request: Request, pk: str) -> Response:
        """Give up the booking."""
        return self._move(unbook_ticket, ReasonSerializer)

    @extend_schema(request=MendingSerializer)
    @action(detail=True, methods=["post"])
    def mend(self, request: Request, pk: str) -> Response:
        """Note that the work was done at the booked visit."""
        return self._move(mend_ticket, MendingSerializer)

    @extend_schema(request=DecliningSerializer)
    @action(detail=True, methods=["post"])
    def decline(self, request: Request, pk: str) -> Response:
        """Note who does not want the repair."""
        return self._move(decline_ticket, DecliningSerializer)

    @extend_schema(request=ReasonSerializer)
    @action(detail=True, methods=["post"])
    def void(self, request: Request, pk: str) -> Response:
        """Take back a ticket that should not have been."""
        return self._move(void_ticket, ReasonSerializer)

    @extend_schema(request=TicketProofSerializer, responses={201: TicketProofSerializer})
    @action(detail=True, methods=["post"])
    def prove(self, request: Request, pk: str) -> Response:
        """Record what was seen after the work; the ticket is proven where the fault is gone."""
        ticket, values = self.get_object(), self._sent(TicketProofSerializer)
        proof = prove_ticket(ticket, values, actor=staff_of(request), now=timezone.now())
        content = TicketProofSerializer(proof, context=self.get_serializer_context()).data
        return Response(content, status=status.HTTP_201_CREATED)

    @extend_schema(responses=TicketProofSerializer(many=True))
    @action(detail=True, filter_backends=())
    def proofs(self, request: Request, pk: str) -> Response:
        """What was seen after the work, the newest first."""
        return self._page_of(proofs_of(self.get_object()), TicketProofSerializer)

    @extend_schema(responses=TicketLineSerializer(many=True))
    @action(detail=True, filter_backends=())
    def lines(self, request: Request, pk: str) -> Response:
        """Parts and labour, struck ones too."""
        return self._page_of(self.get_object().lines.all(), TicketLineSerializer)

    @extend_schema(request=TicketLineSerializer, responses={201: TicketLineSerializer})
    @lines.mapping.post
    def add_line(self, request: Request, pk: str) -> Response:
        """Write a part or an hour on the ticket, at the price of today."""
        ticket, values = self.get_object(), self._sent(TicketLineSerializer)
        line = add_ticket_line(ticket, values, actor=staff_of(request), now=timezone.now())
        return Response(TicketLineSerializer(line).data, status=status.HTTP_201_CREATED)

    @extend_schema(
        operation_id="repair_tickets_quotes",
        filters=True,
        responses={(200, "text/csv"): OpenApiTypes.STR},
    )
    @action(
        detail=False, url_path="quotes.csv", pagination_class=None,
        renderer_classes=(CsvRenderer, JSONRenderer),
    )  # fmt: skip
    def quotes(self, request: Request) -> StreamingHttpResponse:
        """Tickets and their lines for the company's books; filtered as the list is."""
        entries = quote_entries(self.filter_queryset(self.get_queryset()))
        response = StreamingHttpResponse(
            quotes_csv(entries), content_type="text/csv; charset=utf-8"
        )
        response["Content-Disposition"] = 'attachment; filename="quotes.csv"'
        response["Cache-Control"] = "private, no-store"
        return response

    def _move(
        self, service: Callable[..., RepairTicket], form: type[serializers.Serializer[Any]]
    ) -> Response:
        ticket, values = self.get_object(), self._sent(form)
        moved = service(ticket, **values, actor=staff_of(self.request), now=timezone.now())
        return Response(self.get_serializer(moved).data)

    def _sent(self, form: type[serializers.Serializer[Any]]) -> dict[str, Any]:
        sent = form(data=self.request.data, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        values: dict[str, Any] = sent.validated_data
        return values

    def _page_of(self, rows: Any, serializer: type[serializers.Serializer[Any]]) -> Response:
        page = self.paginate_queryset(rows)
        content = serializer(page, many=True, context=self.get_serializer_context()).data
        return self.get_paginated_response(content)


class TicketLineViewSet(ScopedViewSet[TicketLine]):
    access = Access(read=frozenset(), write=OFFICE_ONLY)
    queryset = TicketLine.objects.all()
    serializer_class = TicketLineSerializer
    property_path: ClassVar[str | None] = "ticket__property"

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def strike(self, request: Request, pk: str) -> Response:
        """Strike a line; it stays to be read and costs nothing."""
        line = strike_ticket_line(self.get_object(), actor=staff_of(request), now=timezone.now())
        return Response(self.get_serializer(line).data)
