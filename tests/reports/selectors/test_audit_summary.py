"""The content of the audit summary, out of rows."""

from __future__ import annotations

import datetime as dt
from uuid import UUID

import pytest

from audits.models import Finding
from properties.models import Company, Property, Zone
from reports.domain.audit_summary import Cup, Severity
from reports.pdf.audit_summary import render_audit_summary
from reports.selectors.audit_summary import audit_summary_of
from scheduling.models import WeatherDay
from scheduling.selectors.seasons import property_season
from tests import cast


@pytest.fixture
def tested(visit, zone):
    return cast.make_catch_test(visit, zone)


def find(visit, zone=None, **changes):
    values = {"fault": "leaning", "severity": "major", "seen_at": cast.NOW, **cast.ROW}
    return Finding.objects.create(visit=visit, zone=zone, **{**values, **changes})


def set_program(controller, zone, run_min, weekdays=(0, 3)):
    setting = controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=list(weekdays), starts=["05:00"])
    program.runs.create(zone=zone, run_min=run_min)


def test_the_head_of_the_page(visit, tested, station):
    Company.objects.update(contact_line="12 Granary Lane")

    content = audit_summary_of(visit)

    assert (content.company_name, content.company_contact) == ("Meadowlark", "12 Granary Lane")
    assert (content.customer_name, content.property_name) == ("Ingrid Holm", "Holm garden")
    assert content.address_lines == ("48 Kiln Street", "Tallgrass")
    assert (content.technician_name, content.visit_date) == ("Ruben", cast.TODAY)
    assert content.revision == 1


# 03:00 UTC on June 11 is the evening of June 10 in Chicago.
def test_the_day_of_the_visit_is_that_of_the_property(visit):
    visit.started_at = dt.datetime(2026, 6, 11, 3, 0, tzinfo=dt.UTC)
    assert audit_summary_of(visit).visit_date == dt.date(2026, 6, 10)

    visit.started_at, visit.planned_date = None, dt.date(2026, 6, 20)
    assert audit_summary_of(visit).visit_date == dt.date(2026, 6, 20)


@pytest.mark.parametrize(
    ("customers", "companys", "system"),
    [
        ("", "us", "us"),
        ("", "metric", "metric"),
        ("metric", "us", "metric"),
        ("us", "metric", "us"),
    ],
)
def test_the_customer_reads_his_own_units_or_the_companys(visit, customers, companys, system):
    Company.objects.update(units=companys)
    visit.property.customer.units = customers

    assert audit_summary_of(visit).system == system


def test_a_tested_zone_with_a_known_program(visit, zone, controller, tested, station):
    set_program(controller, zone, 15)

    content = audit_summary_of(visit)

    (summary,) = content.zones
    plan = property_season(visit.property).zones[0].plan
    assert (summary.number, summary.name, summary.area_m2) == (1, "Front lawn", 200.0)
    assert (summary.head_kind, summary.plant, summary.soil) == ("spray", "cool_turf", "loam")
    assert (summary.rate_mm_h, summary.rate_interval_mm_h) == (40.0, (34.0, 46.0))
    assert (summary.du_lq, summary.du_lh, summary.cu, summary.cups) == (0.75, 0.85, 0.84, 12)
    assert (summary.pooled, summary.estimated, summary.rating) == (False, False, "excellent")
    assert summary.cups_detail == (Cup(depth_mm=5.0),) * 3 + (Cup(depth_mm=7.2),) * 9
    # Arithmetic: 2 x 15 min at 40 mm/h are 20 mm.
    assert summary.found_weekly_mm == pytest.approx(20.0)
    assert summary.needed_weekly_mm == pytest.approx(7 * plan.months[6].need_mm_day)
    assert "in July" in summary.meaning
    assert "75%" in summary.meaning
    assert any("24 cups" in sentence for sentence in summary.advice)


def test_the_season_is_the_plans(visit, tested, station):
    content = audit_summary_of(visit)

    plan = property_season(visit.property).zones[0].plan
    (season,) = content.season
    assert season.zone == 1
    for setting, month in zip(season.months, plan.months, strict=True):
        assert setting.month == month.month
        assert (setting.days_between, setting.minutes) == (month.days_between, month.minutes)
        assert (setting.cycles, setting.cycle_min) == (max(1, month.cycles), month.cycle_min)
        assert (setting.soak_min, setting.estimated) == (month.soak_min, False)
        assert setting.weekly_mm == month.weekly_gross_mm
        assert setting.needed_mm == pytest.approx(7 * month.need_mm_day)
    assert content.hottest_month == 7
    assert content.weather.station == station.name
    assert (content.weather.first_year, content.weather.last_year) == (2015, 2020)


def test_the_hottest_month_is_that_of_the_weather(visit, tested, station):
    WeatherDay.objects.filter(date__month=5).update(tmin_c=20, tmax_c=45, et0_mm=None)

    assert audit_summary_of(visit).hottest_month == 5


def test_a_pooled_test_shows_no_cups_and_no_rating(visit, zone, station):
    cast.make_catch_test(visit, zone, is_pooled=True, du_lq=None, du_lh=None, cu=None, cups=4)

    (summary,) = audit_summary_of(visit).zones

    assert (summary.pooled, summary.cups, summary.cups_detail) == (True, 4, ())
    assert (summary.du_lq, summary.rating) == (None, "")
    assert "evenness is unknown" in summary.meaning


def test_cups_are_drawn_where_they_stood(visit, zone, tested):
    tested.readings.filter(number=1).update(x_m=1.5, y_m=2.5)

    (summary,) = audit_summary_of(visit).zones

    assert (summary.cups_detail[0].x_m, summary.cups_detail[0].y_m) == (1.5, 2.5)


