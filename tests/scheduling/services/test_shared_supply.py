"""Controllers that share one supply are fitted together, and never run beyond its flow."""

from __future__ import annotations

import itertools
import math

import pytest

from properties.domain.errors import RefusedError
from properties.models import Job, Property, Zone
from scheduling.domain.controller_year import YearStyle
from scheduling.domain.program_days import FIRST_MONDAY, pattern_of
from scheduling.models import ControllerProgram
from scheduling.selectors.controller_programs import flows_l_min
from scheduling.services import controller_programs
from scheduling.services.controller_programs import ask_for_fit
from scheduling.services.job_kinds import FIT_PROPERTY
from tests import cast
from tests.audits.field_rows import make_flow_check
from tests.scheduling.program_rows import make_two, run_fit

pytestmark = pytest.mark.django_db


@pytest.fixture
def two(visit, zone, station):
    return make_two(visit, zone)


def busy(row, month, days):
    """The minutes, counted from the first Monday, in which a controller waters."""
    setting = row.months[month - 1]
    minutes = set()
    for program, day in itertools.product(setting["programs"], range(days)):
        pattern = pattern_of(program["pattern"])
        if pattern is None or not pattern.may_run_on(day):
            continue
        length = sum(run["run_min"] for run in program["minutes"])
        for start in program["starts"]:
            first = day * 1440 + int(start[:2]) * 60 + int(start[3:])
            minutes |= set(range(first, first + math.ceil(length * setting["percent"] / 100)))
    return minutes


def test_controllers_of_one_supply_never_run_together_beyond_its_flow(two):
    job = run_fit(two[0].property, FIT_PROPERTY)

    assert job.state == "done", job.problem
    one, other = (each.fitted_programs.get() for each in two)
    for month in range(1, 13):
        assert not busy(one, month, 28) & busy(other, month, 28)
    assert busy(one, 7, 28)
    assert busy(other, 7, 28)
    assert {one.style, other.style} == {"percent"}
    assert "take turns" in one.inputs["remarks"][0]
    assert FIRST_MONDAY.weekday() == 0


def test_where_the_supply_feeds_both_each_keeps_its_style(two):
    Property.objects.update(available_flow_l_min=90.0)

    run_fit(two[0].property, FIT_PROPERTY)

    assert {each.fitted_programs.get().style for each in two} == {"days"}


def test_killed_between_two_controllers_neither_is_stored(two, monkeypatch):
    add_row, calls = controller_programs.add_row, []

    def die_later(*args, **values):
        if calls:
            raise SystemExit
        calls.append(args)
        return add_row(*args, **values)

    monkeypatch.setattr(controller_programs, "add_row", die_later)
    subject = two[0].property_id
    fits = controller_programs.fit_property(subject, cast.NOW, style=YearStyle.DAYS)
    with pytest.raises(SystemExit):
        controller_programs.store_fits(subject, cast.NOW, fits)

    assert calls
    assert not ControllerProgram.objects.exists()


def test_a_shared_supply_of_unknown_flow_parks_with_field_and_remedy(two):
    Property.objects.update(available_flow_l_min=None)

    job = run_fit(two[0].property, FIT_PROPERTY)

    assert (job.state, job.problem["code"]) == ("parked", "supply-unknown")
    assert "Measure" in job.problem["remedy"]


def test_a_shared_supply_of_unknown_flow_is_refused_before_a_job_is_made(two, office):
    Property.objects.update(available_flow_l_min=None)
    property_ = Property.objects.get(pk=two[0].property_id)

    with pytest.raises(RefusedError) as refusal:
        ask_for_fit(property_, YearStyle.DAYS, actor=office, now=cast.NOW)

    assert refusal.value.field == "available_flow_l_min"
    assert not Job.objects.exists()


def test_zones_of_unknown_flow_on_a_shared_supply_are_named(two):
    Zone.objects.get(name="Back lawn").head_groups.all().delete()

    job = run_fit(two[0].property, FIT_PROPERTY)

    assert (job.state, job.problem["code"]) == ("parked", "flow-unknown")
    assert "4 Back lawn" in job.problem["detail"]


def test_a_zone_that_takes_more_than_the_supply_gives_is_named(two):
    Property.objects.update(available_flow_l_min=30.0)

    job = run_fit(two[0].property, FIT_PROPERTY)

    assert (job.state, job.problem["code"]) == ("parked", "flow-over-supply")
    assert "1 Front lawn" in job.problem["detail"]


def test_a_metered_flow_rules_over_that_of_the_heads(two, visit):
    lawn = Zone.objects.get(name="Front lawn")
    make_flow_check(visit, lawn, flow_l_min=15.0)

    flows = flows_l_min([lawn, Zone.objects.get(name="Back lawn")])

    # Ten heads of 4 L/min each where nobody metered.
    assert list(flows.values()) == [15.0, 40.0]
