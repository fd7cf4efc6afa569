"""When the weather has moved so far from what a client goes by that he should hear of it.

What counts is the need of these days in percent of a usual day of the month. A client goes by 100
at the beginning of a month, and later by what he was told last.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import Final

from properties.domain.errors import InvalidInputError

FAR_PERCENT: Final = 20
"""Nearer to what he goes by nothing is told (common practice: a step that a lawn shows)."""

NIGHTS: Final = 3
"""So many nights in a row must say the same: one hot day is no news."""


@dataclass(frozen=True)
class Advice:
    """What a client goes by, and since which night the weather asks for something else.

    `is_more`: the way in which it does; None while it does not. `looked_on`: the newest night.
    """

    percent: int = 100
    since: dt.date | None = None
    is_more: bool | None = None
    looked_on: dt.date | None = None


def next_advice(advice: Advice, percent: int, on: dt.date) -> tuple[Advice, bool]:
    """Return how things stand after a night, and whether the client should be told.

    1. A night that was looked at already changes nothing.
    2. A month begins with what its notice says: the client goes by 100.
    3. Far from what he goes by, on one side, for enough nights: he is told, and goes by that.
    4. A night that is near, or far on the other side, begins the count anew.

    Parameters
    ----------
    advice : after the night before.
    percent : need of these days over that of a usual day of the month [%], 0 to 1000; 0 is a month
        in which nothing is watered.
    on : the night.

    Raises
    ------
    InvalidInputError
        Code "out-of-range" for another percentage.
    """
    if not 0 <= percent <= 1000:
        raise InvalidInputError(
            f"{percent} % of a usual day cannot be.",
            field="percent", code="out-of-range", remedy="Give 0 to 1000.",
        )  # fmt: skip
    if advice.looked_on is not None and on <= advice.looked_on:
        return advice, False
    if advice.looked_on is None or advice.looked_on.replace(day=1) < on.replace(day=1):
        advice = Advice()
    advice = replace(advice, looked_on=on)
    if abs(percent - advice.percent) < FAR_PERCENT or percent == 0:
        return replace(advice, since=None, is_more=None), False
    is_more = percent > advice.percent
    if advice.since is None or advice.is_more != is_more:
        advice = replace(advice, since=on, is_more=is_more)
    assert advice.since is not None
    if (on - advice.since).days + 1 < NIGHTS:
        return advice, False
    return Advice(percent, None, None, on), True
