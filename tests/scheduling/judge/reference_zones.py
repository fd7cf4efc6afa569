"""The six reference zones of the protocol for weather-based controllers, in the units it prints.

Shares no code with the product. The table (SOIL-16) is the trade-association test protocol, 8th
draft, Table 1, from memory. The protocol's monthly crop coefficients were not found; ours are:

- fescue and bermuda: cool-season and warm-season turf by month, University of California ANR,
  "Turfgrass Crop Coefficients", Table 1 (KC-01, KC-02);
- ground cover, woody shrubs, trees and ground cover: 0.5, woody plants in a dry climate,
  ANSI/ASABE S623.1 (KC-13, from memory).

Shade: common practice gives full shade half of the water of full sun; 75 % and 50 % shade lie
between on a straight line: 0.625 and 0.75.
"""

from __future__ import annotations

from dataclasses import dataclass

FESCUE = (0.61, 0.64, 0.75, 1.04, 0.95, 0.88, 0.94, 0.86, 0.74, 0.75, 0.69, 0.60)
BERMUDA = (0.61, 0.54, 0.76, 0.72, 0.79, 0.68, 0.71, 0.71, 0.62, 0.54, 0.58, 0.55)
WOODY = (0.5,) * 12


@dataclass(frozen=True)
class ReferenceZone:
    """One zone: soil numbers of the protocol's tables beside the words of its Table 1."""

    name: str
    texture: str
    slope_percent: float
    sun: float  # part of the need that its shade leaves
    storage_in: float
    crop: tuple[float, ...]  # January to December, north of the equator
    rate_in_h: float
    efficiency: float
    area_ft2: float
    intake_in_h: float
    standing_in: float


ZONES = (
    ReferenceZone("1 fescue", "loam", 6, 0.625, 0.85, FESCUE, 1.60, 0.55, 1000, 0.35, 0.25),
    ReferenceZone("2 bermuda", "silty_clay", 10, 1.0, 0.55, BERMUDA, 1.60, 0.60, 1200, 0.15, 0.16),
    ReferenceZone("3 cover", "loamy_sand", 8, 1.0, 0.90, WOODY, 1.40, 0.70, 800, 0.50, 0.26),
    ReferenceZone("4 shrubs", "sandy_loam", 12, 0.75, 2.00, WOODY, 1.40, 0.75, 500, 0.40, 0.24),
    ReferenceZone("5 trees", "clay", 2, 1.0, 2.25, WOODY, 0.20, 0.80, 650, 0.10, 0.20),
    ReferenceZone("6 bermuda", "clay", 20, 1.0, 0.55, BERMUDA, 0.35, 0.65, 1600, 0.10, 0.10),
)
