"""What is remarked about a controller as found, and what is not."""

from __future__ import annotations

from datetime import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audits.domain.found_program import FoundProgram
from audits.domain.program_remarks import FoundSetting, program_remarks
from properties.domain.errors import InvalidInputError


def make_program(name="A", **changes):
    fields = {
        "weekdays": frozenset({0, 3}),
        "start_times": (time(5),),
        "zone_minutes": (("front", 15.0), ("back", 20.0)),
    }
    return FoundProgram(name=name, **(fields | changes))


def make_setting(*programs, **changes):
    """A controller with which nothing is wrong."""
    fields = {
        "clock_is_right": True, "battery_is_good": True, "has_rain_sensor": True,
        "rain_sensor_works": True, "program_count": 3, "starts_per_program": 4,
        "zone_names": (("front", "1 Front lawn"), ("back", "2 Back lawn")),
    }  # fmt: skip
    return FoundSetting(programs=programs or (make_program(),), **(fields | changes))


def codes(setting):
    return [remark.code for remark in program_remarks(setting)]


def only(setting):
    (remark,) = program_remarks(setting)
    return remark


def test_of_a_setting_in_order_nothing_is_remarked():
    assert codes(make_setting()) == []


def test_what_nobody_looked_at_is_not_judged():
    unknown = {
        "clock_is_right": None, "battery_is_good": None, "has_rain_sensor": None,
        "rain_sensor_works": None, "program_count": None, "starts_per_program": None,
    }  # fmt: skip
    many = [
        make_program(name, start_times=(time(hour),), zone_minutes=((name, 15.0),))
        for hour, name in enumerate("ABCDEFGHIJ")
    ]

    assert codes(make_setting(*many, **unknown)) == []
    assert program_remarks(FoundSetting()) == ()


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"clock_is_right": False}, "clock-wrong"),
        ({"battery_is_good": False}, "battery-dead"),
        ({"has_rain_sensor": False, "rain_sensor_works": None}, "no-rain-sensor"),
        ({"rain_sensor_works": False}, "rain-sensor-broken"),
    ],
)
def test_the_controller_itself_is_judged_by_what_was_seen(changes, code):
    remark = only(make_setting(**changes))

    assert (remark.code, remark.programs, remark.zones) == (code, (), ())
    assert remark.concerns("front")
    assert remark.concerns("a zone of no program")


@pytest.mark.parametrize(("count", "most", "told"), [(3, 3, False), (3, 2, True)])
def test_more_programs_than_the_controller_holds(count, most, told):
    programs = [
        make_program(name, start_times=(time(hour),), zone_minutes=((name, 15.0),))
        for hour, name in enumerate("ABC"[:count])
    ]
    setting = make_setting(*programs, program_count=most)

    assert codes(setting) == (["more-programs-than-controller"] if told else [])
    if told:
        assert only(setting).sentence == "3 programs were noted; the controller holds 2."


@pytest.mark.parametrize(
    ("percent", "told"),
    [(49, True), (50, False), (100, False), (150, False), (151, True), (0, True), (300, True)],
)
def test_a_percentage_far_from_100_hides_the_minutes(percent, told):
    assert codes(make_setting(seasonal_percent=percent)) == (
        ["percent-far-from-100"] if told else []
    )


def test_the_remark_about_the_percentage_tells_what_a_run_lasts():
    # Arithmetic: the longest run, 20 min, at 180 %.
    remark = only(make_setting(seasonal_percent=180))

    assert remark.effect.startswith("A run of 20 min lasts 36 min")


def test_a_percentage_over_no_minutes_says_nothing():
    assert codes(FoundSetting(seasonal_percent=0)) == []
    assert codes(make_setting(make_program(zone_minutes=()), seasonal_percent=300)) == []


@pytest.mark.parametrize(("interval", "told"), [(1, False), (2, True), (7, True)])
def test_a_program_without_a_named_weekday(interval, told):
    setting = make_setting(make_program(weekdays=None, interval_days=interval))

    assert codes(setting) == (["no-named-weekday"] if told else [])
    if told:
        remark = only(setting)
        assert (remark.programs, remark.zones) == (("A",), ("front", "back"))
        assert f"every {interval} days" in remark.sentence


