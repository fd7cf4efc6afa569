"""How far the minutes are lengthened because the water falls unevenly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from scheduling.domain.reasons import Reason, fact
from scheduling.domain.zone_facts import UniformitySource, WateringLimits, ZoneFacts

ENOUGH_CUPS: Final = 12  # common practice: fewer cups cannot tell the uniformity alone

_BASIS: Final = {  # alone, and leaning on the published uniformity
    UniformitySource.CUPS: ("measured-uniformity", "leaning-uniformity"),
    UniformitySource.EMITTERS: ("emitter-uniformity", "leaning-emitters"),
    UniformitySource.POOLED_CUPS: ("pooled-uniformity", "pooled-uniformity"),
    UniformitySource.PUBLISHED: ("assumed-uniformity", "assumed-uniformity"),
}


@dataclass(frozen=True)
class Margin:
    """The run-time multiplier, whether its uniformity is assumed, and whether to repair first.

    `uncapped` is what the uniformity asks for, whatever the company allows.
    """

    multiplier: float
    uncapped: float
    assumed: bool
    repair_first: bool
    reasons: tuple[Reason, ...]


def run_time_margin(zone: ZoneFacts, rules: WateringLimits) -> Margin:
    """Return the run-time multiplier 1 / (0.4 + 0.6 DU_LQ), capped, and what it stands on.

    The measured uniformity counts alone from twelve separate cups on. Fewer cups lean on the
    published one of the head kind: each cup missing to twelve counts for it. Cups poured together
    tell none, so the published one is taken. Only twelve cups can say that repair comes first. What
    was measured before a repair is the least that the zone now has: minutes that make up for a
    fault that is gone would water too much, so the better of it and the published one counts. The
    cap is compared at the two decimals it is given in, so that a low-quarter
    uniformity of 0.40 (1.5625) is still within 1.56.

    References
    ----------
    Irrigation Association scheduling method (2005 onward), from memory. After a repair: common
    practice, an estimate until the retest.
    """
    weight = _weight_of_measured(zone)
    du_lq = weight * (zone.du_lq or 0.0) + (1.0 - weight) * zone.assumed_du_lq
    is_mended = zone.mended_on is not None and weight > 0.0
    if is_mended:
        du_lq = max(du_lq, zone.assumed_du_lq)
    multiplier = 1 / (0.4 + 0.6 * du_lq)
    is_over = round(multiplier, 2) > rules.max_multiplier
    repair_first = is_over and weight == 1.0 and not is_mended
    basis = _BASIS[zone.uniformity_source][weight < 1.0]
    codes = ["mended-uniformity" if is_mended else basis]
    codes += ["multiplier-capped"] * is_over + ["repair-first"] * repair_first
    return Margin(
        multiplier=min(multiplier, rules.max_multiplier),
        uncapped=multiplier if is_over else min(multiplier, rules.max_multiplier),
        assumed=weight < 1.0 or is_mended,
        repair_first=repair_first,
        reasons=tuple(fact(code) for code in codes),
    )


def _weight_of_measured(zone: ZoneFacts) -> float:
    """Return how much the measured uniformity counts, 0 to 1."""
    if zone.uniformity_source in (UniformitySource.POOLED_CUPS, UniformitySource.PUBLISHED):
        return 0.0
    return min(1.0, (zone.cups or 0) / ENOUGH_CUPS)
