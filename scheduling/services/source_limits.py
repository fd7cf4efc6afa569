"""How long and how much of a weather source at most, and under which name it is asked."""

from __future__ import annotations

from django.conf import settings

from scheduling.services.forecast_sockets import Limits


def source_limits(*, body_bytes: int) -> Limits:
    """Return the limits of the settings, with this largest answer."""
    return Limits(
        connect_s=settings.FORECAST_CONNECT_S,
        read_s=settings.FORECAST_READ_S,
        total_s=settings.FORECAST_DEADLINE_S,
        body_bytes=body_bytes,
        tries=settings.FORECAST_TRIES,
        pause_s=settings.FORECAST_PAUSE_S,
        longest_pause_s=settings.FORECAST_LONGEST_PAUSE_S,
    )


def agent() -> str:
    """Name ourselves and whom to write to, as public weather services ask."""
    contact = "".join(c for c in settings.FORECAST_CONTACT if c.isascii() and c.isprintable())
    return f"zone-keeping ({contact})" if contact else "zone-keeping"
