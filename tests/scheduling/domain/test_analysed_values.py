"""Which values of a day a model stands in for."""

from __future__ import annotations

import numpy as np

from scheduling.domain.analysed_values import OBSERVED, analysed_names, analysed_of, marks_of


def test_each_value_has_a_bit_of_its_own():
    one_each = np.eye(len(OBSERVED), dtype=bool)

    assert marks_of(one_each).tolist() == [2**place for place in range(len(OBSERVED))]
    assert [analysed_names(2**place) for place in range(len(OBSERVED))] == [
        (name,) for name in OBSERVED
    ]


def test_a_mark_tells_what_it_was_made_of():
    rows = np.random.default_rng(7).random((50, len(OBSERVED))) > 0.5

    assert (analysed_of(marks_of(rows)) == rows).all()
    assert analysed_names(0) == ()
