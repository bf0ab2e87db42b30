"""A second implementation of a whole chamber.

Reads the network that `dogdays check --export-network` writes, rebuilds the right-hand side from
the laws that docs/network.md defines, integrates it with SciPy, and compares every node with the
CSV of `dogdays check --csv`. It shares no code with the program: convection comes from `ht`, the
atmosphere from `fluids`, view factors from contour integration, the balance of air from `brentq`,
time integration from LSODA.

    rebuild.py NETWORK.json TABLE.csv [TABLE-OF-THE-EXPLICIT-INTEGRATOR.csv] [--hours H]
"""

import argparse
import bisect
import csv
import json
import math
import sys
import time

import numpy as np
from scipy.constants import sigma as SIGMA
from scipy.integrate import solve_ivp

import laws

ON_SETPOINT_K = 1e-6


def course(source):
    """A source's power at a time, and beside a moment in the middle of the piece around it, which is no jump."""
    over_time = source.get("power_over_time")
    if over_time is None:
        return lambda now, middle: source["power_W"]
    times, values = over_time["times_s"], over_time["powers_W"]
    if over_time["kind"] == "series":
        return lambda now, middle: float(np.interp(now, times, values))
    if over_time["kind"] != "steps":
        raise SystemExit(f"unknown course {over_time['kind']}")
    return lambda now, middle: values[max(bisect.bisect_right(times, middle) - 1, 0)]


class Configuration:
    """The equations of one phase and arrangement."""

    def __init__(self, chamber, c):
        index, air, rounding = chamber.index, chamber.air, chamber.rounding
        self.chamber = chamber
        self.name = c["arrangement"]
        self.conductances, self.radiators, self.faces, self.others = [], [], [], []
        self.filament = None
        for link in c["links"]:
            self.read(link, index, air, rounding)
        self.sources = [
            (index[s["point"]], course(s), s["per_K"]) for s in c["sources"]
        ]
        self.heaters = [
            (index[h["node"]], h["setpoint_K"], h["max_power_W"]) for h in c["heaters"]
        ]

    def read(self, link, index, air, rounding):
        law = link["law"]
        pair = (index[link["a"]], index[link["b"]]) if "a" in link else None
        if law == "panel_conduction":
            self.conductances += self.chamber.panel_links[link["panel"]]
        elif law == "resistance":
            self.conductances.append((*pair, link["area_m2"] / link["resistance_m2K_per_W"]))
        elif law == "given_conductance":
            self.conductances.append((*pair, link["conductance_W_per_K"]))
        elif law == "convection":
            self.faces.append(laws.Convection(link, index, air, rounding["equal_temperatures_K"]))
        elif law == "radiation_to_surroundings":
            self.radiators.append((*pair, link["area_m2"] * link["emissivity"]))
        elif law == "radiation_parallel_plates":
            both = 1.0 / link["emissivity_a"] + 1.0 / link["emissivity_b"] - 1.0
            self.radiators.append((*pair, link["area_m2"] / both))
        elif law == "growing_contact":
            self.others.append(laws.contact(link, index))
        elif law == "grey_enclosure":
            self.others.append(laws.radiosity(link, index))
        elif law == "air_paths":
            paths = laws.AirPaths(link, index, air, rounding["orifice_Pa"])
            self.others.append(lambda t, f, gain: paths.add(t, gain))
        elif law == "open_top":
            self.others.append(laws.open_top(link, index, air, rounding))
        elif law == "stirred_opening":
            self.others.append(laws.stirred_opening(link, index, air, rounding))
        elif law == "inner_circulation":
            self.others.append(laws.circulation(link, index, air))
        elif law == "plume":
            self.others.append(laws.plume(link, index, air, rounding))
        elif law == "layer_exchange":
            self.others.append(laws.layer_exchange(link, index, air, rounding))
        elif law == "filament":
            self.filament = laws.filament(
                link, index, air, rounding, self.chamber.description["reading"]
            )
            self.others.append(self.filament)
        else:
            raise SystemExit(f"unknown law {law}")

    def gains(self, t, f, now, middle):
        """Heat that each point gains but for its heater, W."""
        gain = [0.0] * len(t)
        for a, b, conductance in self.conductances:
            q = conductance * (t[a] - t[b])
            gain[a] -= q
            gain[b] += q
        for a, b, area in self.radiators:
            q = area * SIGMA * (t[a] ** 4 - t[b] ** 4)
            gain[a] -= q
            gain[b] += q
        for face in self.faces:
            q = face.heat(t, f)
            gain[face.surface] -= q
            gain[face.around] += q
        for add in self.others:
            add(t, f, gain)
        for point, power, per_K in self.sources:
            gain[point] += power(now, middle) * (1.0 + per_K * (t[point] - 293.15))
        return gain


