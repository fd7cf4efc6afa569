from reports.domain.rain_rule import ZoneRainSkip, rain_rule


def test_zones_that_skip_equally_long_are_named_together_with_the_largest_rain():
    skips = [ZoneRainSkip(1, 12.7, 1), ZoneRainSkip(2, 15.24, 1), ZoneRainSkip(4, 25.4, 9)]

    assert rain_rule(skips, month=7, system="us") == (
        "In July, after 0.60 in in a day skip one day (zones 1 and 2);"
        " after 1.00 in in a day skip nine days (zone 4)."
    )


def test_the_rule_speaks_the_units_of_the_client():
    assert "after 13 mm in a day" in rain_rule([ZoneRainSkip(1, 12.7, 2)], month=6, system="metric")


def test_no_zone_with_a_rule_says_nothing():
    assert rain_rule([], month=7, system="us") == ""
