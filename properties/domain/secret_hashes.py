"""What is kept of a secret that the product made itself."""

from __future__ import annotations

import hashlib


def hash_secret(secret: str) -> str:
    """Return what is stored of a long random secret; it needs no salt and no slow hash."""
    return hashlib.sha256(secret.encode()).hexdigest()
