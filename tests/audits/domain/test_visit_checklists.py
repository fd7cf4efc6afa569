"""What is looked at on each kind of visit."""

from __future__ import annotations

import pytest

from audits.domain.visit_checklists import CHECKLISTS, LOCAL_CODES_BIND, VisitKind, checklist


def codes(kind):
    return [item.code for item in checklist(kind)]


def test_each_kind_of_visit_has_a_list_of_items_that_occur_once():
    assert set(CHECKLISTS) == set(VisitKind)
    for kind in VisitKind:
        assert len(codes(kind)) == len(set(codes(kind)))


def test_one_code_is_one_sentence_everywhere():
    said = {(item.code, item.sentence) for items in CHECKLISTS.values() for item in items}

    assert len({code for code, _ in said}) == len(said)
    assert all(sentence[0].isupper() and sentence.endswith(".") for _, sentence in said)


@pytest.mark.parametrize("kind", VisitKind)
def test_cautions_come_first_and_none_is_lost(kind):
    flags = [item.is_caution for item in checklist(kind)]

    assert flags == sorted(flags, reverse=True)
    assert flags[0]
    assert not flags[-1]
    assert sorted(codes(kind)) == sorted(item.code for item in CHECKLISTS[kind])


@pytest.mark.parametrize("kind", VisitKind)
def test_every_visit_asks_for_the_backflow_test_and_for_leaks(kind):
    assert {"backflow-test", "leaks", "site"} <= set(codes(kind))


@pytest.mark.parametrize("kind", sorted(set(VisitKind) - {VisitKind.WINTER_SHUT_DOWN}))
def test_a_visit_in_season_leaves_the_system_on_and_looks_at_sensor_and_puddles(kind):
    assert {"controller-on", "rain-sensor", "standing-water", "watering-rules"} <= set(codes(kind))
    assert "controller-off" not in codes(kind)


def test_the_winter_shut_down_leaves_the_controller_off_with_every_blow_out_caution():
    cautions = {i.code for i in checklist(VisitKind.WINTER_SHUT_DOWN) if i.is_caution}

    assert {"air-pressure", "eyes", "nobody-over-heads", "no-air-through-backflow"} <= cautions
    assert codes(VisitKind.WINTER_SHUT_DOWN)[-1] == "controller-off"
    assert "controller-on" not in codes(VisitKind.WINTER_SHUT_DOWN)


def test_blowing_out_is_for_the_winter_alone():
    for kind in set(VisitKind) - {VisitKind.WINTER_SHUT_DOWN}:
        assert not {"air-pressure", "nobody-over-heads", "drain"} & set(codes(kind))


@pytest.mark.parametrize("kind", [VisitKind.REPAIR, VisitKind.SERVICE_CALL])
def test_who_repairs_is_warned_of_digging_pressure_mains_and_licence(kind):
    cautions = {item.code: item.sentence for item in checklist(kind) if item.is_caution}

    assert {"digging", "pressure", "mains", "main-line", "cement", "valve-boxes"} <= set(cautions)
    assert "811" in cautions["digging"]
    assert "licensed" in cautions["main-line"]


def test_a_retest_sets_the_cups_where_they_stood():
    assert codes(VisitKind.RETEST).index("same-places") < codes(VisitKind.RETEST).index("cups")


def test_the_supply_is_shut_before_the_system_is_drained():
    winter = codes(VisitKind.WINTER_SHUT_DOWN)

    assert winter.index("leaks") < winter.index("supply-shut") < winter.index("drain")


def test_the_lists_defer_to_codes_makers_and_licensed_trade():
    assert "Local codes" in LOCAL_CODES_BIND
    backflow = next(i for i in checklist(VisitKind.AUDIT) if i.code == "backflow-test")
    assert "local code licenses" in backflow.sentence
    air = next(i for i in checklist(VisitKind.WINTER_SHUT_DOWN) if i.code == "air-pressure")
    assert "makers" in air.sentence
