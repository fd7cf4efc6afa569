"""What documents and links hold of a client who is erased."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from django.db.models import F, Q

from properties.models import Customer, Property
from reports.models import ClientLink, Document

ERASED_TITLE: Final = "Erased document"


def erase_documents(customer: Customer, properties: Sequence[Property], *, now: datetime) -> None:
    """Drop the bytes of the client's documents, whose hashes stay, and end his links."""
    of_client = Q(property__in=properties) | Q(notice__customer=customer)
    Document.objects.filter(of_client).order_by().update(
        pdf=b"", size_bytes=0, title=ERASED_TITLE, changed_at=now, revision=F("revision") + 1
    )
    ClientLink.objects.filter(customer=customer, revoked_at=None).update(revoked_at=now)
