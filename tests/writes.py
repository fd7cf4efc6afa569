"""How the tests write over the API as a good client does: by the revision that was read."""

from __future__ import annotations

from typing import Any
from uuid import uuid4


def if_match(revision: int | str) -> dict[str, str]:
    """Say which revision was read."""
    return {"If-Match": revision if isinstance(revision, str) else f'"{revision}-us"'}


def etag_of(api: Any, url: str) -> str:
    """Read a row and return its ETag."""
    answer = api.get(url)
    assert answer.status_code == 200, answer.json()
    tag: str = answer["ETag"]
    return tag


def patch(api: Any, url: str, body: Any, *, revision: int | str | None = None) -> Any:
    """Change a row at a revision; without one at the revision that it has now."""
    read = etag_of(api, url) if revision is None else revision
    return api.patch(url, body, headers=if_match(read))


def end(api: Any, url: str, act: str = "retire", body: Any = None) -> Any:
    """Retire a row, or bring it back, at the revision that it has now."""
    return api.post(f"{url}/{act}", body or {}, headers=if_match(etag_of(api, url)))


def keyed(key: str | None = None) -> dict[str, str]:
    """Name a request, so that it may be sent again."""
    return {"Idempotency-Key": key or str(uuid4())}
