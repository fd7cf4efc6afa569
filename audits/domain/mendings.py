"""What a repair makes history: which faults, once mended, change what was measured before."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from audits.domain.faults import FaultKind

_K = FaultKind

# Common practice. Clock, wire and a valve that shuts badly leave alone what cups catch in a run.
LEAVES_CUPS_ALONE: Final = frozenset(
    {_K.NO_WORKING_RAIN_SENSOR, _K.WIRING, _K.RUNOFF, _K.VALVE_DOES_NOT_CLOSE}
)
# Common practice. To set, turn, raise or clear a head moves its water, not how much it lets out;
# what opens, closes or replaces an opening changes flow and pressure of the whole zone.
CHANGES_FLOW: Final = frozenset(
    {
        _K.WRONG_THROW, _K.CLOGGED_NOZZLE, _K.WORN_NOZZLE, _K.WRONG_NOZZLE, _K.BROKEN,
        _K.LEAKING_SEAL, _K.MISTING, _K.WEAK_PRESSURE, _K.DOES_NOT_REACH_NEXT_HEAD,
        _K.MIXED_HEADS, _K.VALVE_DOES_NOT_OPEN, _K.WET_SPOT, _K.DRY_SPOT,
    }
)  # fmt: skip


@dataclass(frozen=True)
class Mending:
    """A fault that was mended, and when."""

    fault: FaultKind
    at: datetime


def cups_are_history(taken_at: datetime, mendings: Iterable[Mending]) -> bool:
    """Return whether a catch test of that moment tells of a zone that is no more.

    References
    ----------
    Common practice: a test is repeated after what throws the water was mended.
    """
    return cups_changed_at(taken_at, mendings) is not None


def cups_changed_at(taken_at: datetime, mendings: Iterable[Mending]) -> datetime | None:
    """Return when the newest repair made a catch test of that moment history, or None."""
    moments = [each.at for each in mendings if each.fault not in LEAVES_CUPS_ALONE]
    return max((at for at in moments if taken_at < at), default=None)


def flow_is_history(taken_at: datetime, mendings: Iterable[Mending]) -> bool:
    """Return whether meter and gauge of that moment tell of a zone that is no more.

    References
    ----------
    Common practice: flow and pressure are read again after an opening was mended.
    """
    return any(each.fault in CHANGES_FLOW and taken_at < each.at for each in mendings)
