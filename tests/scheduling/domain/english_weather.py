"""Real days of neighbouring sites, 1991 to 2021, out of an open package of the test environment.

The package (aquacrop, MIT) is found, not imported: its import compiles for half a minute.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

DATES = np.arange("1991-01-01", "2022-01-01", dtype="datetime64[D]")
COLUMNS = ("tmin_c", "tmax_c", "rain_mm", "et0_mm")
# Distances of the county towns' surroundings, roughly [km]; only their order and weight matter.
KM_FROM_NORFOLK = {"suffolk": 50.0, "cambridge": 80.0, "lincolnshire": 90.0}


@cache
def days_of(site: str) -> dict[str, np.ndarray]:
    spec = find_spec("aquacrop")
    assert spec is not None
    assert spec.origin is not None
    path = Path(spec.origin).parent / "data" / f"{site}_climate.txt"
    rows = np.loadtxt(path, skiprows=1)
    dates = np.array([f"{y:04.0f}-{m:02.0f}-{d:02.0f}" for d, m, y in rows[:, :3]], "datetime64[D]")
    assert (dates == DATES).all()
    return dict(zip(COLUMNS, rows[:, 3:].T, strict=True))
