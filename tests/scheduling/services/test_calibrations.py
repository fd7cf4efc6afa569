"""Calibrating a station from its stored days: a real humid, windy coast."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from properties.domain.errors import RefusedError
from properties.models import Event, Job
from scheduling.domain.evapotranspiration import (
    extraterrestrial_radiation,
    hargreaves,
    local_calibration,
)
from scheduling.models import StationCalibration, WeatherDay
from scheduling.services import calibrations
from scheduling.services.calibrations import (
    ask_for_refits,
    calibrate_station,
    calibrate_station_by_id,
    refit_station_by_id,
)
from scheduling.services.et0 import compute_et0
from scheduling.services.weather import import_station_file
from tests import cast
from tests.scheduling.domain.test_evapotranspiration_agreement import in_full
from tests.scheduling.domain.typical_years import greensboro, miami
from tests.scheduling.services.typical_days import FULL, TEMPERATURES, make_station_of, rows_of

LATER = cast.NOW + dt.timedelta(days=1)


@pytest.fixture
def coast(company):
    """A year measured in full, and a year before it of temperatures alone."""
    station = make_station_of(miami())
    full = rows_of(station, miami(), names=(*FULL, "humidity_percent"))
    bare = rows_of(station, miami(), names=TEMPERATURES, first_year=2020)
    rain_only = WeatherDay(station=station, date=dt.date(2022, 1, 1), rain_mm=4.0)
    store([*bare, *full, rain_only])
    return station


def store(days):
    compute_et0(days)
    WeatherDay.objects.bulk_create(days)


def stored_days():
    return list(WeatherDay.objects.order_by("pk").values())


def everything():
    return stored_days(), list(StationCalibration.objects.values()), Event.objects.count()


def in_year(station, year, method):
    return station.days.filter(date__year=year, et0_method=method)


def test_the_fit_is_the_domains_over_the_full_days(coast):
    report = calibrate_station(coast, now=cast.NOW)

    radiation = extraterrestrial_radiation(miami().latitude_deg, miami().day_of_year)
    plain = hargreaves(miami().tmin_c, miami().tmax_c, radiation)
    expected = local_calibration(plain, in_full(miami()))
    stored = StationCalibration.objects.get()
    assert (stored.slope, stored.offset_mm) == pytest.approx((expected.slope, expected.offset_mm))
    assert (stored.days, stored.first_date, stored.last_date) == (
        365, dt.date(2021, 1, 1), dt.date(2021, 12, 31),
    )  # fmt: skip
    assert stored.rmse_after_mm == pytest.approx(expected.rmse_after_mm)
    assert stored.rmse_after_mm < stored.rmse_before_mm
    assert stored.computed_at == cast.NOW
    assert stored.months == list(range(1, 13))
    assert (report.is_new, report.season) == (True, "the whole year")


def test_the_months_that_it_stands_on_are_kept(coast):
    coast.days.filter(date__range=("2021-06-01", "2021-12-31")).update(wind_m_s=None)

    report = calibrate_station(coast, now=cast.NOW)

    assert report.calibration.months == [1, 2, 3, 4, 5]
    assert report.season == "January, February, March, April, May"


def test_days_of_temperatures_alone_come_out_as_the_full_ones_do(coast):
    before = in_year(coast, 2020, "hargreaves")
    too_low = sum(before.values_list("et0_mm", flat=True)) / in_full(miami()).sum()

    report = calibrate_station(coast, now=cast.NOW)

    after = in_year(coast, 2020, "calibrated").values_list("et0_mm", flat=True)
    assert (len(after), report.days_changed) == (365, 365)
    assert too_low < 0.80
    assert sum(after) / in_full(miami()).sum() == pytest.approx(1.0, abs=0.02)


def test_full_days_and_what_was_observed_stay_as_they_were(coast):
    observed = [*FULL, "humidity_percent", "rain_mm", "date", "id"]
    before = list(coast.days.order_by("pk").values_list(*observed))
    full = list(in_year(coast, 2021, "penman_monteith").order_by("pk").values())

    calibrate_station(coast, now=cast.NOW)

    assert list(coast.days.order_by("pk").values_list(*observed)) == before
    assert list(in_year(coast, 2021, "penman_monteith").order_by("pk").values()) == full
    rain_only = coast.days.get(date=dt.date(2022, 1, 1))
    assert (rain_only.et0_mm, rain_only.et0_method) == (None, "")


def test_twice_is_once(coast, django_assert_max_num_queries):
    calibrate_station(coast, now=cast.NOW)
    before = everything()

    with django_assert_max_num_queries(10):
        report = calibrate_station(coast, now=LATER)

    assert everything() == before
    assert (report.is_new, report.days_changed) == (False, 0)
    assert report.calibration.computed_at == cast.NOW


def test_the_event_says_what_became_of_the_line(coast, office):
    calibrate_station(coast, now=cast.NOW, actor=office)
    first = Event.objects.get(subject_id=coast.pk)
    add_windier_days(coast)

    calibrate_station(coast, now=LATER, actor=office)

    assert (first.act, first.actor, first.before) == ("calibrated", office, {})
    assert first.after["slope"] == pytest.approx(0.84, abs=0.01)
    second = Event.objects.filter(subject_id=coast.pk).latest("at")
    assert second.before["slope"] == first.after["slope"] != second.after["slope"]
    assert (second.before["days"], second.after["days"]) == (365, 730)


def add_windier_days(station):
    windier = rows_of(station, miami(), first_year=2022)
    for day in windier:
        day.wind_m_s *= 1.5
    WeatherDay.objects.filter(date__year=2022).delete()
    store(windier)


def test_more_days_change_the_line_and_the_days_by_it(coast):
    calibrate_station(coast, now=cast.NOW)
    calm = sum(in_year(coast, 2020, "calibrated").values_list("et0_mm", flat=True))
    add_windier_days(coast)

    report = calibrate_station(coast, now=LATER)

    windy = sum(in_year(coast, 2020, "calibrated").values_list("et0_mm", flat=True))
    assert (report.is_new, report.calibration.computed_at) == (True, LATER)
    assert windy > calm * 1.03
    assert StationCalibration.objects.count() == 1


@pytest.mark.parametrize("breaks_at", [1, 2])
def test_killed_in_the_middle_nothing_is_half_written(coast, monkeypatch, breaks_at):
    monkeypatch.setattr(calibrations, "BATCH_DAYS", 150)
    before = everything()
    calls = []
    whole = calibrations._compute_anew

    def break_at(batch, calibration):
        calls.append(batch)
        if len(calls) > breaks_at:
            raise MemoryError
        return whole(batch, calibration)

    monkeypatch.setattr(calibrations, "_compute_anew", break_at)
    with pytest.raises(MemoryError):
        calibrate_station(coast, now=cast.NOW)

    assert everything() == before
    monkeypatch.setattr(calibrations, "_compute_anew", whole)
    assert calibrate_station(coast, now=cast.NOW).days_changed == 365


def test_small_batches_give_the_same_and_hold_few_rows(coast, monkeypatch):
    calibrate_station(coast, now=cast.NOW)
    by_one_batch = stored_days(), StationCalibration.objects.values().get()
    StationCalibration.objects.all().delete()
    sizes = []
    monkeypatch.setattr(calibrations, "BATCH_DAYS", 100)
    whole = calibrations._compute_anew
    monkeypatch.setattr(
        calibrations, "_compute_anew",
        lambda batch, line: sizes.append(len(batch)) or whole(batch, line),
    )  # fmt: skip

    calibrate_station(coast, now=cast.NOW)

    assert (stored_days(), StationCalibration.objects.values().get()) == by_one_batch
    assert sizes == [100] * 7 + [31]


def test_other_stations_are_left_alone(coast):
    other = make_station_of(greensboro(), code="ZZTEST00002")
    store(rows_of(other, greensboro(), names=TEMPERATURES))
    before = list(other.days.order_by("pk").values())

    calibrate_station(coast, now=cast.NOW)

    assert list(other.days.order_by("pk").values()) == before
    assert StationCalibration.objects.get().station == coast


def refusal_of(station):
    before = everything()
    with pytest.raises(RefusedError) as refusal:
        calibrate_station(station, now=cast.NOW)
    assert everything() == before
    return refusal.value


def test_too_few_full_days_are_refused_with_what_cures_it(coast):
    coast.days.filter(date__range=("2021-03-01", "2021-12-31")).update(wind_m_s=None)

    refusal = refusal_of(coast)

    assert (refusal.code, refusal.field) == ("too-few-days", "station")
    assert "59 days" in refusal.detail
    assert "humidity and wind" in refusal.remedy


def test_a_station_without_weather_is_refused(company):
    assert refusal_of(cast.make_station()).code == "too-few-days"


def test_a_line_that_helps_no_unseen_day_is_refused(coast):
    # Plain Hargreaves is the truth here but for moods of ten days, which a fit takes for a rule.
    days = list(in_year(coast, 2021, "penman_monteith").order_by("date"))
    radiation = extraterrestrial_radiation(miami().latitude_deg, miami().day_of_year)
    mood_mm = np.array([0.3, -0.3, 0.0])[np.arange(365) // 10 % 3]
    shine_to_match(days, hargreaves(miami().tmin_c, miami().tmax_c, radiation) + mood_mm)
    WeatherDay.objects.bulk_update(days, ["wind_m_s", "solar_mj_m2"])

    refusal = refusal_of(coast)

    assert refusal.code == "no-better"
    assert "is 0.3" in refusal.detail
    assert "without it 0.2" in refusal.detail


def shine_to_match(days, wanted_mm):
    """Give each day the sunshine at which the full equation says what is wanted."""
    low, high = np.zeros(len(days)), np.full(len(days), 50.0)
    for _ in range(40):
        middle = (low + high) / 2
        for day, solar_mj_m2 in zip(days, middle.tolist(), strict=True):
            day.wind_m_s, day.solar_mj_m2 = 0.5, solar_mj_m2
        compute_et0(days)
        over = np.array([day.et0_mm for day in days]) > wanted_mm
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    assert np.array([day.et0_mm for day in days]) == pytest.approx(wanted_mm, abs=0.01)


def test_the_job_answers_with_plain_values(coast):
    result = calibrate_station_by_id(coast.pk, cast.NOW)

    assert result == {
        "slope": pytest.approx(0.838, abs=0.001), "offset_mm": pytest.approx(1.591, abs=0.001),
        "days": 365, "season": "the whole year", "days_changed": 365,
    }  # fmt: skip


def refits_waiting():
    return list(Job.objects.filter(kind="refit-station").values_list("subject_id", flat=True))


def test_a_station_that_came_to_enough_full_days_is_fitted_by_itself(coast):
    thin = make_station_of(greensboro(), code="ZZTEST00002")
    store(rows_of(thin, greensboro(), names=TEMPERATURES))

    ask_for_refits([coast, thin], now=cast.NOW)
    ask_for_refits([coast, thin], now=cast.NOW)

    assert refits_waiting() == [coast.pk]


@pytest.mark.parametrize(("fitted_on", "asks"), [(336, False), (335, True)])
def test_a_month_of_new_full_days_calls_for_a_new_fit(coast, fitted_on, asks):
    calibrate_station(coast, now=cast.NOW)
    StationCalibration.objects.update(days=fitted_on)

    ask_for_refits([coast], now=LATER)

    assert bool(refits_waiting()) is asks


def test_a_refit_that_would_not_help_keeps_what_is_stored(coast):
    calibrate_station(coast, now=cast.NOW)
    coast.days.filter(date__range=("2021-03-01", "2021-12-31")).update(wind_m_s=None)
    before = everything()

    result = refit_station_by_id(coast.pk, LATER)

    assert "59 days" in result["kept"]
    assert everything() == before


def test_a_refit_twice_is_once(coast):
    first = refit_station_by_id(coast.pk, cast.NOW)
    before = everything()

    assert first["days_changed"] == 365
    assert refit_station_by_id(coast.pk, LATER)["days_changed"] == 0
    assert everything() == before


def full_lines(first: dt.date, days: int) -> list[str]:
    """Element lines of days with all that the full method wants."""
    amounts = {"TMIN": 150, "TMAX": 300, "AWND": 25, "RHAV": 60}
    return [
        f"ZZTEST00001,{first + dt.timedelta(n):%Y%m%d},{element},{tenths + n % 7},,,7,0700\n"
        for n in range(days)
        for element, tenths in amounts.items()
    ]


def test_an_import_of_enough_full_days_asks_for_a_fit(company):
    station = cast.make_station()

    import_station_file(full_lines(dt.date(2026, 1, 1), 89), now=cast.NOW)
    assert refits_waiting() == []

    import_station_file(full_lines(dt.date(2026, 1, 1), 90), now=cast.NOW)
    assert refits_waiting() == [station.pk]

    Job.objects.all().delete()
    import_station_file(full_lines(dt.date(2026, 1, 1), 90), now=cast.NOW)
    assert refits_waiting() == []
