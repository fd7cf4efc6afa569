"""The demo's table for a terminal."""

from __future__ import annotations

from reports.management.demo.table import lines


def inches(value):
    return {"value": value, "unit": "in"}


def month(number, **changes):
    return {
        "month": number, "days_between": 3, "minutes": 24, "cycles": 2, "cycle_min": 12,
        "soak_min": 35.4, "weekly_gross": inches(1.234), "need_per_day": inches(0.2), **changes,
    }  # fmt: skip


def zone(**changes):
    months = [month(number) for number in range(1, 13)]
    return {
        "zone": "z1", "number": 1, "name": "Front lawn", "rate": {"value": 1.5, "unit": "in/h"},
        "refusal": None, "found_weekly": inches(2.5), "season": {"months": months}, **changes,
    }  # fmt: skip


def season(*zones, **changes):
    volume = {"value": 45678.4, "unit": "gal"}
    return {"zones": zones, "volume": volume, "cost": None, "currency": "USD", **changes}


TEST = {
    "zone": "z1", "rate_low": {"value": 1.234}, "rate_high": {"value": 1.766}, "cups": 12,
    "is_pooled": False, "du_lq": 0.514,
}  # fmt: skip
MONTHS_SHOWN = ["April", "June", "July", "October"]


def test_a_tested_zone_and_its_months():
    head, columns, *months, total = lines(season(zone()), [TEST])

    assert head == "1 Front lawn: 1.50 in/h (1.23 to 1.77), 12 cups, DU 0.51"
    assert [line.split()[0] for line in months] == MONTHS_SHOWN
    assert months[2].split() == [
        "July", "3", "d", "24", "2", "x", "12", "35", "min", "1.23", "in", "1.40", "in", "2.50",
        "in",
    ]  # fmt: skip
    assert total == "A year before any rain: 45,678 gal."
    assert {len(line) for line in months} == {len(columns)}


def test_a_pooled_test_and_an_estimate_say_so():
    pooled = {**TEST, "is_pooled": True, "du_lq": None}

    assert next(lines(season(zone()), [pooled])).endswith(
        "12 cups, poured together, uniformity unknown"
    )
    assert next(lines(season(zone()), [])) == "1 Front lawn: 1.50 in/h, estimated from the heads"


def test_a_month_without_watering_is_off_and_one_run_needs_no_soak():
    months = [month(number) for number in range(1, 13)]
    months[3] = month(4, days_between=None)
    months[5] = month(6, soak_min=0)

    shown = list(lines(season(zone(season={"months": months}, found_weekly=None)), [TEST]))

    assert shown[2].split() == ["April", "-", "off", "1.40", "in", "unknown"]
    assert shown[3].split()[:8] == ["June", "3", "d", "24", "2", "x", "12", "-"]
    assert len(shown[2]) == len(shown[3])


def test_a_refused_zone_says_why_instead_of_months():
    refusal = {"detail": "No rate.", "remedy": "Test it."}

    shown = list(lines(season(zone(refusal=refusal, season=None, rate=None), volume=None), []))

    assert shown == ["1 Front lawn: rate unknown", "    no plan: No rate. Test it."]


def test_the_water_has_its_price_where_one_is_known():
    *_, total = lines(season(zone(), cost="321.50"), [TEST])

    assert total == "A year before any rain: 45,678 gal, 321.50 USD."
