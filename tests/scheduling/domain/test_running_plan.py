"""The running plan of one zone, day by day."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind, PlantType
from scheduling.domain.program_waterings import DatedWaterings
from scheduling.domain.running_watering import Put, parts_of_day, pass_day
from scheduling.domain.treatment_days import Asked, TreatmentDays
from scheduling.domain.year_spans import PlantLife, YearSpan
from scheduling.domain.zone_facts import WateringLimits
from tests.scheduling.domain.running import (
    DAYS,
    MONDAY,
    day_codes,
    make_ahead,
    make_past,
    on_days,
    plan,
    watered,
)


def day_of(place):
    return MONDAY + dt.timedelta(days=place)


def test_the_roots_are_used_up_and_filled_again_every_third_day():
    # Arithmetic: 15 mm readily available, 10 of them left this morning, 5 mm a day.
    found = plan()

    assert watered(found)[:2] == [2, 5]
    first = found.days[2]
    assert (first.stored_before_mm, first.limit_mm, first.capacity_mm) == (15.0, 15.0, 30.0)
    # 15 mm at 12.7 mm/h are 70.87 min, and 71 are more than the roots take.
    assert (first.minutes, first.cycles, first.net_mm) == (70.0, 1, pytest.approx(70 * 12.7 / 60))
    assert first.stored_after_mm == pytest.approx(15.0 + first.net_mm - 5.0)
    assert (day_codes(found)[1], day_codes(found)[2]) == ("enough", "due")


def test_gross_is_what_is_put_down_and_net_what_enters_the_roots():
    found = plan(du_lq=0.6, area_m2=100.0)

    day = found.days[watered(found)[0]]
    assert day.net_mm == pytest.approx(day.gross_mm * 0.76)  # 0.4 + 0.6 x 0.6
    assert day.stored_after_mm == pytest.approx(day.stored_before_mm + day.net_mm - day.need_mm)
    assert day.litres == pytest.approx(day.gross_mm * 100.0)
    assert found.litres == pytest.approx(found.gross_mm * 100.0)


def test_a_dry_past_waters_today_and_a_soaking_rain_yesterday_waits():
    zeros = np.zeros(60)
    rain = zeros.copy()
    rain[-1] = 80.0
    dry = make_past(waterings=DatedWaterings(zeros, zeros, zeros))
    soaked = make_past(waterings=DatedWaterings(zeros, zeros, zeros), rain_mm=rain)

    thirsty, full = plan(past=dry), plan(past=soaked)

    assert (watered(thirsty)[0], watered(full)[0]) == (0, 2)
    assert full.start.reset_on == MONDAY - dt.timedelta(days=1)
    assert (full.start.days, full.start.assumed_waterings) == (0, 0)
    assert (thirsty.start.reset_on, thirsty.start.days) == (None, 60)


def test_what_is_assumed_and_what_nobody_has_is_counted_since_the_reset():
    rain = np.zeros(60)
    rain[50] = 100.0
    usual = np.zeros(60, dtype=bool)
    usual[[10, 55]] = True

    start = plan(past=make_past(rain_mm=rain, is_usual=usual)).start

    assert (start.days, start.days_usual, start.assumed_waterings) == (9, 1, 9)
    assert start.is_assumed


def test_a_likely_rain_postpones_within_the_readily_available_water_and_never_fills():
    ahead = make_ahead(rain_mm=on_days({3: 20.0}))
    room = plan(ahead=ahead, allowed_depletion=0.5, min_days_between=1, max_days_between=1)

    # With a longest time of one day it would run today; the rain of day 3 lies beyond the roots.
    assert watered(room)[0] == 0
    soon = plan(
        ahead=make_ahead(rain_mm=on_days({1: 20.0})), max_days_between=1, min_days_between=1
    )
    assert day_codes(soon)[:2] == ["rain-ahead", "rain-ahead"]
    assert soon.days[1].stored_after_mm == soon.days[1].stored_before_mm - 5.0
    assert watered(soon)[0] == 2  # until it has fallen nobody counts on it
    assert soon.days[1].forecast_rain_mm == 20.0


def test_roots_that_do_not_hold_out_get_only_what_they_lack_before_a_rain():
    zeros = np.zeros(60)
    dry = make_past(waterings=DatedWaterings(zeros, zeros, zeros))

    found = plan(past=dry, ahead=make_ahead(rain_mm=on_days({0: 30.0})))

    assert day_codes(found)[0] == "lack"
    assert found.days[0].net_mm < 15.0
    assert day_codes(plan(past=dry))[0] == "due"


def test_nobody_waits_for_an_unlikely_rain():
    chance = on_days({1: 40.0, 2: 40.0})
    rain = on_days({1: 20.0, 2: 20.0})

    unlikely = plan(ahead=make_ahead(rain_mm=rain, rain_probability_percent=chance))
    likely = plan(ahead=make_ahead(rain_mm=rain, rain_probability_percent=chance + 20.0))

    assert (unlikely.days[2].is_watered, likely.days[2].gross_mm) == (True, pytest.approx(5, abs=1))


def test_only_allowed_weekdays_are_watered_for_their_own_gap():
    # Monday is 0: Wednesday and Saturday are the days 2, 5, 9 and 12; 3 mm a day.
    limits = WateringLimits(allowed_weekdays=frozenset({2, 5}))

    found = plan(limits, past=make_past(et0_mm=3.0), ahead=make_ahead(3.0))

    assert watered(found) == [2, 5, 9, 12]
    assert {day.date.weekday() for day in found.days if day.is_watered} <= {2, 5}
    wednesday, saturday = found.days[9], found.days[12]
    assert wednesday.net_mm == pytest.approx(12.0, abs=0.4)  # four days since Saturday
    assert saturday.net_mm == pytest.approx(9.0, abs=0.4)
    forbidden = plan(WateringLimits(allowed_weekdays=frozenset({5})))
    assert day_codes(forbidden)[2] == "forbidden-day"
    assert watered(forbidden) == [5, 12]


def test_frost_stops_sprinklers_and_not_drip():
    # Common practice: a forecast minimum at or below 3 degC.
    cold = make_ahead(tmin_c=on_days({2: 3.0}, 15.0))

    sprays, drip = plan(ahead=cold), plan(ahead=cold, head_kind=HeadKind.DRIP)

    assert day_codes(sprays)[2] == "frost"
    assert 2 not in watered(sprays)
    assert 1 in watered(sprays)  # it waters ahead of the night
    assert 2 in watered(drip)
    assert day_codes(plan(ahead=make_ahead(tmin_c=on_days({2: 3.1}, 15.0))))[2] == "due"


def test_a_month_of_freezing_nights_is_shut_for_all():
    shut = make_ahead(is_shut=np.ones(DAYS, dtype=bool))

    assert set(day_codes(plan(ahead=shut, head_kind=HeadKind.DRIP))) == {"winter"}


def test_treatments_hold_the_water_and_water_in_with_no_more_than_allowed():
    hold = TreatmentDays(asked=Asked.HOLD, first=day_of(2), last=day_of(3), label="Label binds.")
    wet = TreatmentDays(
        asked=Asked.WATER_IN, first=day_of(5), last=day_of(6), label="", at_most_mm=6.0
    )

    found = plan(treatments=[hold, wet])

    assert day_codes(found)[2:4] == ["hold", "hold"]
    assert found.days[2].labels == ("Label binds.",)
    assert day_codes(found)[5:7] == ["water-in", "watered-in"]
    assert 5.0 < found.days[5].gross_mm <= 6.0
    assert found.days[1].is_watered  # before the water is held


def test_a_treatment_that_no_allowed_day_can_water_in_is_said():
    wet = TreatmentDays(asked=Asked.WATER_IN, first=day_of(1), last=day_of(1), at_most_mm=6.0)

    found = plan(WateringLimits(allowed_weekdays=frozenset({0})), treatments=[wet])

    assert day_codes(found)[1] == "no-water-in"
    assert 1 not in watered(found)


def test_shallow_roots_are_watered_several_times_a_day():
    # Arithmetic: 40 mm of roots hold 3 mm, the day takes 7.
    found = plan(root_depths_mm=(40.0,) * 12, past=make_past(et0_mm=7.0), ahead=make_ahead(7.0))

    later = found.days[5]
    assert later.waterings == 3
    assert later.net_mm == pytest.approx(7.0, abs=0.4)
    assert later.net_mm / later.waterings <= 3.0
    assert sum(day.deficit_mm for day in found.days[1:]) < 7.0


def test_a_new_planting_is_watered_more_often_than_grown_turf():
    young = PlantLife(planting_date=MONDAY - dt.timedelta(days=5))

    grown, planted = plan(), plan(life=young)

    assert len(watered(planted)) > len(watered(grown))
    assert planted.days[0].capacity_mm < planted.days[13].capacity_mm < 30.0
    assert planted.days[0].stage == "establishing"


def test_turf_at_rest_gets_no_more_than_a_survival_watering():
    resting = PlantLife(dormant=YearSpan("05-01", "09-30"))

    found = plan(life=resting, plant_type=PlantType.WARM_TURF)

    # Common practice: 12 mm every four weeks.
    assert found.net_mm <= 12.0 + 0.1
    assert found.days[0].need_mm == pytest.approx(12 / 28)


def test_a_single_step_that_is_too_much_is_said():
    found = plan(WateringLimits(minute_step=60.0), rate_mm_h=18.0)

    assert "step" in day_codes(found)
    assert not watered(found)


def test_days_of_another_length_are_refused():
    with pytest.raises(InvalidInputError) as refusal:
        make_ahead(rain_mm=np.zeros(3))

    assert refusal.value.field == "rain_mm"


@pytest.mark.parametrize(
    ("stored_mm", "parts"),
    [
        # Arithmetic: 3 x 6 mm net into roots of 10 mm; need 18. With 8 stored there is room for 6
        # once 4 are used; the remaining 14 are met in three parts.
        (8.0, [(4.0, 0.0), *[(14 / 3, 7.5)] * 3]),
        (0.5, [(0.0, 0.0), *[(6.0, 7.5)] * 3]),
    ],
)
def test_the_first_of_several_waterings_waits_only_until_there_is_room(stored_mm, parts):
    morning = SimpleNamespace(need_mm=18.0, raw_mm=10.0, reserve_mm=0.0)
    put = Put(3, None, 6.0, 7.5, "wanted", ())

    assert parts_of_day(morning, stored_mm, put) == [pytest.approx(part) for part in parts]


def test_nearly_empty_roots_lack_nothing_when_each_watering_covers_its_part():
    morning = SimpleNamespace(need_mm=18.0, raw_mm=10.0, reserve_mm=0.0)
    margin = SimpleNamespace(multiplier=1.25)
    put = Put(3, None, 6.0, 7.5, "wanted", ())

    stored_mm, deficit_mm = pass_day(morning, 0.5, put, margin)

    assert (stored_mm, deficit_mm) == (pytest.approx(0.5), pytest.approx(0.0, abs=1e-9))
