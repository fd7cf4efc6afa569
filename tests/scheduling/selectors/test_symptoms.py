"""The water record behind a symptom, cut out of the account of its zone."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.domain.supply import Supply
from scheduling.models import WeatherDay
from scheduling.selectors.symptoms import symptom_with_record
from scheduling.selectors.water_accounts import zone_account
from tests import cast
from tests.audits import field_rows
from tests.scheduling.selectors.test_water_accounts import set_down
from tests.scheduling.weather_rows import YESTERDAY, make_days, make_near_station

pytestmark = pytest.mark.django_db
LONG_AGO = dt.date(2026, 1, 1)
EVERY_DAY = tuple(range(7))


@pytest.fixture
def main(garden):
    station = make_near_station("ZZMAIN")
    make_days(station, count=1500)
    return station


@pytest.fixture
def dry_weather(main):
    WeatherDay.objects.update(rain_mm=0.0)


@pytest.fixture
def tested(visit, zone, main):
    return cast.make_catch_test(visit, zone)


@pytest.fixture
def see(visit, zone, tested):
    def seen(**changes):
        return symptom_with_record(field_rows.make_symptom(visit, zone, **changes))

    return seen


# 10 min a day at 40 mm/h are 6.7 mm, of which 0.85 reach the roots evenly; turf needs under 4.
def test_a_soaked_zone_may_wilt_of_its_water(zone, see, dry_weather):
    set_down(zone, LONG_AGO, 10, EVERY_DAY)

    found = see(kind="drought_stress", spot="everywhere")

    assert (found.record.supply, found.record.was_too_wet) == (Supply.TOO_MUCH, True)
    assert found.record.applied_mm == pytest.approx(28 * 40 / 6 * 0.85)
    assert (found.record.days, found.record.stress_days) == (28, 0)
    assert (found.verdict.explains, found.verdict.confidence) == ("too_much", "medium")
    assert "roots that stand wet" in found.verdict.sentence


def test_a_starved_zone_wilts_of_drought(zone, see, dry_weather):
    set_down(zone, LONG_AGO, 3, (0,))

    found = see(kind="drought_stress", spot="everywhere")

    assert (found.record.supply, found.record.was_too_dry) == (Supply.TOO_LITTLE, True)
    assert found.record.stress_days == 28
    assert found.record.drainage_mm == 0.0
    assert (found.verdict.explains, found.verdict.confidence) == ("too_little", "high")


# Second route: the account itself, asked for the same days from the same beginning.
def test_the_record_is_the_sum_of_the_account_over_the_four_weeks_before(zone, see):
    set_down(zone, LONG_AGO, 6)

    found = see()

    assert (found.first_date, found.last_date) == (dt.date(2026, 5, 13), YESTERDAY)
    account = zone_account(zone, dt.date(2026, 4, 11), YESTERDAY).water.account
    total = {name: getattr(account, name)[-28:].sum() for name in
             ("need_mm", "effective_rain_mm", "surplus_mm", "gross_mm")}  # fmt: skip
    assert found.record.need_mm == pytest.approx(total["need_mm"])
    assert found.record.effective_rain_mm == pytest.approx(total["effective_rain_mm"])
    assert found.record.drainage_mm == pytest.approx(total["surplus_mm"])
    assert found.record.applied_mm == pytest.approx(total["gross_mm"] * 0.85)
    assert total["effective_rain_mm"] > 0


def test_the_day_is_that_of_the_property(zone, see):
    set_down(zone, LONG_AGO, 6)

    # Two in the morning in Greenwich is the evening before in the garden.
    found = see(seen_at=dt.datetime(2026, 6, 10, 2, 0, tzinfo=dt.UTC))

    assert found.last_date == dt.date(2026, 6, 8)


def test_the_setting_of_that_time_speaks_and_not_the_one_of_today(zone, see, dry_weather):
    set_down(zone, LONG_AGO, 3, (0,))
    set_down(zone, dt.date(2026, 6, 1), 30, EVERY_DAY)

    found = see(seen_at=dt.datetime(2026, 5, 30, 15, 0, tzinfo=dt.UTC))

    assert found.record.supply is Supply.TOO_LITTLE
    assert found.found_verdict is Supply.TOO_LITTLE


def test_without_a_setting_there_is_no_record(see):
    found = see()

    assert (found.record, found.unknown.code) == (None, "no-setting")
    assert (found.found_verdict, found.verdict.explains) == (Supply.UNKNOWN, "unknown")


def test_a_zone_on_a_hose_has_no_record(zone, see):
    zone.controller = None
    zone.save()

    assert see().unknown.code == "no-setting"


def test_a_setting_found_within_the_weeks_tells_of_the_program_and_not_of_the_record(zone, see):
    set_down(zone, dt.date(2026, 5, 14), 3, (0,))

    found = see()

    assert (found.record, found.unknown.code) == (None, "setting-began-later")
    assert found.found_verdict is Supply.TOO_LITTLE


def test_a_setting_of_the_first_day_suffices(zone, see):
    set_down(zone, dt.date(2026, 5, 13), 3, (0,))

    assert see().record is not None


def test_without_a_rate_or_weather_there_is_no_record_and_the_refusal_says_why(visit, zone):
    set_down(zone, LONG_AGO, 6)
    symptom = field_rows.make_symptom(visit, zone)

    without_weather = symptom_with_record(symptom)
    make_days(make_near_station("ZZMAIN"), count=1500)
    without_rate = symptom_with_record(symptom)

    assert (without_weather.record, without_weather.unknown.code) == (None, "no-station")
    assert (without_rate.record, without_rate.unknown.code) == (None, "no-rate")


# University of Florida, as in `can_be_scored`: three days may be missing, no three in a row.
@pytest.mark.parametrize(("missing", "is_known"), [((3, 4, 8), True), ((3, 4, 5), False)])
def test_days_that_nobody_has_leave_the_record_unknown(zone, see, missing, is_known):
    set_down(zone, LONG_AGO, 6)
    dates = [YESTERDAY - dt.timedelta(days=age) for age in missing]
    WeatherDay.objects.filter(date__in=dates).delete()

    found = see()

    assert (found.record is not None) is is_known
    assert is_known or found.unknown.code == "weather-missing"


def test_where_the_rain_is_missing_the_water_alone_can_prove_too_much(zone, see):
    set_down(zone, LONG_AGO, 3, (0,))
    WeatherDay.objects.filter(date__gt=YESTERDAY - dt.timedelta(days=9)).update(rain_mm=None)
    dry = see()
    set_down(zone, dt.date(2026, 2, 1), 30, EVERY_DAY)
    wet = see()

    for found in (dry, wet):
        record = found.record
        assert (record.effective_rain_mm, record.drainage_mm, record.stress_days) == (None,) * 3
    assert (dry.record.supply, wet.record.supply) == (Supply.UNKNOWN, Supply.TOO_MUCH)