@pytest.mark.parametrize(("most", "told"), [(2, False), (1, True)])
def test_more_starts_than_the_controller_holds(most, told):
    program = make_program(start_times=(time(5), time(9)))

    found = codes(make_setting(program, starts_per_program=most))

    assert ("more-starts-than-controller" in found) is told


@pytest.mark.parametrize(("second", "told"), [(time(5, 34), True), (time(5, 35), False)])
def test_runs_that_overlap_are_told_with_both_programs_and_zones(second, told):
    # Arithmetic: from 05:00 the program runs 15 + 20 min.
    setting = make_setting(
        make_program(), make_program("B", start_times=(second,), zone_minutes=(("side", 5.0),))
    )

    assert codes(setting) == (["runs-overlap"] if told else [])
    if told:
        remark = only(setting)
        assert remark.sentence == (
            "Program A runs 35 min from 05:00, and program B starts at 05:34, 34 min later."
        )
        assert (remark.programs, remark.zones) == (("A", "B"), ("front", "back", "side"))


def test_a_second_start_waters_each_of_its_zones_again():
    setting = make_setting(make_program(start_times=(time(5), time(18))))

    remarks = program_remarks(setting)

    assert [(remark.code, remark.zones) for remark in remarks] == [
        ("leftover-start", ("front",)), ("leftover-start", ("back",)),
    ]  # fmt: skip
    # Arithmetic: two starts on two days of the week. A day counts as one watering (it was once told
    # as two).
    assert remarks[0].sentence == (
        "Zone 1 Front lawn is run by 2 starts (program A): 2 waterings in a mean week,"
        " of up to 2 starts each."
    )
    assert remarks[0].concerns("front")
    assert not remarks[0].concerns("back")


def test_a_second_program_that_runs_the_same_zone_is_told_with_the_fullest_day():
    # Arithmetic: one start on Monday and Thursday, two on Thursday and Friday: three on Thursday,
    # and Monday, Thursday, Friday are three days with water.
    leftover = make_program(
        "C", weekdays=frozenset({3, 4}), start_times=(time(8), time(20)),
        zone_minutes=(("back", 10.0),),
    )  # fmt: skip

    remark = only(make_setting(make_program(), leftover))

    assert (remark.code, remark.programs, remark.zones) == ("leftover-start", ("A", "C"), ("back",))
    assert "3 starts (programs A and C): 3 waterings in a mean week, of up to 3" in remark.sentence


def test_two_programs_on_different_days_are_one_watering_a_day():
    other = make_program("B", weekdays=frozenset({5}), zone_minutes=(("back", 10.0),))

    remark = only(make_setting(make_program(), other))

    assert remark.sentence.endswith("(programs A and B): 3 waterings in a mean week.")


def cycling(*clock, **changes):
    starts = tuple(time(*divmod(minute, 60)) for minute in clock)
    return make_program(start_times=starts, zone_minutes=(("front", 8.0),), **changes)


# Common practice of cycle and soak: one program, several starts within three hours, each after the
# run before it and a soak.
@pytest.mark.parametrize(
    ("program", "is_sound"),
    [
        (cycling(240, 280, 320), True),
        (cycling(240, 258), True),
        (cycling(240, 257), False),
        (cycling(240, 330, 420), True),
        (cycling(240, 331, 421), False),
        (cycling(240, 280, 1080), False),
        (cycling(1420, 10), False),
        (cycling(1420, 10, weekdays=frozenset(range(7))), True),
        (cycling(1420, 10, weekdays=None, interval_days=1), True),
    ],
)
def test_cycles_with_a_soak_between_are_no_leftover(program, is_sound):
    assert codes(make_setting(program)) == ([] if is_sound else ["leftover-start"])


def test_cycles_are_judged_by_the_minutes_that_run():
    # Arithmetic: 8 min at 150 % are 12, and 12 + 10 of soak are more than 20.
    program = cycling(240, 260)

    assert codes(make_setting(program)) == []
    assert codes(make_setting(program, seasonal_percent=150)) == ["leftover-start"]


