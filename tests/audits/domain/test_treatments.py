"""Watering in and holding off, and what binds."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.treatments import (
    QUARTER_INCH_WITHIN_A_DAY,
    HoldWater,
    TreatmentEffect,
    WaterIn,
    check_water_in,
    conflicts,
    treatment_effect,
    water_in_limit_mm,
)
from properties.domain.errors import InvalidInputError, RefusedError

NOON = datetime(2026, 5, 6, 12, tzinfo=UTC)
DAY = timedelta(days=1)


def make(kind, start=NOON, length=DAY, **facts):
    return kind(applied_at=start, until=start + length, label="granular feed, section 3", **facts)


@pytest.mark.parametrize(
    ("kind", "effect"), [(WaterIn, TreatmentEffect.WATER_IN), (HoldWater, TreatmentEffect.HOLD)]
)
def test_a_treatment_works_from_its_application_until_its_end(kind, effect):
    treatment = make(kind)
    moment = timedelta(microseconds=1)

    assert treatment_effect([treatment], NOON - moment) is TreatmentEffect.NONE
    assert treatment_effect([treatment], NOON) is effect
    assert treatment_effect([treatment], NOON + DAY - moment) is effect
    assert treatment_effect([treatment], NOON + DAY) is TreatmentEffect.NONE


def test_without_treatments_there_is_no_effect():
    assert treatment_effect([], NOON) is TreatmentEffect.NONE
    assert water_in_limit_mm([], NOON) is None


def test_holding_wins_over_watering_in_and_the_pair_is_named():
    wet, dry = make(WaterIn), make(HoldWater, NOON + DAY / 2)

    for both in ([wet, dry], [dry, wet]):
        assert treatment_effect(both, NOON + DAY * 0.75) is TreatmentEffect.HOLD
        assert water_in_limit_mm(both, NOON + DAY * 0.75) is None
        assert conflicts(both) == ((wet, dry),)
    assert treatment_effect([wet, dry], NOON) is TreatmentEffect.WATER_IN


def test_windows_that_only_touch_do_not_conflict():
    assert conflicts([make(WaterIn), make(HoldWater, NOON + DAY)]) == ()
    assert conflicts([make(HoldWater), make(WaterIn, NOON + DAY)]) == ()


def test_the_least_depth_of_two_is_watered_in():
    both = [make(WaterIn), make(WaterIn, at_most_mm=3.0)]

    assert water_in_limit_mm(both, NOON) == 3.0
    assert water_in_limit_mm(both, NOON + DAY) is None


def test_a_quarter_inch_is_watered_in_unless_said_otherwise():
    assert make(WaterIn).at_most_mm == pytest.approx(25.4 / 4)


def test_the_local_rule_caps_depth_and_hours():
    # PLAN-11: Town of Howey-in-the-Hills: at most 1/4 in, within 24 h of the application.
    rule = QUARTER_INCH_WITHIN_A_DAY
    assert (rule.at_most_mm, rule.within_h) == (pytest.approx(6.35), 24)
    assert check_water_in(make(WaterIn), rule) is None

    for treatment, code in (
        (make(WaterIn, at_most_mm=6.36), "water-in-too-deep"),
        (make(WaterIn, length=DAY + timedelta(seconds=1)), "water-in-too-late"),
    ):
        with pytest.raises(RefusedError, match="Howey") as refusal:
            check_water_in(treatment, rule)
        assert refusal.value.code == code


def test_the_label_is_named_as_what_binds():
    assert "granular feed, section 3" in make(HoldWater).binding_text
    assert "binds over this" in make(WaterIn).binding_text


@pytest.mark.parametrize("kind", [WaterIn, HoldWater])
@pytest.mark.parametrize(
    ("facts", "field", "code"),
    [
        ({"until": NOON}, "until", "window-not-positive"),
        ({"until": NOON - DAY}, "until", "window-not-positive"),
        ({"label": " "}, "label", "missing"),
        ({"until": NOON.replace(tzinfo=None)}, "until", "moment-without-zone"),
        ({"applied_at": NOON.replace(tzinfo=None)}, "applied_at", "moment-without-zone"),
    ],
)
def test_refuses_a_window_or_label_that_is_none(kind, facts, field, code):
    with pytest.raises(InvalidInputError) as refusal:
        kind(**({"applied_at": NOON, "until": NOON + DAY, "label": "label"} | facts))

    assert (refusal.value.field, refusal.value.code) == (field, code)


@pytest.mark.parametrize("depth_mm", [0, -1, 51, math.nan, math.inf])
def test_refuses_a_depth_that_nobody_waters_in(depth_mm):
    with pytest.raises(InvalidInputError):
        make(WaterIn, at_most_mm=depth_mm)


def test_refuses_to_ask_at_a_moment_without_zone():
    with pytest.raises(InvalidInputError):
        treatment_effect([make(WaterIn)], NOON.replace(tzinfo=None))


def test_a_moment_is_the_same_in_every_zone():
    evening_before = (NOON + DAY).astimezone(timezone(timedelta(hours=-6)))

    assert treatment_effect([make(HoldWater)], evening_before) is TreatmentEffect.NONE


hours = st.integers(0, 72)
windows = st.lists(st.tuples(st.sampled_from([WaterIn, HoldWater]), hours, st.integers(1, 48)))


@given(windows, hours)
def test_the_effect_is_that_of_the_treatments_that_cover_the_hour(treatments, hour):
    made = [
        make(kind, NOON + timedelta(hours=start), timedelta(hours=length))
        for kind, start, length in treatments
    ]
    # Second route: sets of whole hours.
    covering = {kind for kind, start, length in treatments if hour in range(start, start + length)}

    effect = treatment_effect(made, NOON + timedelta(hours=hour))

    assert (effect is TreatmentEffect.HOLD) == (HoldWater in covering)
    assert (effect is TreatmentEffect.WATER_IN) == (covering == {WaterIn})
    if covering == {WaterIn, HoldWater}:
        assert conflicts(made)
