"""The house stands: nothing points upward, and every room is a known one."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from celery import current_app
from django.apps import apps
from django.db.migrations.loader import MigrationLoader

ROOT = Path(__file__).resolve().parents[2]
FLOORS = ("properties", "audits", "scheduling", "reports", "config")  # from the ground up
APPS = FLOORS[:-1]
ROOMS = {
    "admin", "api", "domain", "fonts", "http", "management", "migrations", "models", "pdf",
    "selectors", "services",
}  # fmt: skip
SINGLE_FILES = {"__init__.py", "apps.py", "receivers.py", "signals.py", "tasks.py"}
PROCESS_DOORS = {"config.wsgi", "config.celery"}  # named on the command line of a new process
FORBIDDEN_NAMES = {"utils.py", "helpers.py", "common.py", "misc.py"}


def is_upward(own: str, other: str) -> bool:
    return other in FLOORS and FLOORS.index(other) > FLOORS.index(own)


def sources(app: str) -> Iterator[Path]:
    return (path for path in (ROOT / app).rglob("*.py"))


def words_in(path: Path) -> Iterator[str]:
    """Yield the text constants of a source file."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


@pytest.mark.parametrize("app", APPS)
def test_no_foreign_key_points_upward(app):
    upward = [
        str(field)
        for model in apps.get_app_config(app).get_models()
        for field in model._meta.get_fields()
        if field.is_relation and field.concrete
        if is_upward(app, field.related_model._meta.app_label)
    ]

    assert upward == []


@pytest.mark.parametrize("app", APPS)
def test_no_migration_depends_on_a_higher_app(app):
    migrations = MigrationLoader(None).disk_migrations
    upward = [
        (name, needed)
        for (label, name), migration in migrations.items()
        if label == app
        for needed in migration.dependencies
        if is_upward(app, needed[0])
    ]

    assert any(label == app for label, _ in migrations)
    assert upward == []


@pytest.mark.parametrize("app", APPS)
def test_no_lazy_name_of_a_model_task_or_module_points_upward(app):
    upward = [
        (str(path.relative_to(ROOT)), word)
        for path in sources(app)
        for word in words_in(path)
        if (name := re.fullmatch(r"([a-z]+)(\.\w+)+", word))
        if is_upward(app, name[1]) and word not in PROCESS_DOORS
    ]

    assert upward == []


def test_tasks_are_named_after_their_own_app():
    current_app.loader.import_default_modules()
    ours = {
        name: task
        for name, task in current_app.tasks.items()
        if task.__module__.split(".")[0] in APPS
    }

    assert {"properties.run_job", "properties.sweep_jobs"} <= ours.keys()
    for name, task in ours.items():
        assert name.split(".")[0] == task.__module__.split(".")[0]


@pytest.mark.parametrize("app", APPS)
def test_the_door_of_an_app_is_empty(app):
    assert (ROOT / app / "__init__.py").read_text() == ""


@pytest.mark.parametrize("app", APPS)
def test_an_app_has_only_known_rooms(app):
    present = {path.name for path in (ROOT / app).iterdir() if path.name != "__pycache__"}

    assert present - ROOMS - SINGLE_FILES == set()


@pytest.mark.parametrize("app", FLOORS)
def test_no_file_is_named_after_nothing_or_past_three_hundred_lines(app):
    for path in sources(app):
        assert path.name not in FORBIDDEN_NAMES, path
        if "migrations" not in path.parts:
            assert len(path.read_text().splitlines()) <= 300, path


@pytest.mark.parametrize("app", APPS)
def test_domains_read_no_clock_and_draw_no_lots(app):
    """But for ids, which are made of time and randomness, and a search that must end in time."""
    imported = {
        (path.name, alias.name)
        for path in (ROOT / app / "domain").glob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    allowed = {("ids.py", "time"), ("ids.py", "os"), ("programs_linear.py", "time")}

    forbidden = {"time", "random", "os", "secrets", "pathlib", "socket", "requests", "django"}
    assert {pair for pair in imported - allowed if pair[1].split(".")[0] in forbidden} == set()


def test_the_higher_floor_is_told_from_the_lower():
    assert is_upward("properties", "reports")
    assert is_upward("audits", "config")
    assert not is_upward("reports", "properties")
    assert not is_upward("audits", "audits")
    assert not is_upward("properties", "django")
