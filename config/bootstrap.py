"""Make the virtual environment of this checkout, with the pinned set, on nothing but Python.

Run by the Makefile as `python3 -I config/bootstrap.py VENV LOCK`.
"""

from __future__ import annotations

import hashlib
import importlib.util
import subprocess
import sys
from pathlib import Path

OLDEST = (3, 11)
NEWEST = (3, 13)


def main(venv_dir: Path, lock: Path) -> None:
    """Create the environment if it is missing, and install the lock if it changed.

    Both locks pin alike what they share, so that one may be put on top of the other. A lock
    names everything that is needed, so pip resolves nothing: an older pip would take the
    newest release for a name with an extra (`coverage[toml]`) and refuse it for want of a hash.
    """
    refuse_unfit_python()
    stamp = venv_dir / "installed-lock"
    digest = hashlib.sha256(lock.read_bytes()).hexdigest()
    installed = stamp.read_text().split() if stamp.exists() else []
    if digest in installed:
        return
    python = venv_dir / "bin" / "python"
    if not python.exists():
        run(sys.executable, "-m", "venv", str(venv_dir))
    print(f"Installing the pinned packages into {venv_dir} ...", flush=True)  # noqa: T201
    run(
        str(python),
        "-m",
        "pip",
        "--disable-pip-version-check",
        "install",
        "--quiet",
        "--require-hashes",
        "--no-deps",
        "-r",
        str(lock),
    )
    stamp.write_text("\n".join([*installed, digest]))


def refuse_unfit_python() -> None:
    """Say in a sentence what is missing, before anything fails with a traceback."""
    here = sys.version_info[:2]
    if not OLDEST <= here <= NEWEST:
        sys.exit(
            f"Python {here[0]}.{here[1]} does not fit: use 3.11 to 3.13, for example"
            " `make PYTHON=python3.12 demo`."
        )
    missing = [name for name in ("venv", "ensurepip") if importlib.util.find_spec(name) is None]
    if missing:
        sys.exit(
            f"This Python lacks {' and '.join(missing)}: install your system's venv package"
            " (on Debian and Ubuntu: python3-venv), then try again."
        )


def run(*command: str) -> None:
    """Run a step; on failure stop with its exit code and no traceback."""
    done = subprocess.run(command, check=False)  # noqa: S603
    if done.returncode:
        sys.exit(f"Failed: {' '.join(command)}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
