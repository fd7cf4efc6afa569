"""Print ideal, fitted and found programs: `python -m tests.scheduling.judge.programs_report`.

Each pair is adequacy / excess in per cent over the season's days of five years; m3 is the water of
a mean year. Under each rule stands what it costs against no rule, and what the fit says of that.
"""

from __future__ import annotations

from tests.scheduling.judge.programs_site import RULES, Trial, trial_at
from tests.scheduling.judge.programs_trial import WAYS, Outcome
from tests.scheduling.judge.reference_zones import ZONES
from tests.scheduling.judge.trial import HELD_OUT, SITES

WORTH_SAYING = 0.01


def main() -> None:
    """Print the table of every site."""
    for site in SITES + HELD_OUT:
        trial = trial_at(site)
        first, last = trial.days.dates[0].year, trial.days.dates[-1].year
        months = sum(low > 0.0 for low in trial.climate.tmin_c)
        print(f"\n{site}, {first} to {last}, {months} months a year: adequacy / excess in per cent")
        names = " ".join(f"{zone.name:>10}" for zone in ZONES)
        print(f"  {'':19} {names}   {'mean':>7}       m3")
        _print_rules(trial)


def _print_rules(trial: Trial) -> None:
    free: dict[str, Outcome] = {}
    for rule in RULES:
        print(f" {rule}")
        outcomes = {way: watered(trial, rule) for way, watered in WAYS.items()}
        for way, outcome in outcomes.items():
            print(f"  {way:19} {_scores(outcome)} {outcome.m3_a_year:8.0f}")
        for way in ("ideal", "fitted, each month") if free else ():
            print(f"    the rule costs {way}: {loss_text(free[way], outcomes[way])}")
        print(f"    unmet in the peak month: {unmet_text(outcomes['fitted, each month'])}")
        free = free or outcomes


def _scores(outcome: Outcome) -> str:
    pairs = [(each.adequacy, each.excess or 0.0) for each in outcome.verdicts]
    zones = " ".join(f"{_pair(*pair):>10}" for pair in pairs)
    return f"{zones}   {_pair(outcome.mean('adequacy'), outcome.mean('excess')):>7}"


def _pair(adequacy: float, excess: float) -> str:
    return f"{100 * adequacy:3.0f} /{100 * excess:3.0f}"


def loss_text(free: Outcome, ruled: Outcome) -> str:
    """Return what a rule costs: adequacy in points by zone, and water over a year."""
    pairs = zip(ZONES, free.verdicts, ruled.verdicts, strict=True)
    lost = [(zone.name, before.adequacy - after.adequacy) for zone, before, after in pairs]
    words = [f"{name} {100 * points:.0f}" for name, points in lost if points >= WORTH_SAYING]
    water = ruled.m3_a_year - free.m3_a_year
    return f"points of adequacy: {', '.join(words) or 'none'}; water {water:+.0f} m3 a year"


def unmet_text(outcome: Outcome) -> str:
    """Return which zones the fit names, and for what."""
    return "; ".join(f"{each.zone_id}: {each.code}" for each in outcome.unmet) or "nothing"


if __name__ == "__main__":
    main()
