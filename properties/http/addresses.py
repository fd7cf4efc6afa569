"""From which network address a request comes, as far as that can be known."""

from __future__ import annotations

import ipaddress
from typing import Final

from django.http import HttpRequest
from rest_framework.settings import api_settings

V6_PREFIX: Final = 64  # what one household is given: single addresses in it cost nothing


def client_address(request: HttpRequest) -> str:
    """Return the caller's address: what the last of our own proxies saw, never what he claims.

    Each proxy appends to X-Forwarded-For; only as many as NUM_PROXIES stand before us are ours.
    """
    peer = str(request.META.get("REMOTE_ADDR", ""))
    proxies = api_settings.NUM_PROXIES or 0
    seen = [part.strip() for part in request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")]
    if proxies and seen != [""]:
        peer = seen[-min(proxies, len(seen))]
    return _network(peer)


def _network(address: str) -> str:
    try:
        known = ipaddress.ip_address(address)
    except ValueError:
        return "unknown"
    if isinstance(known, ipaddress.IPv6Address) and known.ipv4_mapped is None:
        return str(ipaddress.ip_network((known, V6_PREFIX), strict=False))
    return str(getattr(known, "ipv4_mapped", None) or known)
