"""The company's price list."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from django.db import transaction

from audits.models import PriceItem, TicketLine
from properties.domain.errors import RefusedError
from properties.models import StaffMember
from properties.services.rows import add_row, change_what_differs

# A line on a ticket keeps its price; these it reads from the list.
WORDS: Final = ("name", "unit")


def add_price_item(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> PriceItem:
    """Put a part or a kind of labour on the list."""
    return add_row(PriceItem, values, actor=actor, now=now, act="listed")


@transaction.atomic
def change_price_item(
    item: PriceItem,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> PriceItem:
    """Change an item, or retire it by `is_active`; tickets keep what was written on them.

    With the revision that the caller read, a change that somebody else made since is not written
    over. What is the same already is no change and no event.
    """
    held = PriceItem.objects.select_for_update().get(pk=item.pk)
    changes = {name: value for name, value in changes.items() if getattr(held, name) != value}
    _keep_words_on_tickets(held, changes)
    act = "retired" if changes.get("is_active") is False else "changed"
    return change_what_differs(
        held, changes, read_revision=read_revision, actor=actor, now=now, act=act
    )


def _keep_words_on_tickets(item: PriceItem, changes: Mapping[str, Any]) -> None:
    changed_words = [name for name in WORDS if name in changes]
    if changed_words and TicketLine.objects.filter(item=item).exists():
        raise RefusedError(
            f"{item.name} stands on tickets, which would then say something else.",
            code="item-on-tickets", field=changed_words[0],
            remedy="Retire this item and list a new one.",
        )  # fmt: skip
