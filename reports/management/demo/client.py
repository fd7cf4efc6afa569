"""A caller of the API as any program would be one: JSON over HTTP, nothing of the project's."""

from __future__ import annotations

import json
import urllib.error
import urllib.request
from typing import Any, Final

TIMEOUT_S: Final = 30


class ApiError(Exception):
    """The server said no; the problem document is kept."""

    def __init__(self, status: int, problem: dict[str, Any]) -> None:
        super().__init__(f"{status}: {json.dumps(problem, indent=1)}")
        self.status = status
        self.problem = problem


class ApiClient:
    """One signed-in caller."""

    def __init__(self, base_url: str, token: str = "") -> None:
        self.base_url = base_url
        self.token = token

    def get(self, path: str) -> Any:
        return json.loads(self._call("GET", path))

    def get_bytes(self, path: str) -> bytes:
        return self._call("GET", path)

    def post(self, path: str, body: dict[str, Any] | None = None, *, key: str = "") -> Any:
        """Send something; with a key, that of work to be done once however often it is sent."""
        return json.loads(self._call("POST", path, body or {}, key=key) or b"null")

    def exists(self, path: str) -> bool:
        try:
            self.get(path)
        except ApiError as error:
            if error.status == 404:
                return False
            raise
        return True

    def _call(
        self, method: str, path: str, body: dict[str, Any] | None = None, *, key: str = ""
    ) -> bytes:
        request = urllib.request.Request(self.base_url + path, method=method)
        if key:
            request.add_header("Idempotency-Key", key)
        if self.token:
            request.add_header("Authorization", f"Bearer {self.token}")
        if body is not None:
            request.add_header("Content-Type", "application/json")
            request.data = json.dumps(body).encode()
        try:
            with urllib.request.urlopen(request, timeout=TIMEOUT_S) as answer:
                content: bytes = answer.read()
                return content
        except urllib.error.HTTPError as error:
            raise ApiError(error.code, json.loads(error.read() or b"{}")) from error
