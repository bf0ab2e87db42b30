"""How fast a fleet is: seasons a second and core, what the engine adds, memory, and what five million seasons would take.

    python benches/fleet.py [--price 0.05]

Build the package for release first (`maturin develop --release`). The year is made up: 8,760 hours by the rule below.
Sleeping tasks stand for workers that this computer does not have: they show what the scheduler and the client can do,
not what a network does.
"""

from __future__ import annotations

import argparse
import datetime as dt
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from dogdays.fleet import Fleet, Plan, engine, parts
from dogdays.fleet.cases import cases
from dogdays.fleet.worker import Work

EXAMPLE = Path(__file__).parents[1] / "examples" / "fleet"
SEASONS = 5_000_000
#: What a sleeping task takes, s, and how many cases it carries.
SLEEP_S = 0.5
CARRIED = 60


def year(path: Path, number: int) -> None:
    """A year of hours: 13 + 9 K over the year, 4.5 K over the day, spells of 3 K; invented."""
    lines = ["time,temperature_degC"]
    turn = 2 * math.pi
    for hour in range(8760):
        day = hour / 24
        at = dt.datetime(2025, 1, 1) + dt.timedelta(hours=hour)
        room = 13 + 9 * math.cos(turn * (day - 200) / 365) + 4.5 * math.cos(turn * (hour - 15) / 24)
        room += 3 * math.sin(turn * (day + 3 * number) / 9.7) + 6
        lines.append(f"{at:%Y-%m-%dT%H:%M},{room:.1f}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def a_plan(folder: Path, product: str, more: str = "") -> Plan:
    """A plan in a folder with six of those years."""
    run = (EXAMPLE / "housing.toml").read_text(encoding="utf-8")
    (folder / "housing.toml").write_text(run, encoding="utf-8")
    for number in range(6):
        year(folder / f"year-{number}.csv", number)
    fans = '[arrangement."fan 40"]\narrangement.kind = "extracting"\narrangement.flow = "40 m3/h"\n'
    fans += "require.must_stay_closed = false\n"
    text = f'[fleet]\nrun = "housing.toml"\n{more}\n{fans}\n[[product]]\n{product}\n'
    (folder / "plan.toml").write_text(text, encoding="utf-8")
    return Plan.read(folder / "plan.toml")


WHOLE = """weather = ["year-0.csv", "year-1.csv"]
machine = ["bench-220", "bench-60"]
material = ["pla", "petg"]
arrangement = ["closed", "fan 40"]"""


def seasons(folder: Path) -> float:
    """Seasons of 8,760 hours on one core, by arrangement; the mean of all, s."""
    plan = a_plan(folder, WHOLE, 'case_cost = "1 s"\npartition = "2 s"')
    fleet = Fleet.of(plan, folder / "one")
    # Of the processor: other work on the computer does not count.
    begun = time.process_time()
    fleet.run(workers=0)
    took = time.process_time() - begun
    by_kind: dict[str, list[float]] = {}
    starts = 0
    for name in fleet.names():
        for row in parts.load(fleet.results / "parts", name).to_pylist():
            by_kind.setdefault(f"{row['machine']}, {row['arrangement']}", []).append(row["seconds"])
            starts += row["starts"]
    count = fleet.seasons_done
    for kind, each in sorted(by_kind.items()):
        print(f"  {kind}: {sum(each) / len(each):.2f} s a season by the clock")
    print(f"  {count} seasons of {starts // count:,} starts in {took:.1f} s of one core: {count / took:.2f} a second and core")
    peak_MB = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"  memory of the process at most: {peak_MB:.0f} MB")
    return took / count


def on_workers(folder: Path, workers: int) -> None:
    """How much of their time workers compute; starting them does not count. Other work on the computer hardly matters:
    it slows down both sides."""
    quick = 'weather = ["year-0.csv", "year-1.csv"]\nmachine = "bench-220"\nmaterial = ["pla", "petg", "abs", "asa"]'
    plan = a_plan(folder, quick, 'starts = "6 h"\ncase_cost = "1 s"\npartition = "2 s"')
    fleet = Fleet.of(plan, folder / f"on-{workers}")
    (fleet.results / "parts").mkdir(parents=True)
    with engine.connected(None, workers) as client:
        begun = time.perf_counter()
        engine.on_dask(client, fleet.work(), fleet.tally, lambda *told: None, _compute)
        took = time.perf_counter() - begun
    busy = sum(receipt.seconds for receipt in fleet.tally.receipts.values()) / (workers * took)
    print(f"  {workers}: {fleet.seasons_done} seasons, {took / fleet.tally.computed:.1f} s a partition, {100 * busy:.1f} % computing")


