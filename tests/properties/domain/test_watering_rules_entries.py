"""A rule as it was entered: what it becomes, and what is refused at which field."""

from __future__ import annotations

import pytest

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules import PlantingRelief, TreatmentRelief
from properties.domain.watering_rules_entries import RuleEntry, rule_of
from properties.domain.watering_rules_hours import WHOLE_DAY, hours_of
from properties.domain.watering_rules_words import Regime, regime_sentence


def test_an_empty_entry_limits_nothing():
    rule = rule_of(RuleEntry(name="x"))

    assert (rule.weekdays, rule.hours, rule.is_ban) == (set(range(7)), WHOLE_DAY, False)
    assert (rule.minutes_cap, rule.depth_cap_mm, rule.planting, rule.treatment) == (None,) * 4
    assert not rule.audience.names_numbers()


def test_reliefs_and_hours_come_as_they_were_entered():
    rule = rule_of(
        RuleEntry(
            name="x", hours=["00:00-12:00"], closed_hours=["10:00-16:00"], weekdays=[6, 0],
            planting_any_days=30, treatment_depth_mm=6.35, treatment_within_h=24,
        )
    )  # fmt: skip

    assert rule.hours == hours_of(["00:00-10:00"], field="hours")
    assert rule.weekdays == {0, 6}
    assert rule.planting == PlantingRelief(30, 0, False)
    assert rule.treatment == TreatmentRelief(6.35, 24)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"weekdays": []}, "weekdays"), ({"weekdays": [7]}, "weekdays"),
        ({"weekdays": [-1]}, "weekdays"), ({"weekdays": ["wednesday"]}, "weekdays"),
        ({"weekdays": [True]}, "weekdays"), ({"weekdays": "2"}, "weekdays"),
        ({"hours": []}, "hours"), ({"hours": ["25:00-26:00"]}, "hours"), ({"hours": 5}, "hours"),
        ({"closed_hours": ["00:00-24:00"]}, "closed_hours"),
        ({"hours": ["10:00-12:00"], "closed_hours": ["09:00-13:00"]}, "closed_hours"),
        ({"is_ban": True, "weekdays": [1]}, "is_ban"),
        ({"is_ban": True, "hours": ["01:00-02:00"]}, "is_ban"),
        ({"minutes_cap": 0}, "minutes_cap"), ({"minutes_cap": float("nan")}, "minutes_cap"),
        ({"depth_cap_mm": 201}, "depth_cap_mm"), ({"clock": "winter"}, "clock"),
        ({"addresses": "blue"}, "addresses"), ({"exempt_methods": ["fog"]}, "exempt_methods"),
        ({"only_waters": "sea"}, "only_waters"), ({"property_classes": [3]}, "property_classes"),
        ({"last_digits": "1"}, "last_digits"), ({"test_runs": "maybe"}, "test_runs"),
        ({"test_run_cap_min": 10}, "test_run_cap_min"),
        ({"planting_alternate_days": 30}, "planting_any_days"),
        ({"planting_frees_hours": True}, "planting_any_days"),
        ({"planting_any_days": 731}, "planting_any_days"),
        ({"planting_any_days": 1, "planting_alternate_days": -1}, "planting_alternate_days"),
        ({"treatment_depth_mm": 6}, "treatment_within_h"),
        ({"treatment_within_h": 24}, "treatment_depth_mm"),
        ({"treatment_within_h": 169, "treatment_depth_mm": 6}, "treatment_within_h"),
    ],
)  # fmt: skip
def test_what_no_rule_can_be_is_refused_at_its_field_with_a_remedy(wrong, field):
    with pytest.raises(InvalidInputError) as refused:
        rule_of(RuleEntry(name="x", **wrong))

    assert (refused.value.field, bool(refused.value.remedy)) == (field, True)


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        (["00:00-10:30"], "before 10:30 in the morning"),
        (["13:00-24:00"], "after 1 in the afternoon"),
        (["00:30-12:00"], "from 12:30 at night to noon"),
        (["17:00-18:00"], "from 5 in the afternoon to 6 in the evening"),
        (["22:00-02:00"], "from 10 in the evening to 2 at night of the next day"),
    ],
)
def test_hours_are_told_as_people_say_them(hours, words):
    regime = Regime(hours=hours_of(hours, field="hours"))

    assert regime_sentence(regime, "us") == f"Any day, {words}."


def test_caps_are_told_in_the_units_of_the_reader():
    regime = Regime(minutes_cap=90, depth_cap_mm=19.05)

    assert regime_sentence(regime, "us").endswith("at most 90 minutes and 0.75 in a zone.")
    assert regime_sentence(regime, "metric").endswith("at most 90 minutes and 19.1 mm a zone.")
    assert regime_sentence(Regime(minutes_cap=120), "us").endswith("at most 2 hours a zone.")
