"""What the tests of the fleet share: small plans, tables of all parts, and tasks that workers can import."""

from __future__ import annotations

import datetime as dt
import math
import os
import time
from pathlib import Path
from typing import Any

RUN = """
[run]
name = "Clip"
start = "2026-07-02 07:00"
duration = "10 h"

[machine]
name = "bench-60"

[material]
name = "pla"

[part]
mass = "90 g"

[room]
temperature = "24 degC"

[arrangement]
kind = "closed"

[require]
margin = "3 K"
"""

PLAN = """
[fleet]
run = "run.toml"
starts = "8 h"
case_cost = "1 s"
partition = "2 s"

[site.North]
weather = "north-*.csv"

[site.South]
weather = "south-*.csv"

[[product]]
site = "*"
machine = ["bench-60", "bench-220"]
material = ["pla", "petg"]
"""
#: 2 sites, 2 years each, 2 machines, 2 materials; two seasons a partition.
SEASONS = 16
PARTITIONS = 8


def write_weather(path: Path, mean_degC: float, days: int = 3) -> None:
    """An hourly series with a swing of 4 K."""
    lines = ["time,temperature_degC"]
    for hour in range(24 * days + 1):
        at = dt.datetime(2026, 7, 1) + dt.timedelta(hours=hour)
        lines.append(f"{at:%Y-%m-%dT%H:%M},{mean_degC + 4 * math.cos((hour - 15) / 24 * 2 * math.pi):.2f}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def write_plan(folder: Path, plan: str = PLAN) -> Path:
    """A plan with its run file and four weather files."""
    folder.mkdir(exist_ok=True)
    (folder / "run.toml").write_text(RUN, encoding="utf-8")
    for site, mean_degC in (("north", 20.0), ("south", 33.0)):
        for year in (2024, 2025):
            write_weather(folder / f"{site}-{year}.csv", mean_degC + year - 2024)
    path = folder / "plan.toml"
    path.write_text(plan, encoding="utf-8")
    return path


def rows(results: Path) -> list[dict[str, Any]]:
    """All rows of all parts by identity, without the time that they took."""
    from dogdays.fleet import parts

    found: list[dict[str, Any]] = []
    for path in sorted((results / "parts").glob("*.parquet")):
        found += parts.load(results / "parts", path.stem).drop_columns(["seconds"]).to_pylist()
    return sorted(found, key=lambda row: str(row["identity"]))


def begun(results: Path) -> list[tuple[int, str]]:
    """Which process began which partition, in order."""
    log = results / "begun.log"
    if not log.exists():
        return []
    lines = (line.split() for line in log.read_text().splitlines())
    return [(int(pid), name) for pid, name in lines]


def slow(work: Any) -> Any:
    """A task that writes down that it began, and takes its time."""
    from dogdays.fleet.worker import compute

    with (work.parts.parent / "begun.log").open("a") as log:
        log.write(f"{os.getpid()} {work.identity}\n")
    time.sleep(0.4)
    return compute(work)


def dies(work: Any) -> Any:
    """A task that takes its worker down, for seasons in the north of the first year."""
    from dogdays.fleet.worker import compute

    if any(case.weather == "north-2024.csv" for _, case in work.cases):
        os._exit(1)
    return compute(work)


def too_full(work: Any) -> Any:
    """A task that can't write."""
    raise OSError(28, "No space left on device")
