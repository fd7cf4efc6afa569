"""The virtual environment: made once, made anew when the lock changes, refused in words."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import pytest

from config import bootstrap


@pytest.fixture
def ran(monkeypatch) -> list[tuple[str, ...]]:
    commands: list[tuple[str, ...]] = []
    monkeypatch.setattr(bootstrap, "run", lambda *command: commands.append(command))
    return commands


@pytest.fixture
def paths(tmp_path):
    lock = tmp_path / "lock.txt"
    lock.write_text("django==5.2")
    (tmp_path / "venv").mkdir()
    return tmp_path / "venv", lock


def test_the_environment_is_made_and_filled_by_hash(ran, paths):
    venv, lock = paths

    bootstrap.main(venv, lock)

    make, install = ran
    assert make == (sys.executable, "-m", "venv", str(venv))
    assert install[:3] == (str(venv / "bin" / "python"), "-m", "pip")
    assert "install" in install
    assert install[-4:] == ("--require-hashes", "--no-deps", "-r", str(lock))


def test_a_second_time_nothing_is_done(ran, paths):
    bootstrap.main(*paths)
    ran.clear()

    bootstrap.main(*paths)

    assert ran == []


def test_a_changed_lock_is_installed_into_the_same_environment(ran, paths):
    venv, lock = paths
    bootstrap.main(venv, lock)
    (venv / "bin").mkdir()
    (venv / "bin" / "python").touch()
    ran.clear()

    lock.write_text("django==5.2.1")
    bootstrap.main(venv, lock)

    assert [command[2] for command in ran] == ["pip"]


def test_a_failed_install_is_tried_again(paths, monkeypatch):
    def failed(*command):
        sys.exit("Failed")

    monkeypatch.setattr(bootstrap, "run", failed)
    with pytest.raises(SystemExit):
        bootstrap.main(*paths)

    assert not (paths[0] / "installed-lock").exists()


@pytest.mark.parametrize("version", [(3, 10, 9), (3, 14, 0), (2, 7, 18)])
def test_a_python_that_does_not_fit_is_refused_in_a_sentence(monkeypatch, version):
    monkeypatch.setattr(bootstrap, "sys", SimpleNamespace(version_info=version, exit=sys.exit))

    with pytest.raises(SystemExit, match=r"use 3.11 to 3.13"):
        bootstrap.refuse_unfit_python()


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 12, 4), (3, 13, 1)])
def test_a_python_that_fits_passes(monkeypatch, version):
    monkeypatch.setattr(bootstrap, "sys", SimpleNamespace(version_info=version, exit=sys.exit))

    bootstrap.refuse_unfit_python()


def test_a_python_without_venv_is_refused_with_the_remedy(monkeypatch):
    monkeypatch.setattr(
        bootstrap.importlib.util, "find_spec", lambda name: None if name == "ensurepip" else name
    )

    with pytest.raises(SystemExit, match=r"lacks ensurepip.*python3-venv"):
        bootstrap.refuse_unfit_python()


def test_a_failed_step_ends_with_its_command_and_no_traceback():
    bootstrap.run(sys.executable, "-c", "pass")

    with pytest.raises(SystemExit, match=r"Failed: .*raise SystemExit"):
        bootstrap.run(sys.executable, "-c", "raise SystemExit(3)")