def test_a_soak_is_what_the_other_zones_of_the_program_leave():
    # Arithmetic: 35 min of run in all; a start 35 min later lets front soak for 20, back for 15.
    assert codes(make_setting(make_program(start_times=(time(4), time(4, 35))))) == []
    assert "leftover-start" in codes(make_setting(make_program(start_times=(time(4), time(4, 34)))))


def test_cycles_that_another_program_runs_again_are_told():
    other = make_program("B", start_times=(time(6),), zone_minutes=(("front", 5.0),))

    remark = only(make_setting(cycling(240, 280), other))

    assert (remark.code, remark.programs) == ("leftover-start", ("A", "B"))


def test_days_by_interval_are_each_as_likely_as_the_others():
    # Arithmetic: Monday and Thursday surely, each of the five others every second time: 4.5.
    other = make_program(
        "B", weekdays=None, interval_days=2, zone_minutes=(("back", 10.0),),
        start_times=(time(6),),
    )  # fmt: skip

    remarks = program_remarks(make_setting(make_program(), other))

    assert "4.5 waterings in a mean week, of up to 2 starts each" in remarks[-1].sentence


# Common practice: from ten to four sun and wind take most.
@pytest.mark.parametrize(
    ("start", "is_hot"),
    [(time(9, 59), False), (time(10), True), (time(15, 59), True), (time(16), False)],
)
def test_a_start_in_the_heat_of_the_day_is_told(start, is_hot):
    program = make_program(start_times=(start,))

    assert codes(make_setting(program)) == (["start-in-the-heat"] if is_hot else [])


def test_the_heat_is_told_by_start_and_zone_and_not_of_a_program_that_gives_nothing():
    program = make_program(start_times=(time(13, 30),))
    empty = make_program("B", start_times=(time(12),), zone_minutes=(("side", 0.0),))

    remark = only(make_setting(program, empty))

    assert "starts at 13:30" in remark.sentence
    assert (remark.programs, remark.zones) == (("A",), ("front", "back"))
    assert "new plants or for drip" in remark.remedy


def test_a_program_that_gives_a_zone_no_minutes_is_no_second_one():
    empty = make_program("B", start_times=(time(18),), zone_minutes=(("front", 0.0),))

    assert codes(make_setting(make_program(), empty)) == []


def test_where_nothing_runs_nothing_runs_twice():
    twice = make_program(start_times=(time(5), time(18)))

    assert codes(make_setting(twice, seasonal_percent=0)) == ["percent-far-from-100"]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"seasonal_percent": 301}, "seasonal_percent"),
        ({"program_count": 0}, "program_count"),
        ({"starts_per_program": -1}, "starts_per_program"),
    ],
)
def test_a_controller_that_cannot_be_is_refused(changes, field):
    with pytest.raises(InvalidInputError) as refusal:
        make_setting(**changes)

    assert refusal.value.field == field
    assert refusal.value.remedy


answers = st.none() | st.booleans()
programs = st.builds(
    make_program,
    name=st.sampled_from("ABC"),
    start_times=st.lists(st.builds(time, st.integers(0, 23)), min_size=1, max_size=3, unique=True),
    zone_minutes=st.sampled_from([(), (("front", 20.0),), (("front", 90.0), ("back", 5.0))]),
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.builds(
        FoundSetting, programs=st.lists(programs, max_size=3).map(tuple),
        seasonal_percent=st.sampled_from([0.0, 80.0, 200.0]), clock_is_right=answers,
        battery_is_good=answers, has_rain_sensor=answers, rain_sensor_works=answers,
        program_count=st.none() | st.integers(1, 3), starts_per_program=st.none() | st.just(2),
    )
)  # fmt: skip
def test_every_remark_is_whole_and_names_only_what_was_found(setting):
    remarks = program_remarks(setting)

    names = {program.name for program in setting.programs}
    for remark in remarks:
        assert remark.code
        assert all(text.endswith(".") for text in (remark.sentence, remark.effect, remark.remedy))
        assert names >= set(remark.programs)
    assert [remark.code == "clock-wrong" for remark in remarks].count(True) == (
        setting.clock_is_right is False
    )
