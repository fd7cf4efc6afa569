"""The demo and the server as a person starts them: real processes in a folder of their own."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
import signal
import subprocess
import sys
import uuid
from contextlib import contextmanager
from io import BytesIO

import psycopg
import pytest
from django.conf import settings
from pypdf import PdfReader

from reports.management.demo.client import ApiClient
from reports.management.demo.servers import free_port, worker_command

OURS = ("DATABASE_URL", "REDIS_URL", "DJANGO_SETTINGS_MODULE", "VAR_DIR", "SECRET_KEY")


def environment(var_dir, **more):
    kept = {name: value for name, value in os.environ.items() if name not in OURS}
    return {**kept, "VAR_DIR": str(var_dir), **more}


def manage(env, *words):
    return subprocess.run(
        [sys.executable, "manage.py", *words], cwd=settings.BASE_DIR, env=env,
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip


def check_story(said, var_dir, revision=1):
    assert said.returncode == 0, said.stderr
    for words in ("Front lawn", "July", "12 cups, DU 0.60", "estimated from the heads",
                  "Tickets: ", "poured together, uniformity unknown", "To set for", "Program A",
                  "Month by month", "2014 to 2018", "Found against fitted",
                  "saved in zones", "added in zones", "nine of ten coming years"):  # fmt: skip
        assert words in said.stdout
    path = var_dir / f"audit-summary-{revision}.pdf"
    assert f"PDF: {var_dir.name}/{path.name}" in said.stdout
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(path.read_bytes())).pages)
    assert "Vasquez-Holm garden" in text
    assert "What to set through the season" in text


def test_the_demo_runs_from_nothing_and_runs_again(tmp_path):
    var_dir = tmp_path / "var"
    env = environment(var_dir)

    first = manage(env, "demo")
    check_story(first, var_dir)
    assert "Days: 7305 added, 0 changed" in first.stdout
    (var_dir / "audit-summary-1.pdf").unlink()

    second = manage(env, "demo")
    check_story(second, var_dir)
    assert "Days: 0 added, 0 changed, 7305 unchanged." in second.stdout
    passwords = {re.search(r"with (\S+)$", said.stdout).group(1) for said in (first, second)}
    assert len(passwords) == 1
    check_doors(env, passwords.pop())


def check_doors(env, password):
    with serving(env) as (base_url, said):
        check_july(base_url, password)
        assert f"{base_url}/admin/" in said
        assert f"{base_url}/api/v1/docs" in said
        assert f"Sign in as office@meadowlark.example with {password}" in said


def check_july(base_url, password):
    """The front lawn in July 2016, the dry year of the five: found and fitted by hand.

    July 2016 begins on a Friday: five Fridays, Saturdays and Sundays, four of the other days.
    Found: program A on Monday, Wednesday, Friday and Sunday 4 + 4 + 5 + 5 = 18 x 18 min = 324 min;
    program C on Tuesday and Saturday 4 + 5 = 9 x 12 min = 108 min: 432 min in all. The cups hold
    3.14 in together, 3.14 / 12 in 10 min: 1.57 in/h. 432 / 60 x 1.57 = 11.304 in, on 2100 ft2
    11.304 / 12 x 2100 = 1978.2 ft3, of 1728 / 231 gal each: 14 798 gal.
    """
    office = ApiClient(base_url)
    sign_in = {"email": "office@meadowlark.example", "password": password, "label": "Test"}
    office.token = office.post("/api/v1/sign-in", sign_in)["token"]
    asked = office.get("/api/v1/replays")["results"][0]
    answer = office.get(f"/api/v1/replays/{asked['id']}?units=us")["answer"]
    found, _, fitted, _ = (
        next(year for year in variant["zones"][0]["months"] if year["year"] == 2016)
        for variant in answer["variants"]
    )

    assert answer["picked_years"]["dry"] == 2016
    assert found["watering_days"][6] == 18 + 9
    assert found["litres"]["unit"] == "gal"
    assert found["litres"]["values"][6] == pytest.approx(14_798, abs=1)
    minutes = fitted_minutes(office)
    assert minutes > 0
    saved = found["litres"]["values"][6] - fitted["litres"]["values"][6]
    assert saved == pytest.approx((432 - minutes) / 60 * 1.57 / 12 * 2100 * 1728 / 231, abs=1)


def fitted_minutes(office):
    """Count the minutes of zone 1 in July 2016 off the table that a person types from."""
    newest = office.get("/api/v1/controller-programs")["results"][0]
    table = office.get(f"/api/v1/controller-programs/{newest['id']}/table?month=7")
    july = [dt.date(2016, 7, day) for day in range(1, 32)]
    return sum(
        zone["run_min"] * len(program["starts"])
        for program in table["programs"]
        for day in july
        for zone in program["zones"]
        if zone["number"] == 1 and runs_on(program["pattern"], day)
    )


def runs_on(pattern, day):
    if pattern is None:
        return False
    if pattern["every_days"]:
        return (day - dt.date(2024, 1, 1)).days % pattern["every_days"] == pattern["first_day"]
    return day.weekday() in pattern["weekdays"]


@contextmanager
def serving(env):
    """Run `manage.py serve`, yield its address and what it says, and stop it as a person would."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-u", "manage.py", "serve", "--port", str(port)], cwd=settings.BASE_DIR,
        env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    try:
        said = "".join(process.stdout.readline() for _ in range(2))
        base_url = f"http://127.0.0.1:{port}"
        assert ApiClient(base_url).get_bytes("/healthz")
        yield base_url, said
    finally:
        process.send_signal(signal.SIGTERM)
        rest, _ = process.communicate(timeout=30)
    assert rest.endswith("Stopped.\n")


def test_serve_without_a_company_says_how_to_make_one(tmp_path):
    with serving(environment(tmp_path)) as (base_url, said):
        assert f"{base_url}/admin/" in said
        assert "No company yet: `make demo`, or `manage.py start_company`." in said


def test_the_demo_refuses_a_foreign_database(tmp_path):
    env = environment(tmp_path)
    manage(env, "migrate")
    manage(env, "start_company", "Somebody else", "office@else.example")

    refused = manage(env, "demo")

    assert refused.returncode == 1
    assert "belongs to Somebody else" in refused.stderr
    assert "set VAR_DIR or DATABASE_URL" in refused.stderr
    assert "Traceback" not in refused.stderr
    assert not (tmp_path / "demo-sign-in.json").exists()


def test_the_worker_is_celery_where_there_is_a_broker(settings):
    settings.REDIS_URL = ""
    assert worker_command()[-2:] == ["manage.py", "work"]

    settings.REDIS_URL = "redis://127.0.0.1:6379/9"
    assert "celery" in worker_command()


@pytest.fixture
def own_database():
    """A PostgreSQL database of this test's own, on the server that the suite uses."""
    server, _, _ = os.environ["DATABASE_URL"].rpartition("/")
    mine = f"demo_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{mine}"')
        yield f"{server}/{mine}"
        connection.execute(f'DROP DATABASE "{mine}" WITH (FORCE)')


@pytest.mark.services
def test_the_demo_runs_on_postgresql_with_celery(tmp_path, own_database):
    env = environment(tmp_path, DATABASE_URL=own_database, REDIS_URL=os.environ["REDIS_URL"])

    for _ in range(2):
        check_story(manage(env, "demo"), tmp_path)
    assert not (tmp_path / "db.sqlite3").exists()
    assert json.loads((tmp_path / "demo-sign-in.json").read_text())["password"]
