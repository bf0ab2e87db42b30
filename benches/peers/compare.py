"""Times the program beside CVODE, and beside LSODA and Radau of SciPy, at equal accuracy. Called by run.sh.

    compare.py PROJECT YEAR.csv FOLDER [--starts N] [--rounds N]

See README.md beside this file for what is compared and how.
"""

import argparse
import ctypes
import json
import os
import resource
import subprocess
import sys
import time
import warnings
from datetime import datetime, timedelta
from pathlib import Path

import cffi
import numpy as np
import scipy
import sksundae
from scipy.integrate import ODEintWarning, odeint, solve_ivp

import generate

ALLOWED_K = 0.01
# Tolerances are absolute, in K: kelvins above absolute zero say nothing about a chamber.
RELATIVE = 1e-10
LADDER_K = [0.5, 0.3, 0.2, 0.1, 0.05, 0.03, 0.02, 0.01, 5e-3, 3e-3, 2e-3, 1e-3, 5e-4, 3e-4, 2e-4, 1e-4, 5e-5, 2e-5, 1e-5]
GRID_S = 600.0
STARTS_OF_A_YEAR = 8760

RUN = """
[run]
name = "Peers"
start = "{start}"
duration = "160 h"
[machine]
name = "bench-220"
[material]
name = "pla"
[part]
mass = "2.3 kg"
[room]
series = "{series}"
[arrangement]
kind = "closed"
"""


class Job:
    """One start: what the right-hand side needs of it, and what came out."""

    def __init__(self, name, description, station):
        self.name, self.station = name, station
        self.chamber = generate.rebuild.Chamber(description)
        self.times = np.arange(0.0, description["duration_s"] + 1.0, GRID_S)
        duration = description["duration_s"]
        self.kinks = [t for t in description["given"]["temperature"]["times_s"] if 0.0 < t < duration]
        self.reference = None


def peak(values):
    """The highest of the values on the grid, by a parabola through its neighbours, K."""
    k = int(np.argmax(values))
    if k in (0, len(values) - 1):
        return float(values[k])
    a, b, c = values[k - 1 : k + 2]
    bend = a - 2.0 * b + c
    return float(b if bend == 0.0 else b - (a - c) ** 2 / (8.0 * bend))


