"""What past weather says of several ways of watering, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any, Final

WIDTH: Final = 100
_YEARS: Final = ("mean", "dry", "wet")


def lines(replay: dict[str, Any], zones: Sequence[dict[str, Any]]) -> Iterator[str]:
    """Yield the ways side by side, zone by zone, and what each saves against the first.

    `zones` are those of the season: they have the names.
    """
    weather, variants = replay["weather"], replay["variants"]
    first, last = weather["years"][0], weather["years"][-1]
    yield f"Replayed on the weather of {weather['station']}, {first} to {last}:"
    yield (
        "    year        way             water      money    stress    runs off      drains"
        "  adequacy   excess"
    )
    for name in _YEARS:
        label = "mean" if name == "mean" else f"{name}, {replay['picked_years'][name]}"
        for variant in variants:
            yield _way_line(label, variant["name"], variant["summary"][f"{name}_year"])
            label = ""
    yield from _zone_lines(variants, zones)
    numbers = {zone["zone"]: zone["number"] for zone in zones}
    for variant in variants[1:]:
        yield from _saved_lines(variants[0], variant, numbers)
    for sentence in _notes(replay):
        yield from _wrapped(sentence)


def _way_line(label: str, way: str, year: dict[str, Any]) -> str:
    money = "-" if year["money"] is None else f"{year['money']:.2f}"
    return (
        f"    {label:<10}  {way:<9}{_volume(year['litres']):>12}{money:>11}"
        f"{year['stress_days']:>8.0f} d{_volume(year['runoff']):>12}{_volume(year['drained']):>12}"
        f"{year['adequacy']:>10.2f}{year['excess']:>9.2f}"
    )


def _zone_lines(
    variants: Sequence[dict[str, Any]], zones: Sequence[dict[str, Any]]
) -> Iterator[str]:
    """Yield water and days of stress of each zone in a mean year, a column for each way."""
    names = {zone["zone"]: f"{zone['number']} {zone['name']}" for zone in zones}
    yield "    mean year of a zone         " + "".join(
        f"{variant['name']:>22}" for variant in variants
    )
    for at, zone in enumerate(variants[0]["zones"]):
        cells = (_zone_cell(variant["zones"][at]["years"]) for variant in variants)
        yield f"    {names[zone['zone']]:<28}" + "".join(f"{cell:>22}" for cell in cells)


def _zone_cell(years: dict[str, Any] | None) -> str:
    if years is None or years["litres"] is None:
        return "-"
    litres = {**years["litres"], "value": _mean(years["litres"]["values"])}
    return f"{_volume(litres)},{_mean(years['stress_days']):>4.0f} d"


def _saved_lines(
    one: dict[str, Any], other: dict[str, Any], numbers: dict[str, int]
) -> Iterator[str]:
    """Yield what a way saves where too much was put down, adds where too little was, and in all."""
    told, name = other["difference"], other["name"]
    interval, parts = told["interval"], told["parts"]
    before, after = (each["summary"]["mean_year"]["litres"] for each in (one, other))
    yield f"  {one['name'].capitalize()} against {name}, a mean year (nine of ten coming ones):"
    for key, words, sign in (("less", "saved", -1), ("more", "added", 1)):
        if parts[key]:
            zones = ", ".join(str(numbers[zone]) for zone in parts[key]["zones"])
            yield f"    {words} in zones {zones}: {_range(parts[key], sign)}"
    in_all = _range({**told, **interval}, -1)
    yield f"    in all {_volume(before)} less {_volume(after)}: {in_all} saved"
    yield (
        f"    of which by the years {_volume(interval['years_half'])} either way, by the rates"
        f" {_volume(interval['rates_low'])} more or {_volume(interval['rates_high'])} less"
    )


def _range(part: dict[str, Any], sign: int) -> str:
    low, high = sorted((part["low"], part["high"]), key=lambda end: sign * end["value"])
    return f"{_volume(part['litres'], sign)} ({_volume(low, sign)} to {_volume(high, sign)})"


def _notes(replay: dict[str, Any]) -> Iterator[str]:
    """Yield what the intervals are made of and which rules were kept, each sentence once."""
    variants = replay["variants"]
    sentences = [each["difference"]["interval"]["sentence"] for each in variants[1:]]
    for variant in variants:
        sentences += [note["sentence"] for note in variant["notes"]]
    yield from dict.fromkeys([*sentences, *(note["sentence"] for note in replay["notes"])])


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _volume(quantity: dict[str, Any], sign: int = 1) -> str:
    return f"{sign * quantity['value']:,.0f} {quantity['unit']}"


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="  ")
