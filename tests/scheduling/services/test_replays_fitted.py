"""Found, ideal and fitted side by side."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Job, JobState, Zone
from scheduling.models import ControllerProgram, Replay
from scheduling.services import replays
from scheduling.services.replays import gather_answer
from tests import cast
from tests.scheduling.program_rows import make_fitted
from tests.scheduling.replay_rows import make_answer, make_question, make_setting

FITTED = {"name": "fitted", "base": "fitted", "changes": []}
FOUND = {"name": "found", "base": "found", "changes": []}
NINE_MIN_L = 9 / 60 * 40 * 200  # at 40 mm/h on 200 m2
TWENTY_MIN_L = 20 / 60 * 40 * 200


@pytest.fixture
def tested(visit, zone, station):
    cast.make_catch_test(visit, zone)
    make_setting(zone.controller, {zone: 20})
    return zone


@pytest.fixture
def fitted(tested):
    """Nine minutes on Mondays, all year."""
    return make_fitted(tested.controller)


def litres(variant, at=0):
    return variant["zones"][at]["years"]["litres"]


def test_what_is_fitted_stands_beside_found_and_ideal_by_itself(garden, fitted, office):
    answer = make_answer(garden, office)

    assert [each["name"] for each in answer["variants"]] == ["found", "ideal", "fitted"]
    assert [each["base"] for each in answer["variants"]] == ["found", "ideal", "fitted"]


def test_without_a_fit_found_and_ideal_are_held_together_alone(garden, tested, office):
    row, _ = make_question(garden, office)

    assert [each["name"] for each in row.asked["variants"]] == ["found", "ideal"]


def test_the_water_saved_in_one_month_by_hand(garden, fitted, office):
    # July 2019 begins on a Monday: five Mondays, five Wednesdays and four Fridays. Found: 14
    # waterings x 20 min = 280 min at 40 mm/h are 186.67 mm, on 200 m2 37 333 L. Fitted: 5 Mondays
    # x 9 min = 45 min, 30 mm, 6000 L. Saved: 31 333 L.
    answer = make_answer(garden, office, variants=[FOUND, FITTED], first_year=2019, last_year=2019)

    found, fit = (each["zones"][0]["months"][0] for each in answer["variants"])
    assert (found["year"], found["watering_days"][6], fit["watering_days"][6]) == (2019, 14, 5)
    assert found["litres"][6] == pytest.approx(37_333.3, abs=0.1)
    assert fit["litres"][6] == pytest.approx(6_000.0, abs=0.1)
    assert found["litres"][6] - fit["litres"][6] == pytest.approx(31_333.3, abs=0.2)


def test_the_months_of_a_fit_have_their_own_days_and_percentage(garden, tested, office):
    fit = make_fitted(tested.controller)
    months = [dict(month) for month in fit.months]
    months[6]["percent"] = 50
    off = {**months[0]["programs"][0], "pattern": None, "days": "off"}
    months[0]["programs"] = [off]
    fit.months = months
    fit.save()

    answer = make_answer(garden, office, variants=[FITTED], first_year=2019, last_year=2019)

    # 2019: four Mondays in January, five in July, 52 in all.
    year = answer["variants"][0]["zones"][0]
    assert litres(answer["variants"][0]) == [pytest.approx((52 - 4 - 2.5) * NINE_MIN_L, abs=0.1)]
    assert year["months"][0]["gross_mm"][0] == 0


def test_only_the_newest_fit_counts(garden, fitted, office):
    newer = make_fitted(fitted.controller, number=2)
    months = [{**month, "percent": 50} for month in newer.months]
    ControllerProgram.objects.filter(pk=newer.pk).update(months=months)

    answer = make_answer(garden, office, variants=[FITTED], first_year=2019, last_year=2019)

    assert litres(answer["variants"][0]) == [pytest.approx(26 * NINE_MIN_L, abs=0.1)]


def test_months_without_a_fit_are_said(garden, fitted, office):
    fitted.months = [month for month in fitted.months if month["month"] not in (2, 11)]
    fitted.save()

    (variant,) = make_answer(garden, office, variants=[FITTED])["variants"]

    (note,) = [each for each in variant["notes"] if each["code"] == "months-without-fit"]
    assert "In February, November nothing was fitted" in note["sentence"]
    assert variant["zones"][0]["months"][0]["gross_mm"][1] == 0


def test_zones_without_a_fit_are_said_with_the_cure(garden, visit, fitted, office):
    left_out = cast.make_zone(fitted.controller, number=2)
    cast.make_catch_test(visit, left_out)
    other = cast.make_controller(garden, name="Shed")
    elsewhere = cast.make_zone(other, number=3)
    cast.make_catch_test(visit, elsewhere)

    answer = make_answer(garden, office)

    problems = [each["problem"] for each in answer["variants"][2]["zones"]]
    assert [each and each["code"] for each in problems] == [None, "not-in-fit", "no-fit"]
    assert all("fitted" in each["remedy"] for each in problems[1:])
    # Side by side stand those alone that all variants could replay.
    assert [each["summary"]["zones"] for each in answer["variants"]] == [1, 1, 1]


def test_a_fit_of_one_month_alone_is_no_year(garden, tested, office):
    make_fitted(tested.controller, months=[])

    answer = make_answer(garden, office, variants=[FITTED])

    assert answer["refusal"]["code"] == "nothing-to-replay"
    assert "fitted" in answer["refusal"]["remedy"]


def test_what_is_fitted_can_be_changed_as_well(garden, fitted, office):
    changes = {
        "half": {"kind": "minutes", "percent": 50.0},
        "daily": {"kind": "days", "interval_days": 1},
        "winter": {"kind": "seasonal_percent", "seasonal_percent": [0.0] * 6 + [100.0] * 6},
        "smaller": {"kind": "cut_area", "cut_percent": 25.0},
    }
    variants = [FITTED] + [
        {"name": name, "base": "fitted", "changes": [change]} for name, change in changes.items()
    ]

    answer = make_answer(garden, office, variants=variants, first_year=2019, last_year=2019)

    # 2019: 52 Mondays, 26 of them from July on; 365 days.
    (whole,), *others = [litres(each) for each in answer["variants"]]
    shares = [year / whole for (year,) in others]
    assert shares == pytest.approx([0.5, 365 / 52, 27 / 52, 0.75], abs=1e-4)


def test_a_working_sensor_holds_what_is_fitted_back_too(garden, fitted, office):
    (dry,) = make_answer(garden, office, variants=[FITTED])["variants"]
    fitted.controller.rain_sensor = "working"
    fitted.controller.save()

    (wet,) = make_answer(garden, office, variants=[FITTED])["variants"]

    assert sum(litres(wet)) < sum(litres(dry))


def test_side_by_side_is_the_sum_of_the_zones(garden, fitted, office):
    garden.water_price_per_m3 = 2
    garden.save()

    answer = make_answer(garden, office)

    for variant in answer["variants"]:
        years, summary = variant["zones"][0]["years"], variant["summary"]
        dry = answer["weather"]["years"].index(answer["picked_years"]["dry"])
        assert summary["mean_year"]["litres"] == pytest.approx(sum(years["litres"]) / 5, abs=1)
        assert summary["dry_year"]["litres"] == pytest.approx(years["litres"][dry], abs=1)
        assert summary["dry_year"]["stress_days"] == years["stress_days"][dry]
        assert summary["dry_year"]["drained_l"] == pytest.approx(
            years["drained_mm"][dry] * 200, abs=2
        )
        assert summary["dry_year"]["money"] == pytest.approx(years["money"][dry], abs=0.01)
        assert summary["dry_year"]["adequacy"] == pytest.approx(years["adequacy"][dry], abs=1e-4)
        assert summary["dry_year"]["excess"] == pytest.approx(years["excess"][dry], abs=1e-4)
        assert set(summary) == {"zones", "mean_year", "dry_year", "median_year", "wet_year"}


def test_without_an_area_nothing_stands_side_by_side(garden, fitted, office):
    Zone.objects.update(area_m2=None)

    answer = make_answer(garden, office)

    assert [each["summary"] for each in answer["variants"]] == [None, None, None]


def test_the_interval_of_what_is_saved_says_what_it_is_made_of(garden, visit, fitted, office):
    test = fitted.controller.zones.get().catch_tests.get()
    test.rate_low_mm_h, test.rate_high_mm_h = 36.0, 44.0  # a tenth of 40 each way
    test.save()

    answer = make_answer(garden, office)

    told = answer["variants"][2]["difference"]
    interval = told["interval"]
    # Rain does not change what a clock puts down: from year to year one watering or two differ.
    assert (
        interval["rates_low"]
        == interval["rates_high"]
        == pytest.approx(0.1 * -told["litres"], abs=1)
    )
    assert 0 < interval["years_half"] < 3 * TWENTY_MIN_L
    assert interval["litres_low"] < told["litres"] < interval["litres_high"] < 0
    assert "measured rates and the spread from year to year." in interval["sentence"]
    assert interval["zones_unmeasured"] == 0
    assert told["parts"]["less"]["litres"] == told["litres"]
    assert "more" not in told["parts"]


def test_what_one_zone_saves_is_not_hidden_by_what_another_was_lacking(
    garden, visit, fitted, office
):
    # Found: 20 min three times a week in the one, nothing in the other; fitted 9 min in each.
    thirsty = cast.make_zone(fitted.controller, number=2)
    cast.make_catch_test(visit, thirsty)
    months = []
    for month in fitted.months:
        (program,), (got,) = month["programs"], month["zones"]
        runs = [*program["minutes"], {"zone": str(thirsty.pk), "run_min": 9}]
        zones = [got, {**got, "zone": str(thirsty.pk)}]
        months.append({**month, "programs": [{**program, "minutes": runs}], "zones": zones})
    ControllerProgram.objects.filter(pk=fitted.pk).update(months=months)

    answer = make_answer(garden, office, first_year=2019, last_year=2019)

    told = answer["variants"][2]["difference"]
    # 2019: 156 waterings of 20 min, 52 of 9 min.
    less, more = told["parts"]["less"], told["parts"]["more"]
    assert less["litres"] == pytest.approx(52 * NINE_MIN_L - 156 * TWENTY_MIN_L, abs=1)
    assert more["litres"] == pytest.approx(52 * NINE_MIN_L, abs=1)
    assert more["zones"] == [str(thirsty.pk)]
    assert told["litres"] == pytest.approx(less["litres"] + more["litres"], abs=1)
    assert told["interval"]["years_half"] is None
    assert "a single year shows no spread" in told["interval"]["sentence"]


def test_a_rate_that_is_estimated_is_said_not_to_be_in_the_interval(garden, fitted, office):
    zone = fitted.controller.zones.get()
    zone.catch_tests.update(voided_at=cast.NOW, void_reason="A cup fell over.")
    cast.make_heads(zone)

    answer = make_answer(garden, office)

    interval = answer["variants"][2]["difference"]["interval"]
    assert (interval["rates_low"], interval["zones_unmeasured"]) == (0, 1)
    assert "rate of one zone is estimated: its error is not in it" in interval["sentence"]


def test_those_who_wait_see_how_far_it_is(garden, fitted, office, monkeypatch):
    row, job = make_question(garden, office)
    Job.objects.filter(pk=job.pk).update(
        state=JobState.RUNNING, claimed_until=cast.NOW + dt.timedelta(minutes=1)
    )
    seen = []
    replayed = replays.replay_answer

    def watching(asked, tell):
        def told(done, of):
            tell(done, of)
            seen.append(Job.objects.get(pk=job.pk).result)

        return replayed(asked, told)

    monkeypatch.setattr(replays, "replay_answer", watching)
    gather_answer(row.pk, cast.NOW)

    assert seen == [{"variants_done": done, "variants": 3} for done in (1, 2, 3)]


def test_an_answer_from_before_has_no_summary_and_is_still_read(office_api, garden, fitted, office):
    make_answer(garden, office)
    row = Replay.objects.get()
    for variant in row.answer["variants"]:
        for key in ("base", "notes", "summary"):
            del variant[key]
        if variant["difference"]:
            del variant["difference"]["interval"]
    row.save()

    content = office_api.get(f"/api/v1/replays/{row.pk}").json()

    variant = content["answer"]["variants"][2]
    assert (variant["summary"], variant["difference"]["interval"]) == (None, None)
