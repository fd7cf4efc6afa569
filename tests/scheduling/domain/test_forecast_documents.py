from __future__ import annotations

import copy
import datetime as dt
import zoneinfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.forecast_arrays import ARRAYS, read_arrays
from scheduling.domain.forecast_documents import parsed, text_of
from scheduling.domain.forecast_grid import LAYERS, read_grid
from scheduling.domain.forecast_values import RANGES
from tests.scheduling.forecast_files import arrays, grid

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
NOW = dt.datetime(2026, 6, 10, 15, 0, tzinfo=dt.UTC)
KEYS = [
    "properties", "daily", "daily_units", "time", "uom", "values", "validTime", "value",
    "updateTime", "timezone", "utc_offset_seconds", *LAYERS, *ARRAYS,
]  # fmt: skip
WORDS = [
    "wmoUnit:degC", "mm", "%", "°C", "2026-06-10", "2026-06-10T12:00:00+00:00/PT6H", "GMT",
    "America", "P1D", "0001-01-01T00:00:00+23:59/P1D", "9999-12-31T00:00:00-23:59/P1D",
    "9999-12-31",
]  # fmt: skip
LEAVES = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
    | st.sampled_from(WORDS)
)  # fmt: skip
JSON = st.recursive(
    LEAVES,
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4)
    ),
    max_leaves=12,
)


@pytest.mark.parametrize(
    "text", ["", "<html>", "{", '{"a": NaN}', "[-Infinity]", "[" * 200_000, "9" * 5000]
)
def test_text_that_is_not_json_is_refused_by_name(text):
    with pytest.raises(InvalidInputError) as refusal:
        parsed(text)
    assert refusal.value.code == "forecast-not-json"


def test_bytes_that_are_not_utf_8_are_refused_by_name():
    with pytest.raises(InvalidInputError) as refusal:
        text_of(b'{"a": "\xff"}')
    assert refusal.value.code == "forecast-encoding"


def assert_reads_or_refuses(document):
    for read in (read_grid, read_arrays):
        try:
            reading = read(document, CHICAGO, retrieved_at=NOW)
        except InvalidInputError as refusal:
            assert refusal.code.startswith("forecast-")
            continue
        assert reading.days
        for day in reading.days:
            for name, (low, high) in RANGES.items():
                value = getattr(day, name)
                assert value is None or low <= value <= high


@settings(max_examples=150, derandomize=True, deadline=None)
@given(document=JSON)
def test_no_json_breaks_a_reader(document):
    assert_reads_or_refuses(document)


@settings(max_examples=200, derandomize=True, deadline=None)
@given(
    whole=st.sampled_from([grid(), arrays()]), where=st.randoms(use_true_random=False), wrong=JSON
)
def test_no_wrong_part_of_a_good_document_breaks_a_reader(whole, where, wrong):
    document = copy.deepcopy(whole)
    part = document
    while True:
        key = where.choice(list(part) if isinstance(part, dict) else range(len(part)))
        if not isinstance(part[key], dict | list) or not part[key] or where.random() < 0.2:
            part[key] = wrong
            break
        part = part[key]

    assert_reads_or_refuses(document)
