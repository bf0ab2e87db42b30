"""Makes the weather of the example: three invented sites, three invented summers, by a rule without any chance in it.

With `d` days from the first midnight, `h` hours of the day, `y` the number of the summer and angles in turns:
mean + 3 cos((d - 25) / 60) + swing cos((h - 15) / 24) + 2.5 sin((d + 7 y) / 9.7) + 1.2 y - 1.2, in °C to a tenth.
"""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

#: Mean, swing.
SITES = {"orvelsby": (21.0, 5.0), "tarn-mill": (25.5, 6.0), "saltgrass": (29.0, 6.5)}
YEARS = (2023, 2024, 2025)
DAYS = 42


def temperature_degC(mean_degC: float, swing_K: float, year: int, hours: int) -> float:
    """The air beside the machines, hours after midnight of the first day."""
    d, h, y = hours / 24, hours % 24, year - YEARS[0]
    turn = 2 * math.pi
    season_K = 3 * math.cos(turn * (d - 25) / 60)
    day_K = swing_K * math.cos(turn * (h - 15) / 24)
    spell_K = 2.5 * math.sin(turn * (d + 7 * y) / 9.7)
    return mean_degC + season_K + day_K + spell_K + 1.2 * y - 1.2


def main() -> None:
    """Writes a file a site and summer."""
    folder = Path(__file__).parent / "weather"
    for site, (mean_degC, swing_K) in SITES.items():
        for year in YEARS:
            first = dt.datetime(year, 6, 25)
            lines = ["time,temperature_degC"]
            for hours in range(0, 24 * DAYS, 3):
                at = first + dt.timedelta(hours=hours)
                lines.append(f"{at:%Y-%m-%dT%H:%M},{temperature_degC(mean_degC, swing_K, year, hours):.1f}")
            (folder / f"{site}-{year}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
