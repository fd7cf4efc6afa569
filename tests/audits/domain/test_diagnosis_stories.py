"""The diagnosis against field stories made from physics: does the true cause come first?

Rules and weights were set while looking at seeds from 20000 to 31999; what was drawn by the seeds
below was not looked at before they stood. Of 1000 of each kind from seed 700000 on, looked at once,
about 91.5 % are right, about 95 % of all well, none under 84 %. Run with `pytest -s` to see the
tables; FIELD_STORY_SEEDS=700000:1000 adds one over as many seeds of each kind, from that seed on.
"""

from __future__ import annotations

import ast
import inspect
import os
from collections import Counter
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from audits.domain.diagnosis import CauseKind, diagnose
from audits.domain.uniformity import du_lq
from tests.audits.domain import field_faults, field_lawn, field_stories
from tests.audits.domain.field_evidence import evidence_of
from tests.audits.domain.field_stories import Story, draw

TRUTH = {
    Story.LEANING_HEAD: CauseKind.LEANING_OR_TURNED_HEAD,
    Story.CLOGGED_NOZZLE: CauseKind.CLOGGED_OR_WORN_NOZZLE,
    Story.HIGH_PRESSURE: CauseKind.PRESSURE_TOO_HIGH,
    Story.LEAK: CauseKind.LEAK,
    Story.WRONG_NOZZLE_IN_SHADE: CauseKind.WRONG_NOZZLE,
    Story.MIXED_HEADS: CauseKind.MIXED_HEADS,
    Story.TOO_MANY_HEADS: CauseKind.TOO_MANY_HEADS,
    Story.OVERSPRAY: CauseKind.OVERSPRAY,
    Story.SHADE_OVERWATERED: CauseKind.OVERWATERING,
    Story.ALL_WELL: None,
}
FIFTY = range(50)
HUNDRED_MORE = range(8000, 8100)
MORE_SEEDS = os.environ.get("FIELD_STORY_SEEDS")
# What the stories may know of the product: its words.
WORDS = {"audits.domain.faults": {"FaultKind", "Severity"}}
WORDS["properties.domain.site"] = {"Exposure", "HeadKind"}
STORY_MODULES = (field_lawn, field_faults, field_stories)

Table = dict[Story, Counter[CauseKind | None]]


record_of = cache(draw)


def _first_cause(story: Story, seed: int) -> CauseKind | None:
    causes = diagnose(evidence_of(record_of(story, seed)))
    return causes[0].kind if causes else None


def _table(seeds: range) -> Table:
    return {story: Counter(_first_cause(story, seed) for seed in seeds) for story in Story}


def _print(table: Table, seeds: range) -> None:
    print(f"\nFirst cause over seeds {seeds.start} to {seeds.stop - 1}, share right, then counts")
    for story, firsts in table.items():
        counts = ", ".join(f"{kind or 'none'} {n}" for kind, n in firsts.most_common())
        print(f"{story:30s} {firsts[TRUTH[story]] / len(seeds):5.0%}  {counts}")
    print(f"{'overall':30s} {_overall(table):5.1%}")


def _overall(table: Table) -> float:
    right = sum(firsts[TRUTH[story]] for story, firsts in table.items())
    return right / sum(firsts.total() for firsts in table.values())


@pytest.mark.parametrize("seeds", [FIFTY, HUNDRED_MORE], ids=["fifty", "hundred-more"])
def test_the_true_cause_comes_first_in_nine_of_ten_stories(seeds):
    table = _table(seeds)

    _print(table, seeds)
    assert _overall(table) >= 0.90
    assert table[Story.ALL_WELL][None] >= 0.95 * len(seeds)
    for story, firsts in table.items():
        assert firsts[TRUTH[story]] >= 0.75 * len(seeds), story


# Collected only when asked for by FIELD_STORY_SEEDS=first:count: a skip would be a failure in CI.
def as_many_stories_as_are_asked_for():
    first, count = map(int, MORE_SEEDS.split(":"))
    seeds = range(first, first + count)
    table = _table(seeds)

    _print(table, seeds)
    assert _overall(table) >= 0.90
    assert table[Story.ALL_WELL][None] >= 0.95 * count


if MORE_SEEDS:
    test_as_many_stories_as_are_asked_for = as_many_stories_as_are_asked_for


