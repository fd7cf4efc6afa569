import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from scheduling.domain.station_days import fold_days
from scheduling.domain.station_values import ElementValue, ReadingReport

FIRST = dt.date(2021, 6, 1)


def value(line, element, amount, *, day=0, station="ZZTEST00001"):
    return ElementValue(line, station, FIRST + dt.timedelta(days=day), element, amount)


def fold(values, **options):
    report = ReadingReport(values_accepted=len(values))
    return list(fold_days(values, report, **options)), report


def test_a_file_grouped_by_element_gives_the_same_days_as_one_grouped_by_day():
    by_day = [
        value(0, element, amount + day, day=day)
        for day in range(50)
        for element, amount in (("TMAX", 30.0), ("TMIN", 10.0), ("PRCP", 0.0), ("AWND", 2.0))
    ]
    by_element = sorted(by_day, key=lambda one: one.element)

    days, _ = fold(by_day)

    assert fold(by_element)[0] == days
    assert [day.date for day in days] == [FIRST + dt.timedelta(days=n) for n in range(50)]
    assert days[3][2:] == (13.0, 33.0, 3.0, 5.0)


def test_stations_are_kept_apart():
    days, report = fold([value(1, "TMAX", 30.0), value(2, "TMAX", 31.0, station="ZZTEST00002")])

    assert [(day.station_code, day.tmax_c) for day in days] == [
        ("ZZTEST00001", 30.0), ("ZZTEST00002", 31.0),
    ]  # fmt: skip
    assert report.problem_count == 0


def test_the_same_value_again_is_counted():
    days, report = fold([value(1, "PRCP", 5.0), value(2, "PRCP", 5.0)])

    assert [day.rain_mm for day in days] == [5.0]
    assert (report.values_repeated, report.values_accepted, report.problem_count) == (1, 1, 0)


def test_another_value_for_the_same_day_is_reported_and_the_first_kept():
    days, report = fold([value(1, "PRCP", 5.0), value(2, "PRCP", 6.0)])

    assert [day.rain_mm for day in days] == [5.0]
    assert [(p.line_number, p.field) for p in report.problems] == [(2, "PRCP")]
    assert report.values_accepted == 1


def test_a_maximum_below_the_minimum_costs_the_temperatures_and_not_the_rain():
    values = [value(1, "PRCP", 5.0), value(2, "TMIN", 20.0), value(3, "TMAX", 10.0)]

    days, report = fold(values)

    assert [day[2:] for day in days] == [(None, None, 5.0, None)]
    assert [(p.line_number, p.field) for p in report.problems] == [(3, "TMAX")]
    assert report.values_accepted == 1


def test_a_temperature_taken_back_stays_so():
    values = [value(1, "TMIN", 20.0), value(2, "TMAX", 10.0), value(3, "TMAX", 30.0)]

    days, report = fold(values)

    assert days == []
    assert [p.line_number for p in report.problems] == [2, 3]
    assert report.values_accepted == 0


def test_equal_temperatures_are_no_contradiction():
    assert fold([value(1, "TMIN", 0.0), value(2, "TMAX", 0.0)])[1].problem_count == 0


def test_no_more_days_are_held_than_allowed():
    taken = 0

    def values():
        nonlocal taken
        for day in range(100):
            taken += 1
            yield value(day, "TMAX", 20.0, day=day)

    days = fold_days(values(), ReadingReport(), open_days=10)

    next(days)
    assert taken == 11
    assert sum(1 for _ in days) == 99


def test_the_day_being_read_is_not_cut_when_older_days_are_closed():
    by_day = [
        value(0, element, amount, day=day)
        for day in range(100)
        for element, amount in (("TMAX", 30.0), ("TMIN", 10.0), ("PRCP", 1.0))
    ]

    days, _ = fold(by_day, open_days=4)

    assert len(days) == 100
    assert all(None not in day[2:5] for day in days)


def test_a_day_scattered_too_widely_comes_in_parts():
    scattered = [value(0, "TMAX", 30.0, day=day) for day in range(10)]
    scattered.append(value(11, "TMIN", 10.0))

    days, _ = fold(scattered, open_days=4)

    assert [day[2:4] for day in days if day.date == FIRST] == [(None, 30.0), (10.0, None)]


@given(st.lists(st.tuples(st.sampled_from(["TMAX", "TMIN", "PRCP"]), st.integers(0, 3),
                          st.integers(0, 2))))  # fmt: skip
def test_every_value_is_kept_repeated_or_reported(parts):
    values = [
        value(line, element, float(amount), day=day)
        for line, (element, day, amount) in enumerate(parts, start=1)
    ]

    days, report = fold(values)

    kept = sum(amount is not None for day in days for amount in day[2:])
    assert kept == report.values_accepted
    assert all(None in (d.tmax_c, d.tmin_c) or d.tmax_c >= d.tmin_c for d in days)
    # A contradiction is one problem and costs two values, a different repetition costs one.
    contradictions = sum("is below the lowest" in p.detail for p in report.problems)
    assert len(values) == kept + report.values_repeated + report.problem_count + contradictions
