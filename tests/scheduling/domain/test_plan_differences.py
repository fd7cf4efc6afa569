"""What a revision of a plan changes, and why: arithmetic of constructed cases."""

from __future__ import annotations

import pytest

from scheduling.domain.plan_differences import KeptPlan, plan_difference

ZONE = {
    "rate_mm_h": 40.0, "du_lq": 0.7, "cups": 16, "pooled": False, "estimated": False,
    "mended_on": None, "head_kind": "spray", "assumed_du_lq": 0.41, "soil_texture": "loam",
    "slope_percent": 0.0, "root_depths_mm": None, "life": {"planting_date": None},
    "min_days_between": 1, "max_days_between": None, "site_factor": 1.0, "plant_type": "warm_turf",
}  # fmt: skip
LIMITS = {
    "allowed_weekdays": None, "minute_step": 1.0, "longest_run_min": 240.0, "max_cycles": 4,
    "daily_minutes_cap": None, "daily_depth_cap_mm": None, "max_multiplier": 1.56,
}  # fmt: skip
MONTH = {
    "minutes": 24.0, "days_between": 3, "weekdays": None, "waterings_per_day": 1, "cycles": 2,
    "cycle_min": 12.0, "soak_min": 30.0, "weekly_gross_mm": 30.0,
}  # fmt: skip
DRY = {
    "minutes": 0.0, "days_between": None, "weekdays": None, "waterings_per_day": 0, "cycles": 0,
    "cycle_min": 0.0, "soak_min": 0.0, "weekly_gross_mm": 0.0,
}  # fmt: skip


def kept(july=None, *, test="one", station="field", zone=None, limits=None, et0=5.0):
    months = [{"month": number, **MONTH} for number in range(1, 13)]
    months[6] |= july or {}
    inputs = {
        "zone": ZONE | (zone or {}),
        "climate": {"et0_mm_day": [et0] * 12},
        "limits": [LIMITS | (limits or {})] * 12,
    }
    return KeptPlan(test, station, inputs, tuple(months))


def causes(before, after):
    return [cause.code for cause in plan_difference(before, after).causes]


@pytest.mark.parametrize(
    ("july", "words"),
    [
        ({"cycle_min": 15.0, "minutes": 30.0},
         "30 minutes instead of 24 minutes; 2 cycles of 15 minutes with a soak of 30 minutes "
         "instead of 2 cycles of 12 minutes with a soak of 30 minutes"),
        ({"days_between": 1}, "every day instead of every 3 days"),
        ({"days_between": 4, "weekdays": [0, 3]}, "on Monday and Thursday instead of every 3 days"),
        ({"days_between": 14, "weekdays": [2]},
         "on Wednesday of every 2 weeks instead of every 3 days"),
        ({"waterings_per_day": 2}, "2 times a day instead of once a day"),
        ({"cycles": 1, "cycle_min": 24.0, "soak_min": 0.0},
         "one go instead of 2 cycles of 12 minutes with a soak of 30 minutes"),
        (DRY, "not watered any more"),
    ],
)  # fmt: skip
def test_a_month_is_told_in_a_sentence(july, words):
    (month,) = plan_difference(kept(), kept(july)).months

    assert (month.month, month.sentence) == (7, f"July: {words}.")


def test_a_month_that_begins_to_be_watered_is_told_whole():
    (month,) = plan_difference(kept(DRY), kept()).months

    assert month.sentence == (
        "July: watered now, 24 minutes every 3 days, in 2 cycles of 12 minutes with a soak of "
        "30 minutes."
    )


def test_the_numbers_are_those_that_changed_with_what_they_come_to():
    after = kept({"days_between": 2, "weekly_gross_mm": 45.0})

    (month,) = plan_difference(kept(), after).months

    numbers = {change.name: (change.before, change.after, change.of) for change in month.changes}
    assert numbers == {"days_between": (3, 2, ""), "weekly_gross_mm": (30.0, 45.0, "depth")}


def test_a_week_alone_is_no_difference():
    assert plan_difference(kept(), kept({"weekly_gross_mm": 30.1})).months == ()


@pytest.mark.parametrize(
    ("before", "after", "codes"),
    [
        ({}, {"test": "two", "zone": {"rate_mm_h": 20.0}}, ["test"]),
        ({"test": None, "zone": {"estimated": True}}, {}, ["test"]),
        ({}, {"zone": {"rate_mm_h": 20.0}}, ["rate"]),
        ({}, {"zone": {"mended_on": "2026-06-01"}}, ["repair"]),
        ({"zone": {"mended_on": "2026-06-01"}}, {"test": "two"}, ["test"]),
        ({}, {"zone": {"soil_texture": "clay", "slope_percent": 5.0}}, ["soil"]),
        ({}, {"zone": {"life": {"planting_date": "2026-05-01"}}}, ["plants"]),
        ({}, {"zone": {"max_days_between": 5}}, ["interval"]),
        ({}, {"zone": {"head_kind": "rotor"}}, ["heads"]),
        ({}, {"zone": {"site_factor": 0.7}}, ["site"]),
        ({}, {"station": "hill", "et0": 4.0}, ["station"]),
        ({}, {"et0": 4.0}, ["weather"]),
        ({}, {"limits": {"allowed_weekdays": [2, 5]}}, ["rule"]),
        ({}, {"limits": {"daily_minutes_cap": 60.0, "minute_step": 5.0}}, ["rule", "controller"]),
        ({}, {"limits": {"max_multiplier": 1.3}}, ["multiplier-cap"]),
        ({}, {}, ["unknown"]),
        ({"zone": {"life": {"planting_date": "2026-05-01"}}},
         {"zone": {"life": {"planting_date": "2026-05-01"}}}, ["growth"]),
    ],
)  # fmt: skip
def test_the_inputs_that_changed_are_named(before, after, codes):
    assert causes(kept(**before), kept(**after)) == codes


def test_a_test_in_the_place_of_an_estimate_says_so_with_both_rates():
    before = kept(test=None, zone={"estimated": True, "rate_mm_h": 30.0})

    (cause,) = plan_difference(before, kept()).causes

    assert cause.sentence == "A catch test takes the place of the estimate."
    assert [(each.name, each.before, each.after, each.of) for each in cause.changes] == [
        ("rate_mm_h", 30.0, 40.0, "rate"), ("estimated", True, False, ""),
    ]  # fmt: skip


def test_a_test_that_was_voided_leaves_an_estimate():
    (cause,) = plan_difference(kept(), kept(test=None)).causes

    assert cause.sentence == "No catch test rules any more: the rate is an estimate."


def test_a_rule_of_one_month_names_the_month():
    after = kept()
    limits = [LIMITS] * 7 + [LIMITS | {"allowed_weekdays": [2]}] + [LIMITS] * 4
    after = KeptPlan(after.test, after.station, {**after.inputs, "limits": limits}, after.months)

    (cause,) = plan_difference(kept(), after).causes

    (change,) = cause.changes
    assert (change.month, change.before, change.after) == (8, None, [2])


def test_a_plan_from_before_rules_were_kept_says_so():
    old = kept()
    bare = {name: value for name, value in old.inputs.items() if name != "limits"}
    before = KeptPlan(old.test, old.station, bare, old.months)

    assert causes(before, kept(zone={"slope_percent": 4.0})) == ["soil", "rules-not-kept"]
