"""Print what the judge says: `python -m tests.scheduling.judge.report`."""

from __future__ import annotations

import numpy as np

from scheduling.domain.refill import USED_UP, RefillRule
from tests.scheduling.judge.reference_zones import ZONES
from tests.scheduling.judge.trial import (
    HELD_OUT,
    SITES,
    Setting,
    Window,
    drift,
    run_trial,
    share,
)

SETTINGS = {
    "as it is": Setting(),
    "calibration never renewed": Setting(refitted=False),
    "without calibration": Setting(calibrated=False),
    "half of the store is used": Setting(rule=RefillRule(portion=0.5)),
    "rule of the running plan": Setting(rule=USED_UP),
    "with forecast": Setting(forecast=True),
    "all rain counts": Setting(rain_share=1.0),
    "rain first": Setting(rain_first=True),
    "rain first, forecast": Setting(rain_first=True, forecast=True),
    "rain first, morning reading": Setting(rain_first=True, morning_reading=True),
    "mutant: multiplier for 1/e": Setting(by_multiplier=True),
    "mutant: ET0 +15 %": Setting(et0_factor=1.15),
    "mutant: ET0 -15 %": Setting(et0_factor=0.85),
    "mutant: rain ignored": Setting(ignores_rain=True),
}


def main() -> None:
    """Print shares for each site and setting; zones and failures for the rule as it is."""
    print("limits: adequacy >= 80 % in each zone; excess <= 10 % in each and <= 5 % in their mean")
    for site in SITES + HELD_OUT:
        for name, setting in SETTINGS.items():
            windows = run_trial(site, setting)
            _print_shares(site, name, windows)
            if setting == Setting():
                _print_zones(windows)
                _print_failures(site, setting, windows)


def _print_shares(site: str, name: str, windows: list[Window]) -> None:
    print(
        f"{site:10} {name:28} {len(windows):3} windows: adequate "
        f"{share(windows, 'is_adequate'):6.1%}, excess kept {share(windows, 'is_frugal'):6.1%}, "
        f"inside {share(windows, 'is_inside'):6.1%}"
    )


def _print_zones(windows: list[Window]) -> None:
    for at, zone in enumerate(ZONES):
        adequacies = [window.verdicts[at].adequacy for window in windows]
        excesses = [window.verdicts[at].excess or 0.0 for window in windows]
        print(
            f"    {zone.name:10} adequacy mean {np.mean(adequacies):6.1%}"
            f" least {min(adequacies):6.1%};"
            f" excess mean {np.mean(excesses):5.1%} most {max(excesses):5.1%}"
        )


def _print_failures(site: str, setting: Setting, windows: list[Window]) -> None:
    for window in windows:
        if window.is_inside:
            continue
        known = drift(site, setting, window)
        print(
            f"    outside: {window.starts_on}, least adequacy {window.least_adequacy:.0%}, most "
            f"excess {max(window.excesses, default=0.0):.0%}; over 90 days the plan saw "
            f"{known.et0:.0%} of the judge's ET0 and {known.rain:.0%} of its rain"
        )


if __name__ == "__main__":
    main()
