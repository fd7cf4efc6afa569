"""News of this app for the apps above it, sent inside the transaction that it is about."""

from __future__ import annotations

from django.dispatch import Signal

# sent when the plans after a visit were made, with `visit_id` and `now`
plans_made = Signal()