def _compute(work: Work) -> parts.Receipt:
    from dogdays.fleet.worker import compute

    return compute(work)


def _sleep(work: Work) -> parts.Receipt:
    time.sleep(SLEEP_S)
    return parts.Receipt(work.identity, len(work.cases), 0, SLEEP_S)


def sleeping(folder: Path, workers: int) -> None:
    """How many of so many workers are busy, with tasks that only sleep."""
    from distributed import Client, LocalCluster

    few = 'weather = "year-0.csv"\nmachine = "bench-60"\nmaterial = "pla"'
    each = tuple(("0" * 64, case) for case in cases(a_plan(folder, few))) * CARRIED
    count = max(6 * workers, 24)

    def works() -> Iterator[tuple[Work, float]]:
        for k in range(count):
            yield Work(f"{k:064d}", each, folder, None, folder, (), {}, "0"), SLEEP_S

    # Threads, 64 a process: sleeping takes no core.
    processes = max(workers // 64, 1)
    tally = engine.Tally()
    with LocalCluster(
        n_workers=processes,
        threads_per_worker=workers // processes,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        silence_logs=50,
    ) as cluster, Client(cluster, set_as_default=False) as client:
        begun, used = time.perf_counter(), time.process_time()
        engine.on_dask(client, works(), tally, lambda *told: None, _sleep)
        took, used = time.perf_counter() - begun, time.process_time() - used
    busy = count * SLEEP_S / workers / took
    print(f"  {workers} workers: {100 * busy:.0f} % busy, {1000 * used / count:.1f} ms of client and scheduler a partition")


def planning(folder: Path) -> None:
    """A million rows of a table, in a process of its own."""
    with (folder / "cases.csv").open("w") as file:
        file.write("site,machine,material,weather,room.above_outdoors\n")
        for k in range(1_000_000):
            file.write(f"S{k % 40},bench-60,pla,year-{k % 6}.csv,{k} mK\n")
    text = '[fleet]\nrun = "housing.toml"\ncase_cost = "1 s"\n[[table]]\nfile = "cases.csv"\n'
    (folder / "plan.toml").write_text(text, encoding="utf-8")
    code = (
        "import re, time; from pathlib import Path; from dogdays.fleet import Fleet, Plan\n"
        "t = time.perf_counter(); f = Fleet.of(Plan.read(Path('plan.toml')), keep=False); a = time.perf_counter() - t\n"
        "n = sum(1 for _ in f.work()); b = time.perf_counter() - t - a\n"
        # The peak of this program on Linux; `getrusage` would begin with that of the one that started it.
        "m = int(re.search(r'VmHWM:\\s+(\\d+)', Path('/proc/self/status').read_text())[1]) / 1024\n"
        "print(f'  1,000,000 rows: counted in {a:.0f} s, made into {n:,} partitions in {b:.0f} s, {m:.0f} MB at most')"
    )
    subprocess.run([sys.executable, "-c", code], cwd=folder, check=True)


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--price", type=float, default=0.05, help="of a core hour; the default is invented")
    price = parser.parse_args().price
    # Before anything is computed.
    os.environ["RAYON_NUM_THREADS"] = "1"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print("seasons on one core, in this process:")
        each_s = seasons(folder)
        print("with workers:")
        for workers in (1, 2):
            on_workers(folder, workers)
        print(f"sleeping tasks of {SLEEP_S:g} s, {CARRIED} cases in each:")
        for workers in (1, 2, 64, 256):
            sleeping(folder, workers)
        print("planning:")
        planning(folder)
        hours = SEASONS * each_s / 3600
        print(f"{SEASONS:,} such seasons: {hours:,.0f} core hours")
        for cores in (2, 64, 256, 1024):
            print(f"  on {cores:,} cores: {hours / cores:,.1f} h")
        print(f"  at {price:g} a core hour: {hours * price:,.0f}")


if __name__ == "__main__":
    main()
