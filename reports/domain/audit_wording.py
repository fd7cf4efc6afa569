"""The sentences of the audit summary, built from its numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from reports.domain.audit_summary import Mend, ZoneSeason, ZoneSummary
from reports.domain.formats import counted, month_name, percent

# Upper end of each band of supply / need, and its words: the bands meet half way between fractions.
_RATIO_WORDS: Final = (
    (0.125, "next to nothing of what"),
    (0.375, "about a quarter of what"),
    (0.625, "about half of what"),
    (0.875, "about three quarters of what"),
    (1.125, "about what"),
    (1.375, "about a quarter more than"),
    (1.75, "about one and a half times what"),
    (2.25, "about twice what"),
    (2.75, "about two and a half times what"),
)
_BEYOND_WORDS: Final = 10.5
_ENOUGH: Final = (0.875, 1.125)  # supply / need [-] that counts as what a zone needs

# Low-quarter uniformity [-] from which on the words hold. Our own bands (common practice); the last
# one starts at the uniformity beyond which the plan asks for repair instead of more minutes.
_EVENNESS_WORDS: Final = ((0.70, "evenly"), (0.55, "fairly evenly"), (0.40, "unevenly"))
_SAME_WATER: Final = 0.05  # [-] below it no change is claimed, and changes are told in steps of it
_LONGEST_NAME: Final = 60


def ratio_words(ratio: float) -> str:
    """Say how supply stands to need [-], ready to be followed by "it needs"."""
    for upper, words in _RATIO_WORDS:
        if ratio < upper:
            return words
    if ratio >= _BEYOND_WORDS:
        return "more than ten times what"
    return f"about {counted(round(ratio), 'time', 'times')} what"


def is_overwatered(ratio: float | None) -> bool:
    """Tell whether supply / need [-] is clearly too much; an unknown one is not."""
    return ratio is not None and ratio >= _ENOUGH[1]


def is_underwatered(ratio: float | None) -> bool:
    """Tell whether supply / need [-] is clearly too little; an unknown one is not."""
    return ratio is not None and ratio < _ENOUGH[0]


def zone_meaning(
    *,
    month: int,
    found_weekly_mm: float | None,
    needed_weekly_mm: float | None,
    du_lq: float | None,
    pooled: bool = False,
    estimated: bool = False,
) -> str:
    """Say in two plain sentences what the numbers of a zone mean for its plants.

    Parameters
    ----------
    month : the hottest month, 1 to 12.
    found_weekly_mm : what the program gives as it was found [mm per week]; None if unknown.
    needed_weekly_mm : what is to be put down for the plants in that month, unevenness included
        [mm per week]; None if unknown.
    du_lq : low-quarter uniformity as a fraction [-]; None if unknown.
    pooled : the cups were poured together, so the uniformity is unknown.
    estimated : there is no valid test; the rate comes from the heads.
    """
    supply = _supply_sentence(month, found_weekly_mm, needed_weekly_mm)
    return f"{supply} {_evenness_sentence(du_lq, pooled=pooled, estimated=estimated)}"


def headline(
    zones: Sequence[ZoneSummary],
    mends: Sequence[Mend],
    *,
    month: int,
    season: Sequence[ZoneSeason] = (),
) -> str:
    """Say in two sentences what the client should remember: the worst zone, and the water.

    The worst zone is the one in which most water [L] goes amiss, too much or too little, among
    those that get clearly more or less than they need.

    Parameters
    ----------
    zones, mends : the content of the summary.
    month : the hottest month, 1 to 12; supply and need of the zones are those of that month.
    season : the plan that the water of the found program is compared with.
    """
    left = sum(not mend.done_on_the_spot for mend in mends)
    mending = counted(left, "repair is", "repairs are") + " open" if left else "no repair is open"
    return f"{_worst_zone_clause(zones, month)}; {mending}. {_water_sentence(zones, season, month)}"


def _supply_sentence(month: int, found_mm: float | None, needed_mm: float | None) -> str:
    if found_mm is None:
        return "Its present program is unknown."
    if not needed_mm:
        return "What it needs is unknown."
    return f"Gets {ratio_words(found_mm / needed_mm)} it needs in {month_name(month)}."


def _evenness_sentence(du_lq: float | None, *, pooled: bool, estimated: bool) -> str:
    if estimated:
        return "Not tested: its figures are estimated from its heads."
    if du_lq is None and pooled:
        return "The cups were pooled: evenness is unknown."
    if du_lq is None:
        return "How evenly the water falls is unknown."
    words = next((words for least, words in _EVENNESS_WORDS if du_lq >= least), None)
    share = f"(driest quarter: {percent(du_lq)})"
    if words is None:
        return f"Water falls very unevenly {share}, so repair comes before more minutes."
    return f"Water falls {words} {share}."


def _worst_zone_clause(zones: Sequence[ZoneSummary], month: int) -> str:
    ratios = {zone: ratio for zone in zones if (ratio := zone.supply_ratio) is not None}
    if not ratios:
        return "How well the present program meets the need is not known"
    off = [z for z, ratio in ratios.items() if is_overwatered(ratio) or is_underwatered(ratio)]
    if not off:
        return f"No zone gets far from what it needs in {month_name(month)}"
    worst = max(off, key=_litres_amiss)
    place = f"{_short(worst.name)} (zone {worst.number})"
    return f"{place} gets {ratio_words(ratios[worst])} it needs in {month_name(month)}"


def _litres_amiss(zone: ZoneSummary) -> float:
    """Weigh a zone by its water; one of unknown area weighs as a single square metre."""
    found_mm, needed_mm = zone.found_weekly_mm or 0.0, (zone.needed_weekly_mm or 0.0) * zone.margin
    return abs(found_mm - needed_mm) * (zone.area_m2 or 1.0)


def _short(name: str) -> str:
    return name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1].rstrip() + "…"


def _water_sentence(zones: Sequence[ZoneSummary], season: Sequence[ZoneSeason], month: int) -> str:
    if not season:
        return "What to set instead is still to be worked out."
    planned_mm = {entry.zone: entry.months[month - 1].weekly_mm for entry in season}
    known = [z for z in zones if z.found_weekly_mm is not None and z.number in planned_mm]
    known = [zone for zone in known if zone.area_m2 is not None]
    found_l = sum((zone.found_weekly_mm or 0.0) * (zone.area_m2 or 0.0) for zone in known)
    planned_l = sum(planned_mm[zone.number] * (zone.area_m2 or 0.0) for zone in known)
    if not found_l:
        return "The season table says what to set, month by month."
    subject = f"Set by the season table, {_takers(len(known), len(zones))} about"
    return f"{subject} {_change_words(planned_l / found_l - 1)} in {month_name(month)}."


def _takers(known: int, all_zones: int) -> str:
    if known == all_zones:
        return "the system takes"
    if known == 1:
        return "the one zone with a known program takes"
    return "the zones with a known program take"


def _change_words(change: float) -> str:
    if abs(change) < _SAME_WATER:
        return "as much water as now"
    fives = round(abs(change) / _SAME_WATER) * _SAME_WATER
    return f"{percent(fives)} {'more' if change > 0 else 'less'} water"
