"""A client's word on notices, and what the mail server says of his address."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from properties.domain.errors import RefusedError
from properties.models import Customer, StaffMember
from properties.models.customers import address_sha256
from properties.services.rows import change_held, change_row


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


@transaction.atomic
def clear_refused_address(
    customer_id: UUID, *, actor: StaffMember | None, now: datetime
) -> Customer:
    """Trust an address again that the mail server refused: it was mended there, or asked about.

    Raises
    ------
    RefusedError
        Code "address-not-refused" where the mail server never refused the address on file.
    """
    customer = Customer.objects.select_for_update().get(pk=customer_id)
    if customer.refused_address_sha256 != address_sha256(customer.email):
        raise RefusedError(
            "The mail server has not refused the e-mail address of this client.",
            code="address-not-refused", field="email",
            remedy="Look at mail_block: it says what else keeps his notices back.",
        )  # fmt: skip
    changes = {"refused_address_sha256": ""}
    return change_row(customer, changes, actor=actor, now=now, act="address trusted again")


@transaction.atomic
def change_customer(
    customer: Customer,
    changes: Mapping[str, Any],
    /,
    *,
    read_revision: int | None = None,
    actor: StaffMember | None,
    now: datetime,
) -> Customer:
    """Change a client; with another address what the mail server said of the old one is forgotten.

    So an address that is taken back on file later, mended in the meantime, is tried again.
    """
    email = changes.get("email", customer.email)
    is_other = address_sha256(email) != address_sha256(customer.email)
    forgotten = {"refused_address_sha256": ""} if is_other else {}
    return change_held(
        customer, {**changes, **forgotten}, read_revision=read_revision, actor=actor, now=now
    )
