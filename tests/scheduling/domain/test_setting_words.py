from __future__ import annotations

import pytest

from scheduling.domain.setting_words import setting_words

MONTH = {
    "days_between": 2, "weekdays": None, "waterings_per_day": 1, "minutes": 14.0, "cycles": 1,
    "cycle_min": 14.0, "soak_min": 0.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "every 2 days, 14 min"),
        ({"days_between": 1}, "daily, 14 min"),
        ({"weekdays": [5, 1]}, "Tue Sat, 14 min"),
        (
            {"cycles": 2, "cycle_min": 7.0, "soak_min": 48.0},
            "every 2 days, 14 min (2 x 7, 48 min apart)",
        ),
        ({"waterings_per_day": 3}, "every 2 days, 14 min, 3 times a day"),
        ({"minutes": 12.5}, "every 2 days, 12.5 min"),
        ({"days_between": None, "minutes": 0.0}, "off"),
        ({"minutes": 0.0}, "off"),
    ],
)  # fmt: skip
def test_a_setting_reads_as_it_is_typed_in(changes, words):
    assert setting_words({**MONTH, **changes}) == words