class Chamber:
    """All of it."""

    def __init__(self, description):
        d = self.description = description
        self.air, self.rounding = laws.Air(d), d["roundings"]
        self.names = [n["name"] for n in d["nodes"]]
        self.n = len(self.names)
        self.index = {name: k for k, name in enumerate(self.names)}
        self.given = self.n
        self.index[d["given"]["name"]] = self.given
        self.part = self.index[d["growth"]["node"]]
        self.reference = d["reference_K"]
        self.panels = {}
        self.panel_links = {}
        for p in d["panels"]:
            capacities, resistances = laws.slices(p, d["slicing"])
            nodes = [self.index[x] for x in p["nodes"]]
            assert len(nodes) == len(capacities), f"{p['name']} is cut otherwise"
            self.panels[p["name"]] = [c * p["area_m2"] for c in capacities]
            self.panel_links[p["name"]] = [
                (a, b, p["area_m2"] / r) for a, b, r in zip(nodes, nodes[1:], resistances)
            ]
        self.capacity = [self.stored(n) for n in d["nodes"]]
        for node, ours in zip(d["nodes"], self.capacity):
            assert abs(ours / node["capacity_J_per_K"] - 1.0) < 1e-6, f"capacity of {node['name']}"
        self.weather()
        self.configurations = {}

    def stored(self, node):
        s = node["stores"]
        if s["kind"] == "air":
            rho = self.air.density(self.reference)
            return rho * self.air.cp * s["volume_m3"] * s["storage_factor"]
        if s["kind"] == "mass":
            return s["mass_kg"] * s["heat_capacity_J_per_kgK"]
        if s["kind"] == "sheet":
            return s["area_m2"] * s["capacity_J_per_m2K"]
        return self.panels[s["panel"]][s["position"]]

    def weather(self):
        course = self.description["given"]["temperature"]
        self.kinks = []
        if course["kind"] == "constant":
            self.outside = lambda t: course["temperature_K"]
        elif course["kind"] == "daily_swing":
            self.outside = lambda t: course["mean_K"] + course["amplitude_K"] * math.cos(
                2.0 * math.pi * (t - course["warmest_at_s"]) / 86400.0
            )
        else:
            self.kinks = course["times_s"]
            values = course["temperatures_K"]
            self.outside = lambda t: float(np.interp(t, self.kinks, values))

    def configuration(self, k):
        if k not in self.configurations:
            self.configurations[k] = Configuration(self, self.description["configurations"][k])
        return self.configurations[k]


class Stretch:
    """The differential equations between two moments at which something is switched."""

    def __init__(self, chamber, stretch, configuration):
        self.chamber, self.stretch, self.configuration = chamber, stretch, configuration
        self.modes = {}
        self.kept = (None, None)
        # Powers over time jump only where pieces are cut: one moment stands for a piece.
        self.middle = stretch["begin_s"]

    def temperatures(self, t, y):
        values = y.tolist()
        values.append(self.chamber.outside(t))
        return values

    def share(self, t):
        s = self.stretch
        return s["part_share"] + s["part_growth_per_s"] * (t - s["begin_s"])

    def gains(self, t, y):
        key = (t, y.tobytes())
        if self.kept[0] == key:
            return self.kept[1]
        value = self.configuration.gains(
            self.temperatures(t, y), self.share(t), t, self.middle
        )
        self.kept = (key, value)
        return value

    def __call__(self, t, y):
        c = self.chamber
        gain = list(self.gains(t, y))
        capacity = list(c.capacity)
        # The part: its stored heat m cp (T - T_ref) takes in what is laid down at the nozzle's heat.
        f, stream = self.share(t), self.configuration.filament
        full = capacity[c.part]
        gain[c.part] += stream.carried * (y[stream.nozzle] - c.reference)
        gain[c.part] -= full * self.stretch["part_growth_per_s"] * (y[c.part] - c.reference)
        capacity[c.part] = full * f
        for node, _, power in self.configuration.heaters:
            if self.modes[node] == "full":
                gain[node] += power
            elif self.modes[node] == "hold":
                gain[node] = 0.0
        return np.array(gain[: c.n]) / capacity

    def settle(self, t, y, switched):
        """What each heater does from where its node stands, or is known to have switched to."""
        self.modes = {}
        for node, setpoint, power in self.configuration.heaters:
            short = (setpoint - y[node]) * math.copysign(1.0, power)
            if abs(short) > ON_SETPOINT_K:
                self.modes[node] = "full" if short > 0.0 else "off"
                continue
            y[node] = setpoint
            share = -self.gains(t, y)[node] / power
            self.modes[node] = "full" if share > 1.0 else "off" if share < 0.0 else "hold"
        self.modes.update(switched)

    def events(self, thermostat, fan_on):
        """What ends a piece early, and what each heater then switches to."""
        out, then = [], []
        for node, setpoint, power in self.configuration.heaters:
            if self.modes[node] == "hold":
                out.append(lambda t, y, n=node, p=power: -self.gains(t, y)[n] / p - 1.0)
                out.append(lambda t, y, n=node, p=power: self.gains(t, y)[n] / p)
                then += [{node: "full"}, {node: "off"}]
            else:
                sign = math.copysign(1.0, power if self.modes[node] == "full" else -power)
                out.append(lambda t, y, n=node, s=setpoint, k=sign: k * (y[n] - s))
                then.append({})
        if thermostat is not None:
            point = self.chamber.index[thermostat["measures"]]
            if fan_on:
                out.append(lambda t, y: thermostat["off_below_K"] - y[point])
            else:
                out.append(lambda t, y: y[point] - thermostat["on_above_K"])
            then.append({})
        for e in out:
            e.terminal, e.direction = True, 1.0
        return out, then