def _imported(module) -> dict[str, set[str]]:
    names: dict[str, set[str]] = {}
    for node in ast.walk(ast.parse(inspect.getsource(module))):
        if isinstance(node, ast.ImportFrom):
            names.setdefault(node.module or "", set()).update(name.name for name in node.names)
        elif isinstance(node, ast.Import):
            names.update({name.name: set() for name in node.names})
    return names


@pytest.mark.parametrize("module", STORY_MODULES, ids=lambda module: module.__name__)
def test_the_stories_know_no_more_of_the_product_than_its_words(module):
    for source, names in _imported(module).items():
        if source.split(".")[0] in {"audits", "properties", "scheduling", "reports"}:
            assert names <= WORDS.get(source, set()), source
        elif source.startswith("tests"):
            assert names <= {"Head", "Lawn", "field_faults"}, source


def test_no_single_sight_or_reading_gives_a_story_away():
    # A technician sees the fault in 80 to 90 of 100, less where it lies below ground, and now and
    # then writes something into a zone of which all is well.
    for story, plot in field_stories.PLOTS.items():
        seen = [{f.kind for f in record_of(story, seed).findings} for seed in HUNDRED_MORE]
        named = np.mean([bool(kinds & set(plot.names)) for kinds in seen])
        if story is Story.ALL_WELL:
            assert 0.1 < np.mean([bool(kinds) for kinds in seen]) < 0.3
        elif plot.is_hidden:
            assert 0.3 < named < 0.6
        else:
            assert 0.7 < named < 0.95


def test_instruments_are_read_with_the_error_and_the_marks_they_have():
    rng = np.random.default_rng(4)
    readings = [field_stories._read(300.0, rng, error=0.03, mark=5.0) for _ in range(3000)]
    read = np.array([reading for reading in readings if reading is not None])

    # The mark adds the spread of a uniform error of half a mark either way.
    assert read.std() == pytest.approx(np.hypot(9.0, 5.0 / np.sqrt(12)), rel=0.06)
    assert np.all(read % 5 == 0)
    assert 0.03 < 1 - read.size / 3000 < 0.07


@pytest.mark.parametrize("seed", range(12))
def test_a_lawn_gets_no_more_water_than_its_nozzles_pass(seed):
    lawn = field_faults.sound_lawn(np.random.default_rng(seed))

    passed = lawn.nozzle_flow_l_min(lawn.running_kpa())

    assert 0.80 * passed < lawn.mean_rate_mm_h() * lawn.area_m2 / 60 < passed


def test_the_same_seed_draws_the_same_story():
    assert draw(Story.LEAK, 7) == draw(Story.LEAK, 7)
    assert draw(Story.LEAK, 7) != draw(Story.LEAK, 8)


def test_sound_lawns_are_neither_perfect_nor_poor():
    # Audits of well-kept home lawns find DU_lq from about 0.55 to 0.85 (common practice).
    uniformities = sorted(evidence_of(record_of(Story.ALL_WELL, seed)).du_lq for seed in range(40))

    assert 0.65 < uniformities[20] < 0.80
    assert 0.40 < uniformities[2] < 0.65


def _before_and_after_leaning(seed):
    rng = np.random.default_rng(seed)
    lawn = replace(field_faults.sound_lawn(rng), wind_m_s=0.0)
    leaning = replace(lawn.heads[0], lean=0.6, lean_to=lawn.heads[0].facing)
    x, y = np.meshgrid((np.arange(30) + 0.5) / 30, (np.arange(30) + 0.5) / 30)
    places = np.stack([x.ravel() * lawn.width_m, y.ravel() * lawn.depth_m], axis=1)
    after = replace(lawn, heads=(leaning, *lawn.heads[1:]))
    return lawn.rates_mm_h(places), after.rates_mm_h(places)


def test_trade_06_a_leaning_head_leaves_a_dry_wedge_and_lowers_the_uniformity():
    """Common practice. On a large lawn one head in fifteen may leave the driest quarter alone."""
    pairs = [_before_and_after_leaning(seed) for seed in range(40)]

    assert all((after - before).min() < 0 < (after - before).max() for before, after in pairs)
    changes = np.array([du_lq(after) - du_lq(before) for before, after in pairs])
    assert (changes < 0).mean() >= 0.9
    assert changes.mean() < -0.05
