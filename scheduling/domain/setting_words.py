"""A setting of a zone as a person types it in: days, minutes, cycles and the soak between them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

OFF: Final = "off"
_DAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def setting_words(month: Mapping[str, Any]) -> str:
    """Return what to set for a month of a stored plan, such as "every 2 days, 14 min".

    Parameters
    ----------
    month : of `WateringPlan.months`: days_between, weekdays, waterings_per_day, minutes, cycles,
        cycle_min and soak_min.
    """
    if month["days_between"] is None or not month["minutes"]:
        return OFF
    parts = [_days(month["weekdays"], month["days_between"]), f"{month['minutes']:g} min"]
    if month["cycles"] > 1:
        cycles = f"{month['cycles']} x {month['cycle_min']:g}"
        parts[-1] += f" ({cycles}, {month['soak_min']:g} min apart)"
    if month["waterings_per_day"] > 1:
        parts.append(f"{month['waterings_per_day']} times a day")
    return ", ".join(parts)


def _days(weekdays: Sequence[int] | None, between: int) -> str:
    if weekdays is not None:
        return " ".join(_DAYS[day] for day in sorted(weekdays))
    return "daily" if between == 1 else f"every {between} days"