def solve(piece, begin, end, y, events, rtol, atol):
    """LSODA; Radau where an event falls on the beginning of a step.

    LSODA's interpolant need not meet the state at the beginning of its step, and SciPy's search for
    the event then finds no change of sign. Radau's does.
    """
    for method in ("LSODA", "Radau"):
        try:
            return solve_ivp(
                piece, (begin, end), y, method=method, rtol=rtol, atol=atol,
                events=events, dense_output=True,
            )
        except ValueError as e:
            if method == "Radau" or "different signs" not in str(e):
                raise


def integrate(chamber, times, rtol, atol):
    """Temperatures of all nodes and filament stations at the given times."""
    d = chamber.description
    y = np.array([n["initial_K"] for n in d["nodes"]])
    rows, stations = [], []
    end_of_all = times[-1]
    fan_on = False
    jumps = [
        t
        for c in d["configurations"]
        for s in c["sources"]
        for t in s.get("power_over_time", {}).get("times_s", [])
    ]
    cut = sorted({*chamber.kinks, *jumps})
    for s in d["stretches"]:
        if s["begin_s"] >= end_of_all and rows:
            break
        thermostat = s.get("thermostat")
        if thermostat is None:
            fan_on = True
        else:
            top = y[chamber.index[thermostat["measures"]]]
            limit = thermostat["off_below_K" if fan_on else "on_above_K"]
            fan_on = bool(top > limit)
        stops = [k for k in cut if s["begin_s"] < k < s["end_s"]] + [s["end_s"]]
        t = s["begin_s"]
        for stop in stops:
            switched = {}
            while t < stop:
                resting = thermostat is not None and not fan_on
                k = thermostat["resting_configuration"] if resting else s["configuration"]
                piece = Stretch(chamber, s, chamber.configuration(k))
                piece.middle = 0.5 * (t + stop)
                piece.settle(t, y, switched)
                events, then = piece.events(thermostat, fan_on)
                found = solve(piece, t, stop, y, events, rtol, atol)
                if not found.success:
                    raise SystemExit(found.message)
                # At a cut the filament's temperature jumps as its feed changes: like the program's
                # table, a row that falls on a cut tells what was there up to then.
                for when in times[len(rows):]:
                    if when > found.t[-1]:
                        break
                    state = found.sol(when)
                    rows.append(state)
                    at = piece.temperatures(when, state)
                    stations.append(piece.configuration.filament.along(at))
                t, y = float(found.t[-1]), found.y[:, -1].copy()
                switched = {}
                if found.status == 1:
                    fired = next(i for i, e in enumerate(found.t_events) if len(e))
                    if thermostat is not None and fired == len(events) - 1:
                        fan_on = not fan_on
                    switched = then[fired]
                    for node, setpoint, _ in piece.configuration.heaters:
                        if abs(y[node] - setpoint) < 1e-4:
                            y[node] = setpoint
                if len(rows) == len(times):
                    return np.array(rows), stations
    return np.array(rows), stations


