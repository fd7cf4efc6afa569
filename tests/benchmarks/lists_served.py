"""Lists as they are served: requests a second and waits, at two and at eight clients here.

    export DATABASE_URL=postgres://postgres@127.0.0.1:5432/<database>
    python -m tests.benchmarks.lists_served

Makes a test database beside the one named, starts gunicorn with two workers on it, and ends both.
Each client asks for the next page when it has read the last; all of them stop by themselves.
"""

from __future__ import annotations

import argparse
import http.client
import os
import socket
import statistics
import subprocess
import sys
import threading
import time

import django

LISTS = ("properties", "zones", "visits?ordering=planned_date", "catch-tests", "audit-ages")
CLIENTS, WORKERS, ROWS = (2, 8), 2, 55
START_S = 30.0


def ask(port: int, path: str, secret: str, until: float, waits: list[float]) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    while time.monotonic() < until:
        start = time.perf_counter()
        headers = {"Authorization": f"Bearer {secret}"}
        connection.request("GET", f"/api/v1/{path}", headers=headers)
        answer = connection.getresponse()
        answer.read()
        assert answer.status == 200, answer.status
        waits.append(time.perf_counter() - start)
    connection.close()


def load(port: int, path: str, secret: str, clients: int, seconds: float) -> tuple[float, float]:
    """Return requests a second, and the wait [ms] that nineteen of twenty do not exceed."""
    waits: list[list[float]] = [[] for _ in range(clients)]
    until = time.monotonic() + seconds
    threads = [
        threading.Thread(target=ask, args=(port, path, secret, until, mine)) for mine in waits
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    met = [wait for mine in waits for wait in mine]
    return len(met) / seconds, 1000 * statistics.quantiles(met, n=20)[-1]


def serve(database_url: str) -> tuple[subprocess.Popen[bytes], int]:
    """Start gunicorn on a free port, and wait until it answers."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    command = [sys.executable, "-m", "gunicorn", "config.wsgi", "--workers", str(WORKERS),
               "--bind", f"127.0.0.1:{port}", "--log-level", "error"]  # fmt: skip
    env = {**os.environ, "DATABASE_URL": database_url, "READ_RATE": "1000000/min",
           "DJANGO_SETTINGS_MODULE": "config.settings.local"}  # fmt: skip
    server = subprocess.Popen(command, env=env)
    until = time.monotonic() + START_S
    while time.monotonic() < until:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return server, port
        time.sleep(0.2)
    server.terminate()
    raise RuntimeError("gunicorn did not start")


def run(seconds: float) -> None:
    from django.db import connection

    from properties.services.sign_in import issue_token
    from tests import cast
    from tests.list_rows import make_rows_for_lists

    cast.make_company()
    office = cast.make_office()
    cast.make_technician()
    cast.make_property()
    for number in range(1, ROWS + 1):
        make_rows_for_lists(number)
    _, secret = issue_token(office, label="load", actor=office, now=django.utils.timezone.now())
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    head, _, _ = os.environ["DATABASE_URL"].rpartition("/")
    server, port = serve(f"{head}/{connection.settings_dict['NAME']}")
    try:
        print(f"{'list':32}{'clients':>8}{'req/s':>8}{'p95 ms':>8}")
        for path in LISTS:
            load(port, path, secret, WORKERS, 1.0)  # each worker reads its modules once
            for clients in CLIENTS:
                rate, p95_ms = load(port, path, secret, clients, seconds)
                print(f"{path:32}{clients:8}{rate:8.1f}{p95_ms:8.1f}", flush=True)
    finally:
        server.terminate()
        server.wait(timeout=30)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=5.0)
    arguments = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.test")
    django.setup()
    from django.db import connection

    if connection.vendor != "postgresql":
        print("Name a PostgreSQL database in DATABASE_URL.")
        return 2
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        run(arguments.seconds)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
