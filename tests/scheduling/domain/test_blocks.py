from __future__ import annotations

import numpy as np
import pytest

from scheduling.domain.blocks import BLOCK, in_blocks


def sizes_seen_by(*columns):
    sizes = []

    def add(*block):
        sizes.append(np.broadcast(*block).size)
        return sum(block)

    return in_blocks(add, *columns), sizes


def test_a_long_column_is_seen_a_block_at_a_time_and_comes_back_whole():
    column = np.arange(2.5 * BLOCK)

    result, sizes = sizes_seen_by(column, 1)

    assert result.tolist() == (column + 1).tolist()
    assert sizes == [BLOCK, BLOCK, BLOCK / 2]


def test_a_table_that_only_broadcasting_makes_long_keeps_its_shape():
    rows, columns = np.arange(300)[:, None], np.arange(200)

    result, sizes = sizes_seen_by(rows, columns)

    assert result.tolist() == (rows + columns).tolist()
    assert max(sizes) <= BLOCK


@pytest.mark.parametrize("column", [3.0, [1, 2], np.zeros((2, 0)), np.ones((3, 4))[:, ::2]])
def test_what_is_short_is_computed_at_once(column):
    result, sizes = sizes_seen_by(column)

    assert np.shape(result) == np.shape(column)
    assert len(sizes) == 1


def test_turned_and_strided_tables_are_not_mixed_up():
    table = np.arange(300.0 * 200).reshape(300, 200)

    result, _ = sizes_seen_by(table.T, table.T[:, ::-1])

    assert result.tolist() == (table.T + table.T[:, ::-1]).tolist()


def test_a_refusal_in_a_late_block_is_not_lost():
    def refuse(block):
        if block.max() >= 2 * BLOCK:
            raise ValueError("late")
        return block

    with pytest.raises(ValueError, match="late"):
        in_blocks(refuse, np.arange(2.0 * BLOCK + 1))
