"""The names of this app's background jobs."""

from __future__ import annotations

from typing import Final

PLANS_AFTER_VISIT: Final = "plans-after-visit"
PLANS_OF_PROPERTY: Final = "plans-of-property"
