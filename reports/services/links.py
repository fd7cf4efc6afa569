"""Making the addresses by which clients come in, and telling whether one holds."""

from __future__ import annotations

import base64
from datetime import datetime
from typing import Final
from uuid import UUID, uuid5

from django.conf import settings
from django.db.models import F
from django.utils.crypto import constant_time_compare, salted_hmac

from properties.domain.errors import RefusedError
from reports.models import ClientLink, LinkPurpose

_CODE_BYTES: Final = 16
_PATHS: Final = {LinkPurpose.STOP_NOTICES: "notices/stop"}


def stop_url(customer_id: UUID, *, now: datetime) -> str:
    """Return the address at which a client stops his notices; always the same one."""
    link, _ = ClientLink.objects.get_or_create(
        customer_id=customer_id,
        purpose=LinkPurpose.STOP_NOTICES,
        defaults={"id": uuid5(customer_id, LinkPurpose.STOP_NOTICES), "created_at": now},
    )
    path = _PATHS[LinkPurpose.STOP_NOTICES]
    return f"{settings.PUBLIC_URL.rstrip('/')}/{path}/{link.pk}/{code_of(link)}"


def code_of(link: ClientLink) -> str:
    """Return the code that nobody can make without the key of this installation."""
    facts = f"{link.pk}:{link.purpose}:{link.version}"
    digest = salted_hmac("reports.client-link", facts, algorithm="sha256").digest()
    return base64.urlsafe_b64encode(digest[:_CODE_BYTES]).rstrip(b"=").decode()


def find_link(link_id: UUID, code: str, purpose: LinkPurpose, *, now: datetime) -> ClientLink:
    """Return the link of an address that holds.

    Raises
    ------
    RefusedError
        Code "no-such-link", the same for an address that was made up, expired or called back.
    """
    link = ClientLink.objects.filter(pk=link_id, purpose=purpose, revoked_at=None).first()
    if link is None or not constant_time_compare(code, code_of(link)):
        raise _no_such_link()
    if link.expires_at is not None and link.expires_at <= now:
        raise _no_such_link()
    return link


def note_use(link: ClientLink, *, now: datetime) -> None:
    """Remember that somebody came by this link."""
    ClientLink.objects.filter(pk=link.pk).update(last_used_at=now, uses=F("uses") + 1)


def _no_such_link() -> RefusedError:
    return RefusedError(
        "This address does not hold any more, or is not whole.",
        code="no-such-link", remedy="Open it from the newest message, or ask the office.",
    )  # fmt: skip
