"""A typed client is made from the description, checked for types, and used on a running server."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from properties.domain.ids import uuid7
from tests import cast

HERE = Path(__file__).resolve().parent
DOCUMENT = HERE.parents[1] / "config" / "openapi.yaml"
OPTIONS = """
project_name_override: garden-client
package_name_override: garden_client
post_hooks: []
"""
# What the generator writes is its own; how we use it is checked strictly.
TYPES = "[mypy]\nstrict = true\n[mypy-garden_client.*]\nignore_errors = true\n"


@pytest.fixture(scope="module")
def generated(tmp_path_factory) -> Path:
    """Make the client of the whole description; what is no JSON it leaves to others."""
    folder: Path = tmp_path_factory.mktemp("client")
    (folder / "options.yml").write_text(OPTIONS)
    (folder / "mypy.ini").write_text(TYPES)
    done = subprocess.run(
        [
            sys.executable, "-m", "openapi_python_client", "generate", "--path", str(DOCUMENT),
            "--meta", "none", "--config", str(folder / "options.yml"),
            "--output-path", str(folder / "garden_client"),
        ],
        cwd=folder, check=False, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return folder


@pytest.fixture
def morning(generated, monkeypatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(generated))
    found = importlib.util.spec_from_file_location("typed_client", HERE / "typed_client.py")
    assert found is not None
    assert found.loader is not None
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def test_the_client_is_used_by_its_types(generated):
    done = subprocess.run(
        [
            sys.executable, "-m", "mypy", "--config-file", str(generated / "mypy.ini"),
            "--cache-dir", str(generated / "cache"), str(HERE / "typed_client.py"),
        ],
        cwd=generated, env={"MYPYPATH": str(generated)}, check=False, capture_output=True,
        text=True,
    )  # fmt: skip

    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.django_db(transaction=True)
def test_a_morning_in_the_office_with_the_client(morning, live_server):
    cast.make_company()
    office = cast.make_office()
    cast.make_second_factor(office)
    for number in range(4):
        cast.make_customer(name=f"Client {number}", email=f"c{number}@client.example")

    zone_id, sign_in = uuid7(), (live_server.url, office.email, cast.PASSWORD, cast.code_at())
    with morning.signed_in(*sign_in) as client:
        zone = morning.make_garden(client, zone_id)
        etag = morning.etag_of(client, zone)
        changed = morning.change_name(client, zone, "Back lawn", etag)
        stale = morning.change_name(client, zone, "Side lawn", etag)
        pages = morning.pages(client)

    assert zone.id == zone_id
    assert (changed.status_code, changed.parsed.name) == (200, "Back lawn")
    assert (stale.status_code, stale.parsed.code) == (412, "changed-meanwhile")
    assert [len(page) for page in pages] == [2, 2, 1]
    assert "Ingrid Holm" in [name for page in pages for name in page]
