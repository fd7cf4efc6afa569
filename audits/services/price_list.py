"""The company's price list."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from audits.models import PriceItem
from properties.models import StaffMember
from properties.services.rows import add_row


def add_price_item(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> PriceItem:
    """Put a part or a kind of labour on the list."""
    return add_row(PriceItem, values, actor=actor, now=now, act="listed")
