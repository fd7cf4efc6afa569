"""The diagnosis against field stories made from physics: does the true cause come first?

The weights were set while looking at seeds from 0 to 399; seeds 1000 to 1049, 2000 to 2299 and
5000 to 5199 were tried on the way. The second set was not looked at before the weights stood.
Run with `pytest -s` to see both tables.
"""

from __future__ import annotations

import inspect
from collections import Counter
from dataclasses import replace

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
TUNED_ON = range(50)
NOT_TUNED_ON = range(8000, 8100)

Table = dict[Story, Counter[CauseKind | None]]


def _first_cause(story: Story, seed: int) -> CauseKind | None:
    causes = diagnose(evidence_of(draw(story, seed)))
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


@pytest.mark.parametrize("seeds", [TUNED_ON, NOT_TUNED_ON], ids=["tuned-on", "not-tuned-on"])
def test_the_true_cause_comes_first_in_nine_of_ten_stories(seeds):
    table = _table(seeds)

    _print(table, seeds)
    assert _overall(table) >= 0.90
    assert table[Story.ALL_WELL][None] >= 0.95 * len(seeds)
    for story, firsts in table.items():
        assert firsts[TRUTH[story]] >= 0.75 * len(seeds), story


def test_the_stories_do_not_know_of_the_diagnosis():
    for module in (field_lawn, field_faults, field_stories):
        assert "domain.diagnosis" not in inspect.getsource(module)


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
    uniformities = sorted(evidence_of(draw(Story.ALL_WELL, seed)).du_lq for seed in range(40))

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