def read_table(path, hours):
    """Header and rows of a table, up to so many hours."""
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    return rows[0], [r for r in rows[1:] if hours is None or float(r[1]) <= hours]


def worst_of(chamber, table, times, rows, stations):
    """Worst difference of every column of a table: K, name, hour; the largest first."""
    header, given = table
    worst = []
    for k, name in enumerate(header):
        if not name.endswith("_degC"):
            continue
        plain = name[: -len("_degC")].replace("_", " ")
        theirs = np.array([float(r[k]) for r in given]) + 273.15
        if plain.startswith("filament "):
            ours = np.array([s[plain.removeprefix("filament ")] for s in stations])
        elif chamber.index[plain] == chamber.given:
            ours = np.array([chamber.outside(t) for t in times])
        else:
            ours = rows[:, chamber.index[plain]]
        difference = np.abs(ours - theirs)
        at = int(np.argmax(difference))
        worst.append((float(difference[at]), plain, times[at] / 3600.0))
    nodes = {name for _, name, _ in worst}
    missing = [n for n in chamber.names if n not in nodes]
    assert not missing, f"the table lacks {missing}"
    return sorted(worst, reverse=True)


def write_values(path, chamber, table, times, rows, stations):
    """This script's own temperatures, in the columns of a table, every two hours."""
    header, _ = table
    with open(path, "w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        names = [h for h in header if h.endswith("_degC")]
        out.writerow(["elapsed_h", *names])
        for when, state, along in zip(times, rows, stations):
            if when % 7200.0:
                continue
            line = [f"{when / 3600.0:.0f}"]
            for name in names:
                plain = name[: -len("_degC")].replace("_", " ")
                if plain.startswith("filament "):
                    value = along[plain.removeprefix("filament ")]
                elif chamber.index[plain] == chamber.given:
                    value = chamber.outside(when)
                else:
                    value = state[chamber.index[plain]]
                line.append(f"{value - 273.15:.4f}")
            out.writerow(line)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("network", help="from --export-network")
    parser.add_argument("table", help="from --csv")
    parser.add_argument("cross", nargs="?", help="from --csv with --integrator explicit")
    parser.add_argument("--hours", type=float, help="only the first hours of the run")
    parser.add_argument("--all", action="store_true", help="print every node")
    parser.add_argument("--name", default="run", help="first word of the line printed")
    parser.add_argument("--write", help="write this script's own values to a table")
    parser.add_argument("--rtol", type=float, default=1e-8)
    parser.add_argument("--atol", type=float, default=1e-6)
    parser.add_argument("--limit", type=float, default=0.05, help="largest difference, K")
    parser.add_argument(
        "--cross-limit", type=float, default=0.002, help="the same for the second table, K"
    )
    parser.add_argument(
        "--cross-only", action="store_true", help="tell the first table's differences, limit none"
    )
    o = parser.parse_args()
    begin = time.perf_counter()
    with open(o.network, encoding="utf-8") as file:
        chamber = Chamber(json.load(file))
    tables = [read_table(path, o.hours) for path in (o.table, o.cross) if path]
    # The table's hours are rounded to 0.36 s; its rows lie on whole seconds.
    times = [float(round(float(r[1]) * 3600.0)) for r in tables[0][1]]
    times[-1] = min(times[-1], chamber.description["duration_s"])
    rows, stations = integrate(chamber, times, o.rtol, o.atol)
    assert all(len(t[1]) == len(rows) for t in tables), "not every row was reached"
    found = [worst_of(chamber, t, times, rows, stations) for t in tables]
    if o.write:
        write_values(o.write, chamber, tables[0], times, rows, stations)
    seconds = time.perf_counter() - begin
    cells = [f"{w[0][0]:.4f} K, {w[0][1]}, {w[0][2]:.1f} h" for w in found]
    hours = times[-1] / 3600.0
    print(f"| {o.name} | {hours:.0f} h | {' | '.join(cells)} | {seconds:.0f} s |")
    if o.all:
        for each in zip(*(sorted(w, key=lambda x: x[1]) for w in found)):
            print(f"  {each[0][1]:24}", "  ".join(f"{x[0]:.4f}" for x in each))
    limits = [math.inf if o.cross_only else o.limit, o.cross_limit]
    return 0 if all(w[0][0] <= most for w, most in zip(found, limits)) else 1


if __name__ == "__main__":
    sys.exit(main())