class Bench:
    """The compiled network with the integrators around it."""

    def __init__(self, description, folder):
        self.exact = generate.Network(description, folder, tables=False)
        libraries = Path(sksundae.__file__).parent.parent / "scikit_sundae.libs"
        wanted = ("cvode", "core", "nvecserial", "sunmatrixdense", "sunlinsoldense")
        files = [next(libraries.glob(f"libsundials_{w}-*")) for w in wanted]
        more = ([generate.HERE / "cvode.c", *files], [f"-Wl,-rpath,{libraries}"])
        self.net = generate.Network(description, folder, tables=True, more=more)
        self.c = self.net.c
        ffi = cffi.FFI()
        ffi.cdef("void rhs(double, const double *, double *); double filament(double, const double *);")
        self.lib, self.buffer = ffi.dlopen(str(Path(folder) / "network-tables.so")), ffi.from_buffer
        self.counter = ctypes.c_long.in_dll(self.c, "evaluations")
        text = ctypes.create_string_buffer(40)
        self.c.version(text, 40)
        self.sundials = text.value.decode()

    def rates(self, t, y):
        """The C right-hand side for SciPy, of one state or of many side by side."""
        if y.ndim == 2:
            return np.stack([self.rates(t, np.ascontiguousarray(column)) for column in y.T], axis=1)
        out = np.empty_like(y)
        self.lib.rhs(t, self.buffer("double[]", y), self.buffer("double[]", out))
        return out

    def filaments(self, times, rows):
        return [self.lib.filament(t, self.buffer("double[]", y)) for t, y in zip(times, rows)]

    def cvode(self, job, manner, atol, rtol=RELATIVE):
        class Piece(ctypes.Structure):
            _fields_ = [*((x, ctypes.c_double) for x in ("begin", "end", "share", "growth")), ("k", ctypes.c_int)]

        pieces = [
            Piece(s["begin_s"], s["end_s"], s["part_share"], s["part_growth_per_s"], s["configuration"])
            for s in self.net.stretches
        ]
        out, steps = np.empty_like(job.times), ctypes.c_long()
        of = lambda a: a.ctypes.data_as(ctypes.c_void_p)
        kinks = np.array(job.kinks)
        failed = self.c.cvode(
            self.net.chamber.n, of(self.net.initial), len(pieces), (Piece * len(pieces))(*pieces), len(kinks), of(kinks),
            manner, ctypes.c_double(rtol), ctypes.c_double(atol), len(job.times), of(job.times), of(out),
            ctypes.byref(steps),
        )
        if failed:
            raise RuntimeError(f"CVODE: {failed}")
        return out

    def scipy(self, job, method, manner, atol, rtol=RELATIVE):
        y, out = self.net.initial.copy(), []
        y_of = lambda a: a.ctypes.data_as(ctypes.c_void_p)
        for s in self.net.stretches:
            self.net.stretch(s)
            cuts = [k for k in job.kinks if manner == 2 and s["begin_s"] < k < s["end_s"]] + [s["end_s"]]
            t = s["begin_s"]
            for stop in cuts:
                while t < stop:
                    if not np.all(np.isfinite(y)):
                        raise RuntimeError("no numbers")
                    if not self.c.settle(ctypes.c_double(t), y_of(y)):
                        raise RuntimeError("a heater does not hold")
                    full = [k for k in range(self.c.heater_count()) if self.c.get_mode(k) == 2]
                    asked = job.times[len(out) :]
                    asked = asked[asked <= stop]
                    if method == "odeint" and not full:
                        grid = np.unique(np.concatenate([[t], asked, [stop]]))
                        crit = [k for k in job.kinks if manner == 1 and t < k < stop] + [stop]
                        rows = odeint(self.rates, y, grid, tfirst=True, rtol=rtol, atol=atol, tcrit=crit, mxstep=1000000)
                        # Of the grid, what was asked for; its first and last points only if they were.
                        keep = np.isin(grid, asked)
                        out += self.filaments(grid[keep], rows[keep])
                        t, y = stop, rows[-1].copy()
                        continue
                    events = [self.reached(k) for k in full]
                    found = solve_ivp(
                        self.rates, (t, stop), y, method="LSODA" if method == "odeint" else method,
                        t_eval=np.unique(np.concatenate([asked, [stop]])), events=events or None, rtol=rtol, atol=atol,
                        max_step=3600.0 if manner == 1 else np.inf, vectorized=method == "Radau",
                    )
                    if not found.success and found.status != 1:
                        raise RuntimeError(found.message)
                    # Before the first time asked for there are no rows at all.
                    if len(found.t):
                        keep = np.isin(found.t, asked)
                        out += self.filaments(found.t[keep], np.ascontiguousarray(found.y.T[keep]))
                    if found.status == 1:
                        t, y = next((float(e[0]), z[0].copy()) for e, z in zip(found.t_events, found.y_events) if len(e))
                    else:
                        t, y = stop, found.y[:, -1].copy()
        return np.array(out)

    def reached(self, k):
        """The event of a heater at full power that comes to its setpoint."""
        below = self.c.below
        below.restype = ctypes.c_double
        event = lambda t, y: below(k, y.ctypes.data_as(ctypes.c_void_p))
        event.terminal = True
        return event

    def run(self, job, method, manner, atol, rtol=RELATIVE):
        if method == "CVODE":
            return self.cvode(job, manner, atol, rtol)
        return self.scipy(job, method, manner, atol, rtol)

    def set(self, job):
        self.net.describe(job.chamber)
        self.c.ask_station(self.net.stations.index(job.station))

    def error(self, job, *how):
        self.set(job)
        try:
            off = abs(peak(self.run(job, *how)) - job.reference)
        except (RuntimeError, RuntimeWarning, ODEintWarning):
            return np.inf
        return off if np.isfinite(off) else np.inf


MANNERS = {
    "CVODE": ["through the kinks", "stopped at each kink", "begun anew at each kink"],
    "odeint": ["through the kinks", "stopped at each kink", "begun anew at each kink"],
    "LSODA": ["through the kinks", "steps of at most 1 h", "begun anew at each kink"],
    "Radau": ["through the kinks", "steps of at most 1 h", "begun anew at each kink"],
}


def loosest(bench, jobs, method, manner):
    """The loosest tolerance with which no peak is further off than allowed, and how far the worst is."""
    for atol in LADDER_K:
        worst = 0.0
        # The jobs that were worst before come first: most tolerances fail at once.
        for job in list(jobs):
            worst = max(worst, bench.error(job, method, manner, atol))
            if worst > ALLOWED_K:
                jobs.remove(job)
                jobs.insert(0, job)
                break
        if worst <= ALLOWED_K:
            return atol, worst
    return None, np.inf


