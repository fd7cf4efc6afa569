"""What `manage.py check --deploy` says of settings that Django does not know."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Tags, Warning, register  # noqa: A004
from rest_framework.settings import api_settings


@register(Tags.security, deploy=True)
def safe_sign_in(app_configs: Any, **options: Any) -> list[CheckMessage]:
    """Warn of a door that stands open: no second factor, no rates, no way to tell callers apart."""
    found: list[CheckMessage] = []
    if settings.OFFICE_SECOND_FACTOR != "required":
        found.append(
            Warning(
                "Office users get in with a password alone.",
                hint="Set OFFICE_SECOND_FACTOR=required, or leave it out.",
                id="properties.W001",
            )
        )
    if settings.SECURE_PROXY_SSL_HEADER and not api_settings.NUM_PROXIES:
        found.append(
            Warning(
                "Behind a proxy all callers seem to have its address: one who fails locks all out.",
                hint="Set NUM_PROXIES to how many proxies of yours stand before this.",
                id="properties.W002",
            )
        )
    unlimited = [name for name, rate in api_settings.DEFAULT_THROTTLE_RATES.items() if not rate]
    if unlimited:
        found.append(
            Warning(
                f"Requests are not limited: {', '.join(sorted(unlimited))}.",
                hint="Set SIGN_IN_RATE, ANONYMOUS_RATE, READ_RATE and WRITE_RATE.",
                id="properties.W003",
            )
        )
    return found
