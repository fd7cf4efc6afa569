"""Zones and weather for the refill rule, made up by a seed or by hand."""

from __future__ import annotations

import numpy as np
from hypothesis import settings
from hypothesis import strategies as st

from scheduling.domain.refill import RefillRule, RefillWeather, RefillZones

modest = settings(max_examples=60, deadline=None, derandomize=True)
RULE = RefillRule()


@st.composite
def cases(draw):
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    days, zones = draw(st.integers(5, 60)), draw(st.integers(1, 5))
    shape = (days, zones)
    rain = random.gamma(0.5, 20.0, shape) * (random.random(shape) < 0.2)
    guess = rain * random.uniform(0.0, 2.0, shape) if draw(st.booleans()) else None
    weather = RefillWeather(random.uniform(0.0, 8.0, shape), rain, forecast_rain_mm=guess)
    storage = random.uniform(5.0, 60.0, zones)
    shortest = random.integers(1, 5, zones)
    return weather, RefillZones(
        storage_mm=storage,
        net_fraction=random.uniform(0.4, 1.0, zones),
        day_limit_mm=random.uniform(4.0, 40.0, zones),
        min_days_between=shortest,
        max_days_between=shortest + random.integers(0, 20, zones),
        waterings_a_day=np.ones(zones),
        may_water=np.ones(zones),
        start_mm=storage * random.random(zones),
    )


def steady(need_mm, days=40, rain=0.0, **more):
    return RefillWeather(np.full((days, 1), need_mm), rain, **more)
