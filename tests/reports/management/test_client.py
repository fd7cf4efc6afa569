"""The demo's caller of the API."""

from __future__ import annotations

import json
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest

from reports.management.demo.client import ApiClient, ApiError

ANSWERS = {
    "/thing": (200, {"name": "thing"}),
    "/gone": (404, {"status": 404, "detail": "Nothing is here."}),
    "/broken": (500, {"status": 500}),
    "/empty": (204, None),
}


class Handler(BaseHTTPRequestHandler):
    def do_GET(self):
        self.server.seen.append((self.command, self.path, dict(self.headers), self._body()))
        status, content = ANSWERS[self.path]
        body = b"" if content is None else json.dumps(content).encode()
        self.send_response(status)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def do_POST(self):
        self.do_GET()

    def _body(self):
        return self.rfile.read(int(self.headers.get("Content-Length", 0)))

    def log_message(self, *args):
        pass


@pytest.fixture
def server():
    server = HTTPServer(("127.0.0.1", 0), Handler)
    server.seen = []
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def client(server):
    return ApiClient(f"http://127.0.0.1:{server.server_port}", "secret")


def test_it_sends_its_token_and_reads_json_or_bytes(server, client):
    assert client.get("/thing") == {"name": "thing"}
    assert client.get_bytes("/thing") == b'{"name": "thing"}'

    assert [seen[2]["Authorization"] for seen in server.seen] == ["Bearer secret"] * 2


def test_it_posts_json_and_takes_an_empty_answer(server, client):
    assert client.post("/thing", {"size": 1}) == {"name": "thing"}
    assert client.post("/empty") is None

    (first, second) = server.seen
    assert (first[0], first[2]["Content-Type"], first[3]) == (
        "POST", "application/json", b'{"size": 1}',
    )  # fmt: skip
    assert second[3] == b"{}"


def test_without_a_token_it_sends_none(server):
    ApiClient(f"http://127.0.0.1:{server.server_port}").get("/thing")

    assert "Authorization" not in server.seen[0][2]


def test_a_refusal_keeps_the_problem(client):
    with pytest.raises(ApiError, match="Nothing is here") as refusal:
        client.get("/gone")

    assert refusal.value.status == 404
    assert refusal.value.problem == ANSWERS["/gone"][1]


def test_only_404_means_that_it_does_not_exist(client):
    assert client.exists("/thing") is True
    assert client.exists("/gone") is False
    with pytest.raises(ApiError):
        client.exists("/broken")
