"""Where a request comes from."""

from __future__ import annotations

import pytest
from django.test import RequestFactory
from rest_framework.settings import api_settings

from properties.http.addresses import client_address


@pytest.mark.parametrize(
    ("proxies", "peer", "forwarded", "expected"),
    [
        (0, "192.0.2.1", None, "192.0.2.1"),
        (0, "192.0.2.1", "203.0.113.9", "192.0.2.1"),
        (1, "10.0.0.1", "203.0.113.9", "203.0.113.9"),
        (1, "10.0.0.1", "forged, 203.0.113.9", "203.0.113.9"),
        (2, "10.0.0.1", "198.51.100.1, 203.0.113.9, 10.0.0.2", "203.0.113.9"),
        (2, "10.0.0.1", "203.0.113.9", "203.0.113.9"),
        (1, "10.0.0.1", None, "10.0.0.1"),
        (1, "10.0.0.1", "", "10.0.0.1"),
        (1, "10.0.0.1", "rubbish", "unknown"),
        (0, "2001:db8:1:2:3:4:5:6", None, "2001:db8:1:2::/64"),
        (0, "2001:db8:1:2::9", None, "2001:db8:1:2::/64"),
        (0, "::ffff:192.0.2.1", None, "192.0.2.1"),
        (0, "", None, "unknown"),
    ],
)
def test_the_address_is_what_our_own_proxies_saw(monkeypatch, proxies, peer, forwarded, expected):
    monkeypatch.setattr(api_settings, "NUM_PROXIES", proxies)
    headers = {} if forwarded is None else {"HTTP_X_FORWARDED_FOR": forwarded}

    assert client_address(RequestFactory().get("/", REMOTE_ADDR=peer, **headers)) == expected
