"""News of this app for the apps above it, sent inside the transaction that it is about."""

from __future__ import annotations

from django.dispatch import Signal

# sent when the plans after a visit were made, with `visit_id` and `now`
plans_made = Signal()

# sent when notices were queued, or are to be tried again, with `notice_ids` and `now`
notices_queued = Signal()