def seconds(work):
    """Processor seconds: other work on the machine is not counted."""
    begin = time.process_time()
    work()
    return time.process_time() - begin


def spent_by_children():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def program(binary, *arguments):
    """Runs the program; its verdict is no failure."""
    done = subprocess.run([binary, "--quiet", *map(str, arguments)], capture_output=True, text=True)
    if done.returncode not in (0, 10, 20):
        raise SystemExit(done.stderr)
    return done.stdout


def exported(binary, folder, name, start, series):
    run, network = folder / f"{name}.toml", folder / f"{name}.json"
    run.write_text(RUN.format(start=start, series=series), encoding="utf-8")
    said = json.loads(program(binary, "check", run, "--json", "--export-network", network))
    return run, json.loads(network.read_text(encoding="utf-8")), said


def ours_once(example, times=500):
    """Processor seconds of one run of the program, only the hottest moment; and that, K."""
    spent = []
    for n in (1, 1 + times):
        before = spent_by_children()
        said = subprocess.run([example, str(n)], check=True, capture_output=True, text=True).stdout
        spent.append(spent_by_children() - before)
    return (spent[1] - spent[0]) / times, float(said)


def season(binary, run, year):
    """Seconds by the clock and of processors that the program's season takes, and what it says."""
    before, begin = spent_by_children(), time.perf_counter()
    said = json.loads(program(binary, "season", run, "--weather", year, "--json"))
    return time.perf_counter() - begin, spent_by_children() - before, said


