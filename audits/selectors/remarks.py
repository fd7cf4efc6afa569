"""Why something is unknown, and what cures it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeVar

from properties.domain.errors import InvalidInputError

Answer = TypeVar("Answer")

# What the domain calls a number, and under which name the API knows it.
API_NAMES: Final = {
    "rated_kpa": "rated_pressure",
    "area_m2": "wetted_area",
    "wetted_area_m2": "wetted_area",
    "static_kpa": "static_pressure",
    "running_kpa": "running_pressure",
    "measured_flow_l_min": "meter_after",
    "throw_m": "throw",
    "spacing_m": "head_spacing",
    "width_m": "strip_width",
    "gap_m": "least_paving_gap",
}


@dataclass(frozen=True)
class Remark:
    """What stands against an answer: where, in words, and the cure."""

    code: str
    field: str
    detail: str
    remedy: str


def told(compute: Callable[[], Answer], remarks: list[Remark]) -> Answer | None:
    """Return what the domain computes, or note why it cannot."""
    try:
        return compute()
    except InvalidInputError as refusal:
        field = API_NAMES.get(refusal.field, refusal.field)
        remark = Remark(refusal.code, field, refusal.detail, refusal.remedy)
        if remark not in remarks:
            remarks.append(remark)
        return None