def test_an_untested_zone_is_estimated_from_its_heads(visit, zone, station):
    cast.make_heads(zone)

    content = audit_summary_of(visit)

    (summary,) = content.zones
    assert (summary.rate_mm_h, summary.estimated) == (pytest.approx(21.0), True)
    assert (summary.rate_interval_mm_h, summary.cups, summary.advice) == (None, 0, ())
    assert "estimated from its heads" in summary.meaning
    assert content.season[0].is_estimated


def test_a_zone_that_tells_nothing_says_so_and_has_no_season(visit, zone, station):
    content = audit_summary_of(visit)

    (summary,) = content.zones
    assert (summary.rate_mm_h, summary.estimated, summary.needed_weekly_mm) == (None, False, None)
    assert "estimated" not in summary.meaning
    assert content.season == ()
    assert any(note.startswith("Zone 1 could not be planned.") for note in content.method_notes)


def test_without_weather_it_says_what_was_measured_and_what_runs(visit, zone, controller, tested):
    set_program(controller, zone, 15)

    content = audit_summary_of(visit)

    (summary,) = content.zones
    assert (summary.rate_mm_h, summary.du_lq) == (40.0, 0.75)
    assert summary.found_weekly_mm == pytest.approx(20.0)
    assert summary.needed_weekly_mm is None
    assert "What it needs is unknown." in summary.meaning
    assert (content.season, content.weather, content.hottest_month) == ((), None, 7)
    assert any("No season could be planned." in note for note in content.method_notes)


def test_without_area_the_zone_is_planned_all_the_same(visit, zone, tested, station):
    Zone.objects.update(area_m2=None)

    content = audit_summary_of(visit)

    assert content.zones[0].area_m2 is None
    assert len(content.season) == 1
    assert render_audit_summary(content)


def test_a_test_before_mending_does_not_stand_in_the_summary(visit, zone, station):
    cast.make_catch_test(visit, zone, before_mending=True)

    assert audit_summary_of(visit).zones[0].rate_mm_h is None


def test_findings_become_repairs(visit, zone, tested):
    find(visit, zone, count=3, where="third along the walk", note="Dry wedge.")
    find(visit, zone, fault="runoff", severity="urgent", count=2, mended_on_the_spot=True)
    find(visit, fault="wiring", severity="minor")

    mends = {mend.what.split(".")[0]: mend for mend in audit_summary_of(visit).mends}

    leaning, runoff, wiring = (
        mends[what] for what in ("Leaning head (3 heads)", "Runoff", "Wiring")
    )
    assert leaning.what == "Leaning head (3 heads). Set the head upright and firm the soil."
    assert (leaning.zone, leaning.severity) == (1, Severity.THIS_SEASON)
    assert leaning.evidence == "third along the walk; Dry wedge."
    assert leaning.done_on_the_spot is False
    assert (runoff.severity, runoff.done_on_the_spot) == (Severity.AT_ONCE, True)
    assert (wiring.zone, wiring.severity, wiring.evidence) == (None, Severity.WHEN_CONVENIENT, "")


def test_findings_of_other_visits_stay_out(visit, zone, garden, technician):
    find(cast.make_visit_under_way(garden, technician), zone)

    assert audit_summary_of(visit).mends == ()


def test_zones_stand_in_the_order_of_their_numbers_without_those_at_rest(
    visit, controller, station
):
    for number, is_active in ((3, True), (1, True), (2, False)):
        cast.make_zone(controller, number=number, is_active=is_active)

    assert [zone.number for zone in audit_summary_of(visit).zones] == [1, 3]


@pytest.mark.parametrize("has_weather", [True, False])
def test_zones_of_two_controllers_are_counted_through(
    visit, garden, controller, request, has_weather
):
    if has_weather:
        request.getfixturevalue("station")
    shed = cast.make_controller(garden, name="Shed")
    first, other = (
        cast.make_zone(hangs_on, name=name, id=UUID(int=place))
        for place, (hangs_on, name) in enumerate(
            [(controller, "Front lawn"), (shed, "Back lawn")], start=1
        )
    )
    for zone in (first, other):
        cast.make_catch_test(visit, zone)
    find(visit, other)

    content = audit_summary_of(visit)

    assert [(each.number, each.name) for each in content.zones] == [
        (1, "Front lawn"), (2, "Back lawn (Shed, 1)"),
    ]  # fmt: skip
    assert [season.zone for season in content.season] == ([1, 2] if has_weather else [])
    assert content.mends[0].zone == 2
    assert render_audit_summary(content)


def test_reclaimed_water_has_its_caution(visit):
    without = audit_summary_of(visit).cautions
    Property.objects.update(water_source="reclaimed")
    visit.refresh_from_db()

    assert len(audit_summary_of(visit).cautions) > len(without)


def test_the_content_takes_as_many_queries_for_ten_zones_as_for_two(
    visit, controller, station, django_assert_num_queries
):
    def add(number):
        zone = cast.make_zone(controller, number=number)
        cast.make_heads(zone)
        cast.make_catch_test(visit, zone)
        find(visit, zone)

    add(1)
    add(2)
    # company, station, its days, zones, heads, tests, cups, what was mended (2), settings,
    # findings, emitter checks, the newest year of days
    with django_assert_num_queries(14):
        audit_summary_of(visit)
    for number in range(3, 11):
        add(number)

    with django_assert_num_queries(14):
        assert len(audit_summary_of(visit).zones) == 10