def peaks_of(said):
    """Peaks of a season's starts, K, by start."""
    table = said["starts_table"] if "starts_table" in said else said["arrangements"][0]["starts_table"]
    return {row["start"]: row["peak_degC"] + 273.15 for row in table}


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("project", type=Path)
    parser.add_argument("year", type=Path)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--starts", type=int, default=24)
    parser.add_argument("--rounds", type=int, default=5)
    o = parser.parse_args()
    target = Path(os.environ.get("CARGO_TARGET_DIR", o.project / "target"))
    binary, example = target / "release/dogdays", target / "release/examples/peers"
    heat_wave = o.project / "tests/data/ewr-2013-07-14-20.csv"

    say = lambda text: print(text, flush=True)
    run, description, said = exported(binary, o.folder, "heat-wave", "2013-07-14 00:00", heat_wave)
    bench = Bench(description, o.folder)
    for what, network in (("as the laws stand", bench.exact), ("with films from tables", bench.net)):
        say(f"generated C, {what}: rates within {generate.disagreement(network):.1e} of the second implementation's")
    single = Job("the heat wave", description, said["peak"]["station"])
    y, dy, many = bench.net.initial + 10.0, np.empty(bench.net.chamber.n), 20000
    of = lambda a: a.ctypes.data_as(ctypes.c_void_p)
    for what, network in (("as the laws stand", bench.exact), ("with films from tables", bench.net)):
        network.describe(single.chamber)
        network.stretch(description["stretches"][-1])
        network.c.repeat.restype = None
        took = min(seconds(lambda: network.c.repeat(many // 20, of(y), of(dy))) for _ in range(20))
        say(f"one evaluation of the C, {what}: {1e6 * took / (many // 20):.2f} us")

    # Starts over the year, each at another hour of the day.
    jobs, first = [], datetime(2001, 1, 1)
    year_run = None
    for k in range(o.starts):
        hour = k * (STARTS_OF_A_YEAR // o.starts) + k % 24
        start = (first + timedelta(hours=hour)).strftime("%Y-%m-%dT%H:%M:%S")
        year_run, d, s = exported(binary, o.folder, f"start-{k}", start.replace("T", " ")[:16], o.year)
        same = all(json.dumps(d[x]) == json.dumps(description[x]) for x in ("configurations", "panels", "reading"))
        if not same:
            raise SystemExit(f"the start {start} has another network")
        jobs.append(Job(start, d, s["peak"]["station"]))

    everything = [single, *jobs]
    for job in everything:
        bench.set(job)
        job.reference = peak(bench.run(job, "CVODE", 2, 1e-6, 1e-11))
    bench.set(single)
    other = peak(bench.run(single, "Radau", 2, 1e-6, 1e-9))
    say(f"reference, CVODE at 1e-6 K: peak {single.reference - 273.15:.4f} degC, Radau the same within {abs(other - single.reference):.1e} K")
    say(f"`check` of the heat wave: {abs(said['peak']['filament_degC'] + 273.15 - single.reference):.4f} K off")

    _, our_peak = ours_once(example, 1)
    _, _, whole = season(binary, year_run, o.year)
    ours = peaks_of(whole)
    off = [abs(our_peak - single.reference), max(abs(ours[job.name] - job.reference) for job in jobs)]
    say(f"ours: the heat wave {off[0]:.4f} K off, worst of {len(jobs)} starts of `season` {off[1]:.4f} K")

    settings = []
    queue = list(everything)
    for method, manners in MANNERS.items():
        for manner, words in enumerate(manners):
            begin = time.perf_counter()
            atol, error = loosest(bench, queue, method, manner)
            if atol is None:
                say(f"{method}, {words}: not within {ALLOWED_K} K")
                continue
            bench.set(single)
            before = bench.counter.value
            bench.run(single, method, manner, atol)
            calls = bench.counter.value - before
            settings.append({"method": method, "manner": manner, "words": words, "atol": atol, "worst": error,
                             "calls": calls, "run": [], "season": []})
            say(f"{method}, {words}: tolerance {atol:g} K, worst {error:.4f} K, {calls} evaluations "
                f"({time.perf_counter() - begin:.0f} s to find out)")

    mine, wall, spent = [], [], []
    for round_ in range(o.rounds):
        mine.append(1e3 * ours_once(example)[0])
        for s in settings:
            bench.set(single)
            how = (s["method"], s["manner"], s["atol"])
            times = 10 if s["method"] == "CVODE" else 2
            s["run"].append(min(seconds(lambda: bench.run(single, *how)) for _ in range(times)))
        best = {m: min((s for s in settings if s["method"] == m), key=lambda s: min(s["run"]), default=None) for m in MANNERS}
        for s in filter(None, best.values()):
            s.setdefault("starts", [np.inf] * len(jobs))
            for k, job in enumerate(jobs):
                bench.set(job)
                took = seconds(lambda: bench.run(job, s["method"], s["manner"], s["atol"]))
                s["starts"][k] = min(s["starts"][k], took)
        a, b, _ = season(binary, year_run, o.year)
        wall.append(a)
        spent.append(b)
        say(f"round {round_ + 1} of {o.rounds}: ours {mine[-1]:.3f} ms, a season {a:.2f} s ({b:.2f} processor seconds)")

    report(settings, min(mine), min(wall), min(spent), bench, off, len(jobs), o.rounds)


NAMES = {
    "CVODE": "CVODE, called from C",
    "odeint": "LSODA, SciPy `odeint`",
    "LSODA": "LSODA, SciPy `solve_ivp`",
    "Radau": "Radau, SciPy `solve_ivp`",
}


def figure(x):
    """Three figures."""
    return f"{x:.0f}" if x >= 100 else f"{x:.1f}" if x >= 10 else f"{x:.2f}"


def report(settings, mine, wall, spent, bench, off, starts, rounds):
    whole = lambda s: float(np.mean(s["starts"])) * STARTS_OF_A_YEAR if "starts" in s else None
    print("\nAll settings, one run:\n")
    print("| | weather | tolerance, K | worst peak, K off | evaluations | ms | x ours |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for s in settings:
        ms = 1e3 * min(s["run"])
        print(f"| {NAMES[s['method']]} | {s['words']} | {s['atol']:g} | {s['worst']:.4f} | {s['calls']:,} | {figure(ms)} | {ms / mine:.1f} |")
    print(f"\nFor the README (best of {rounds} rounds; SUNDIALS {bench.sundials}, SciPy {scipy.__version__}):\n")
    print("| | one run, ms | × ours | 8,760 starts, processor s | × ours |")
    print("| --- | --- | --- | --- | --- |")
    print(f"| dogdays | {figure(mine)} | 1 | {figure(spent)} | 1 |")
    for method in MANNERS:
        timed = [s for s in settings if s["method"] == method and "starts" in s]
        if not timed:
            continue
        s = min(timed, key=lambda s: min(s["run"]))
        ms = 1e3 * min(s["run"])
        print(f"| {NAMES[method]} | {figure(ms)} | {ms / mine:.1f} | {figure(whole(s))} | {figure(whole(s) / spent)} |")
    print(f"\nOurs on all cores: {wall:.2f} s by the clock. Ours is {off[0]:.4f} K off in the one run, "
          f"{off[1]:.4f} K in the worst of {starts} starts.")


if __name__ == "__main__":
    warnings.filterwarnings("error", category=RuntimeWarning)
    warnings.filterwarnings("error", category=ODEintWarning)
    sys.exit(main())
