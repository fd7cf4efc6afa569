"""A client's word on notices, and what the mail server says of his address."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from properties.models import Customer
from properties.models.customers import address_sha256
from properties.services.rows import change_row


@transaction.atomic
def stop_notices(customer_id: UUID, *, now: datetime) -> Customer:
    """Take back a client's consent, at his own wish; a second time changes nothing."""
    customer = Customer.objects.select_for_update().get(pk=customer_id)
    if not customer.wants_notices:
        return customer
    changes = {"wants_notices": False, "unsubscribed_at": now}
    return change_row(customer, changes, actor=None, now=now, act="unsubscribed")


@transaction.atomic
def refuse_address(customer_id: UUID, address: str, *, now: datetime) -> Customer:
    """Remember that an address is no good, until the client has another one."""
    customer = Customer.objects.select_for_update().get(pk=customer_id)
    digest = address_sha256(address)
    if customer.refused_address_sha256 == digest:
        return customer
    changes = {"refused_address_sha256": digest}
    return change_row(customer, changes, actor=None, now=now, act="address refused")
