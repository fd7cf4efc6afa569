"""What the field records hold of a client who is erased: words that people wrote, and pictures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from functools import cache
from io import BytesIO
from typing import Any

from django.db.models import F, QuerySet
from PIL import Image

from audits.domain.ticket_states import MOVES
from audits.models import (
    CatchTest,
    Finding,
    MeterReading,
    Photo,
    PlantSymptom,
    RepairTicket,
    TicketProof,
    Visit,
    VisitState,
)
from properties.domain.errors import RefusedError
from properties.models import Customer, Property
from properties.services.erasure import ERASED, ERASED_CLIENT


def erase_field_records(
    customer: Customer, properties: Sequence[Property], *, now: datetime
) -> None:
    """Empty notes, names and pictures of the client's properties; what was measured stays."""
    _refuse_what_is_open(properties)
    _empty(Visit.objects.filter(property__in=properties).exclude(notes=""), now, notes="")
    of_visits = {"visit__property__in": properties}
    _empty(Finding.objects.filter(**of_visits).exclude(note=""), now, note="")
    _empty(PlantSymptom.objects.filter(**of_visits).exclude(note=""), now, note="")
    _empty(TicketProof.objects.filter(**of_visits).exclude(note=""), now, note=ERASED)
    _empty(MeterReading.objects.filter(property__in=properties).exclude(note=""), now, note="")
    tests = CatchTest.objects.filter(**of_visits).exclude(void_reason="")
    _empty(tests, now, void_reason=ERASED)
    tickets = RepairTicket.objects.filter(property__in=properties)
    _empty(tickets.exclude(agreed_by=""), now, agreed_by=ERASED_CLIENT)
    _empty(tickets.exclude(closing_word=""), now, closing_word=ERASED)
    nothing = {"jpeg": _one_grey_pixel(), "width_px": 1, "height_px": 1, "caption": ""}
    _empty(Photo.objects.filter(**of_visits), now, **nothing)


def _refuse_what_is_open(properties: Sequence[Property]) -> None:
    ahead = (VisitState.PLANNED, VisitState.UNDER_WAY)
    if Visit.objects.filter(property__in=properties, state__in=ahead).exists():
        raise RefusedError(
            "A visit to this client is planned or under way.",
            code="visit-open", remedy="Call it off or finish it first.",
        )  # fmt: skip
    unfinished = [state for state, ways in MOVES.items() if ways]
    if RepairTicket.objects.filter(property__in=properties, state__in=unfinished).exists():
        raise RefusedError(
            "A repair for this client is not finished.",
            code="ticket-open", remedy="Prove, decline or void its ticket first.",
        )  # fmt: skip


def _empty(rows: QuerySet[Any, Any], now: datetime, **values: object) -> None:
    """Write the same over all rows, and count it as a change of each."""
    rows.order_by().update(**values, changed_at=now, revision=F("revision") + 1)


@cache
def _one_grey_pixel() -> bytes:
    picture = BytesIO()
    Image.new("RGB", (1, 1), "grey").save(picture, "JPEG")
    return picture.getvalue()
