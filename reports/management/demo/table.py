"""The outcome of the demo as a table for a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

SHOWN_MONTHS: Final = (4, 6, 7, 10)
MONTH_NAMES: Final = {4: "April", 6: "June", 7: "July", 10: "October"}


def lines(season: dict[str, Any], tests: list[dict[str, Any]]) -> Iterator[str]:
    """Yield the lines: for each zone what was measured, then what to set in four months."""
    by_zone = {test["zone"]: test for test in tests}
    for zone in season["zones"]:
        yield from _zone_lines(zone, by_zone.get(zone["zone"]))
    if season["volume"]:
        cost = f", {season['cost']} {season['currency']}" if season["cost"] else ""
        yield f"A year before any rain: {_quantity(season['volume'], 0)}{cost}."


def _zone_lines(zone: dict[str, Any], test: dict[str, Any] | None) -> Iterator[str]:
    yield f"{zone['number']} {zone['name']}: {_measured(zone, test)}"
    if zone["refusal"]:
        yield f"    no plan: {zone['refusal']['detail']} {zone['refusal']['remedy']}"
        return
    yield (
        "    month      every    minutes  cycles      soak     sets a week   needs a week"
        "   found a week"
    )
    for number in SHOWN_MONTHS:
        yield _month_line(zone["season"]["months"][number - 1], zone["found_weekly"])


def _measured(zone: dict[str, Any], test: dict[str, Any] | None) -> str:
    if zone["rate"] is None:
        return "rate unknown"
    rate = _quantity(zone["rate"], 2)
    if test is None:
        return f"{rate}, estimated from the heads"
    low, high = test["rate_low"]["value"], test["rate_high"]["value"]
    way = "poured together, uniformity unknown" if test["is_pooled"] else f"DU {test['du_lq']:.2f}"
    return f"{rate} ({low:.2f} to {high:.2f}), {test['cups']} cups, {way}"


def _month_line(month: dict[str, Any], found: dict[str, Any] | None) -> str:
    name = MONTH_NAMES[month["month"]]
    needs = _weekly(month["need_per_day"])
    given = _quantity(found, 2) if found else "unknown"
    if month["days_between"] is None:
        return f"    {name:<9}{'-':>7}{'off':>11}{'':>18}{'':>16}{needs:>15}{given:>15}"
    every = f"{month['days_between']} d"
    cycles = f"{month['cycles']} x {month['cycle_min']:g}"
    soak = f"{month['soak_min']:.0f} min" if month["soak_min"] else "-"
    sets = _quantity(month["weekly_gross"], 2)
    return (
        f"    {name:<9}{every:>7}{month['minutes']:>11g}{cycles:>8}{soak:>10}{sets:>16}"
        f"{needs:>15}{given:>15}"
    )


def _weekly(per_day: dict[str, Any]) -> str:
    return f"{per_day['value'] * 7:.2f} {per_day['unit']}"


def _quantity(quantity: dict[str, Any], digits: int) -> str:
    return f"{quantity['value']:,.{digits}f} {quantity['unit']}"
