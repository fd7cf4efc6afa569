"""News of this app for the apps above it, sent inside the transaction that it is about."""

from __future__ import annotations

from django.dispatch import Signal

# sent by services.visits.finish_visit with `visit`, `actor` and `now`
visit_finished = Signal()

# sent by services.ruling_tests, for a visit that is finished already, with `visit`, `actor` and
# `now`: a late, superseding or voided test changed which test of a zone rules its plan
ruling_test_changed = Signal()
