"""Whatever two people try with a visit, it walks one way and every step is remembered."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from audits.models import Visit, VisitState
from audits.services.visits import call_off_visit, finish_visit, miss_visit, start_visit
from properties.domain.errors import RefusedError
from properties.models import Event
from tests import cast

pytestmark = pytest.mark.django_db
STEPS = {
    start_visit: (VisitState.PLANNED, VisitState.UNDER_WAY),
    finish_visit: (VisitState.UNDER_WAY, VisitState.FINISHED),
    call_off_visit: (VisitState.PLANNED, VisitState.CALLED_OFF),
    miss_visit: (VisitState.PLANNED, VisitState.MISSED),
}
steps = st.lists(st.tuples(st.sampled_from(list(STEPS)), st.booleans()), max_size=8)


@given(steps=steps)
@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_a_visit_moves_by_its_rules_alone_and_no_event_is_lost(garden, technician, steps):
    visit, state, moved = cast.make_visit(garden, technician), VisitState.PLANNED, 0
    stale = Visit.objects.get(pk=visit.pk)
    for number, (step, by_stale_copy) in enumerate(steps):
        known = stale if by_stale_copy else Visit.objects.get(pk=visit.pk)
        allowed, target = STEPS[step]
        now = cast.NOW + dt.timedelta(minutes=number)
        if state == allowed:
            step(known, actor=technician, now=now)
            state, moved = target, moved + 1
        else:
            with pytest.raises(RefusedError) as refused:
                step(known, actor=technician, now=now)
            assert refused.value.code == "visit-state"
        stored = Visit.objects.get(pk=visit.pk)
        assert stored.state == state
        assert stored.revision == 1 + moved
        assert Event.objects.filter(subject_id=visit.pk).count() == moved
