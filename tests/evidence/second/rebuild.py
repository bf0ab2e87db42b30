"""A second implementation of a whole chamber.

Reads the network that `dogdays check --export-network` writes, rebuilds the right-hand side from
the laws described in models/README.md, integrates it with SciPy, and compares every node with the
CSV of `dogdays check --csv`. It shares no code with the program: convection comes from `ht`, the
atmosphere from `fluids`, view factors from contour integration, the balance of air from `brentq`,
time integration from LSODA.

    rebuild.py NETWORK.json TABLE.csv [TABLE-OF-THE-EXPLICIT-INTEGRATOR.csv] [--hours H]
"""

import argparse
import csv
import json
import math
import sys
import time

import fluids
import ht
import numpy as np
from scipy.constants import g as GRAVITY
from scipy.constants import sigma as SIGMA
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

import enclosure

ON_SETPOINT_K = 1e-6


def step(x):
    """The rounded step of models/README.md: 0 below 0, 1 above 1."""
    x = min(max(x, 0.0), 1.0)
    return 10.0 * x**3 - 15.0 * x**4 + 6.0 * x**5


def rounded_size(x, band):
    """|x|, near zero the even polynomial of fourth order that meets it smoothly."""
    if abs(x) >= band:
        return abs(x)
    r = x / band
    return band * (3.0 + 6.0 * r**2 - r**4) / 8.0


class Air:
    """Dry air by ISO 2533 at one pressure."""

    def __init__(self, description):
        constants = description["air"]
        self.cp = constants["heat_capacity_J_per_kgK"]
        self.gas = constants["gas_constant_J_per_kgK"]
        self.pressure = fluids.ATMOSPHERE_1976(description["altitude_m"]).P

    def density(self, t):
        return self.pressure / (self.gas * t)

    @staticmethod
    def viscosity(t):
        return fluids.ATMOSPHERE_1976.viscosity(t)

    @staticmethod
    def conductivity(t):
        return 2.648151e-3 * t**1.5 / (t + 245.4 * 10.0 ** (-12.0 / t))


class Convection:
    """Heat from a face to air."""

    def __init__(self, face, index, air, band):
        self.surface, self.around = index[face["surface"]], index[face["air"]]
        self.fixed, self.grown = face["area"]["fixed_m2"], face["area"]["grown_m2"]
        self.orientation = face["orientation"]
        self.length = face["length_m"]
        self.along = face["forced_length_m"]
        self.speed = face["speed_m_per_s"]
        self.multiplier = face["natural_multiplier"]
        self.air, self.band = air, band

    def natural(self, prandtl, grashof, warmer):
        if self.orientation == "vertical":
            return ht.Nu_vertical_plate_Churchill(prandtl, grashof)
        if self.orientation == "cylinder":
            return ht.Nu_horizontal_cylinder_Churchill_Chu(prandtl, grashof)
        away = warmer if self.orientation == "up" else -warmer
        share = step(0.5 * (away / self.band + 1.0))
        ra = prandtl * grashof
        assert ra > 5.0, "below the rounding of horizontal plates"
        value = 0.0
        if share > 0.0:
            value += share * away_from_plate(prandtl, grashof, ra)
        if share < 1.0:
            value += (1.0 - share) * 0.52 * ra**0.2
        return value

    def coefficient(self, surface, around):
        film = 0.5 * (surface + around)
        k, mu, rho = self.air.conductivity(film), self.air.viscosity(film), self.air.density(film)
        prandtl, nu = self.air.cp * mu / k, mu / rho
        warmer = surface - around
        size = rounded_size(warmer, self.band)
        grashof = GRAVITY * size / film * self.length**3 / nu**2
        natural = self.multiplier * self.natural(prandtl, grashof, warmer)
        if self.speed == 0.0:
            return natural * k / self.length
        if self.orientation == "cylinder":
            re = self.speed * self.length / nu
            forced = ht.Nu_cylinder_Churchill_Bernstein(re, prandtl)
            mixed = 0.3 + ((forced - 0.3) ** 3 + (natural - 0.3) ** 3) ** (1.0 / 3.0)
            return mixed * k / self.length
        re = self.speed * self.along / nu
        assert re < 4e5, "beyond the laminar plate"
        forced = ht.Nu_horizontal_plate_laminar_Baehr(re, prandtl) * k / self.along
        natural *= k / self.length
        return (forced**3 + natural**3) ** (1.0 / 3.0)

    def heat(self, t, f):
        surface, around = t[self.surface], t[self.around]
        area = self.fixed + self.grown * f
        return area * self.coefficient(surface, around) * (surface - around)


def away_from_plate(prandtl, grashof, ra):
    """Lloyd & Moran's two branches; `ht` has them under McAdams, with a hard change at 1e7."""
    share = step(math.log(ra / 5e6) / math.log(4.0))
    if share in (0.0, 1.0):
        return ht.Nu_horizontal_plate_McAdams(prandtl, grashof, buoyancy=True)
    return (1.0 - share) * 0.54 * ra**0.25 + share * 0.15 * ra ** (1.0 / 3.0)


def froude(slenderness):
    """Epstein's exchange number for thin rims."""
    assert slenderness < 0.135, "a thick rim"
    return 0.055


def horizontal_exchange(area, thickness, below, above, weak):
    """Volume each way through a horizontal opening, m3/s."""
    lighter = below - above
    if lighter <= 0.0:
        return 0.0
    diameter = math.sqrt(4.0 * area / math.pi)
    mean = 0.5 * (below + above)
    flow = froude(thickness / diameter) * math.sqrt(GRAVITY * diameter**5 * lighter / mean)
    return flow * step(lighter / weak)


class AirPaths:
    """One hydrostatic balance over all openings and fans."""

    def __init__(self, link, index, air, rounding):
        self.layers = [index[n] for n in link["layers"]]
        self.tops = link["tops_m"]
        self.room = index[link["room"]]
        order = {n: k for k, n in enumerate(link["layers"])}
        self.openings = [
            (o["height_m"], o["area_m2"] * o["discharge"], order[o["layer"]])
            for o in link["openings"]
        ]
        take = 1.0 - link["short_circuit"]
        self.fans = [(order[f["layer"]], take * f["outward_m3_per_s"]) for f in link["fans"]]
        self.air, self.rounding = air, rounding
        self.last = 0.0

    def add(self, t, gain):
        n = len(self.layers)
        out = self.air.density(t[self.room])
        inside = [self.air.density(t[p]) for p in self.layers]
        # Pressure inside less outside at each layer's lower edge, above that at the floor.
        edge, rise, bottom = [], 0.0, 0.0
        for rho, upper in zip(inside, self.tops):
            edge.append((rise, bottom))
            rise += GRAVITY * (out - rho) * (upper - bottom)
            bottom = upper
        ways = []
        for height, area, layer in self.openings:
            base, low = edge[layer]
            excess = base + GRAVITY * (out - inside[layer]) * (height - low)
            factor = area * math.sqrt(out + inside[layer])
            ways.append((excess, factor, layer))
        blown = []
        for layer, flow in self.fans:
            rho = inside[layer] if flow > 0.0 else out
            blown.append((layer, flow * rho))
        fans = sum(m for _, m in blown)
        r2 = self.rounding**2

        def leaving(p):
            total = fans
            for excess, factor, _ in ways:
                dp = p + excess
                total += factor * dp / (dp * dp + r2) ** 0.25
            return total

        width = 1e-3
        low, high = self.last - width, self.last + width
        while leaving(low) > 0.0:
            width *= 4.0
            low -= width
        while leaving(high) < 0.0:
            width *= 4.0
            high += width
        p = brentq(leaving, low, high, xtol=1e-13, rtol=1e-14)
        self.last = p
        entering = [0.0] * n  # from the room, kg/s
        net = [0.0] * n
        flows = [(layer, f * (p + x) / ((p + x) ** 2 + r2) ** 0.25) for x, f, layer in ways]
        for layer, m in flows + blown:
            net[layer] -= m
            if m < 0.0:
                entering[layer] -= m
        # A place is warmed by each kilogram that enters it and is warmer than itself.
        cp, room = self.air.cp, t[self.room]
        for layer, m in flows + blown:
            if m > 0.0:
                gain[self.room] += m * cp * (t[self.layers[layer]] - room)
        for k, point in enumerate(self.layers):
            gain[point] += entering[k] * cp * (room - t[point])
        up = 0.0
        for k in range(n - 1):
            up += net[k]
            lower, upper = self.layers[k], self.layers[k + 1]
            if up > 0.0:
                gain[upper] += up * cp * (t[lower] - t[upper])
            else:
                gain[lower] -= up * cp * (t[upper] - t[lower])


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
        self.sources = [(index[s["point"]], s["power_W"], s["per_K"]) for s in c["sources"]]
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
            self.faces.append(Convection(link, index, air, rounding["equal_temperatures_K"]))
        elif law == "radiation_to_surroundings":
            self.radiators.append((*pair, link["area_m2"] * link["emissivity"]))
        elif law == "radiation_parallel_plates":
            both = 1.0 / link["emissivity_a"] + 1.0 / link["emissivity_b"] - 1.0
            self.radiators.append((*pair, link["area_m2"] / both))
        elif law == "growing_contact":
            self.others.append(contact(link, index))
        elif law == "grey_enclosure":
            self.others.append(radiosity(link, index))
        elif law == "air_paths":
            paths = AirPaths(link, index, air, rounding["orifice_Pa"])
            self.others.append(lambda t, f, gain: paths.add(t, gain))
        elif law == "open_top":
            self.others.append(open_top(link, index, air, rounding))
        elif law == "inner_circulation":
            self.others.append(circulation(link, index, air))
        elif law == "plume":
            self.others.append(plume(link, index, air, rounding))
        elif law == "layer_exchange":
            self.others.append(layer_exchange(link, index, air, rounding))
        elif law == "filament":
            self.filament = filament(link, index, air, rounding)
            self.others.append(self.filament)
        else:
            raise SystemExit(f"unknown law {law}")

    def gains(self, t, f):
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
            gain[point] += power * (1.0 + per_K * (t[point] - 293.15))
        return gain


def contact(link, index):
    body, base = index[link["body"]], index[link["base"]]

    def add(t, f, gain):
        half = 0.5 * link["height_m"] * f / link["conductivity_W_per_mK"]
        q = link["area_m2"] / (1.0 / link["contact_W_per_m2K"] + half) * (t[body] - t[base])
        gain[body] -= q
        gain[base] += q

    return add


def radiosity(link, index):
    g = enclosure.total_exchange(link)
    points = [index[s["point"]] for s in link["surfaces"]]
    part = [s["role"] for s in link["surfaces"]].index("part")
    area = link["part_area"]

    def add(t, f, gain):
        scale = (area["fixed_m2"] + area["grown_m2"] * f) / link["part_full_m2"]
        now = g.copy()
        now[part, :] *= scale
        now[:, part] *= scale
        power = SIGMA * np.array([t[p] for p in points]) ** 4
        lost = power * now.sum(axis=1) - now @ power
        for p, q in zip(points, lost.tolist()):
            gain[p] -= q

    return add


def open_top(link, index, air, rounding):
    layer, room = index[link["layer"]], index[link["room"]]

    def add(t, f, gain):
        flow = horizontal_exchange(
            link["area_m2"], link["rim_m"], t[layer], t[room], rounding["weak_exchange_K"]
        )
        rho = air.density(0.5 * (t[layer] + t[room]))
        q = flow * rho * air.cp * (t[layer] - t[room])
        gain[layer] -= q
        gain[room] += q

    return add


def circulation(link, index, air):
    layers = [index[n] for n in link["layers"]]

    def add(t, f, gain):
        w = link["flow_m3_per_s"] * air.density(t[layers[-1]]) * air.cp
        before = layers[-1]
        for k in layers:
            gain[k] += w * (t[before] - t[k])
            before = k

    return add


def plume(link, index, air, rounding):
    faces = [Convection(x, index, air, rounding["equal_temperatures_K"]) for x in link["faces"]]
    layers = [index[n] for n in link["layers"]]
    diameter = math.sqrt(4.0 * link["source_area_m2"] / math.pi)
    origin = diameter / (2.0 * math.tan(math.radians(12.5)))
    fade, reach = rounding["plume_fade_W"], rounding["plume_reach_K"]

    def add(t, f, gain):
        total = buoyant = 0.0
        top = layers[-1]
        for face in faces:
            q = face.heat(t, f)
            gain[face.surface] -= q
            total += q
            buoyant += q * step((t[face.surface] - t[top]) / reach)
        rising = buoyant**2 / (buoyant + fade) if buoyant > 0.0 else 0.0
        gain[layers[0]] += total - rising
        gain[top] += rising
        weak = step(rising / rounding["weak_plume_W"])
        for k, z in enumerate(link["passes_m"]):
            flow = 5e-3 * rising ** (1.0 / 3.0) * weak * (z + origin) ** (5.0 / 3.0)
            lower, upper = t[layers[k]], t[layers[k + 1]]
            w = link["multiplier"] * flow * air.density(0.5 * (lower + upper)) * air.cp
            gain[layers[k]] += w * (upper - lower)
            gain[top] -= w * (upper - lower)

    return add


def layer_exchange(link, index, air, rounding):
    layers = [index[n] for n in link["layers"]]

    def add(t, f, gain):
        for a, b in zip(layers, layers[1:]):
            over = horizontal_exchange(
                link["section_m2"], 0.0, t[a], t[b], rounding["weak_exchange_K"]
            )
            flow = over + link["stirring_m_per_s"] * link["section_m2"]
            q = flow * air.density(0.5 * (t[a] + t[b])) * air.cp * (t[a] - t[b])
            gain[a] -= q
            gain[b] += q

    return add


def filament(link, index, air, rounding):
    """Heat the filament takes from its stations; the part's share is added with its growth."""
    carried = link["feed_kg_per_s"] * link["heat_capacity_J_per_kgK"]
    diameter, state = link["diameter_m"], link["in_air"]
    rod = Convection(
        {
            "surface": link["spool"],
            "air": link["spool"],
            "area": {"fixed_m2": 1.0, "grown_m2": 0.0},
            "orientation": "cylinder",
            "length_m": diameter,
            "forced_length_m": diameter,
            "speed_m_per_s": 0.0,
            "natural_multiplier": 1.0,
        },
        index,
        air,
        rounding["equal_temperatures_K"],
    )
    warm, cool = state["filament_K"], state["air_K"]
    in_air = rod.coefficient(warm, cool)
    in_air += state["emissivity"] * SIGMA * (warm**4 - cool**4) / (warm - cool)
    stations = []
    for s in link["stations"]:
        h = in_air if s["coefficient_W_per_m2K"] is None else s["coefficient_W_per_m2K"]
        perimeter = math.pi * diameter * s["length_m"]
        share = 1.0 - math.exp(-h * perimeter / carried) if carried > 0.0 else 1.0
        stations.append((s["name"], index[s["around"]], share))
    spool, nozzle = index[link["spool"]], index[link["nozzle"]]

    def add(t, f, gain):
        if carried == 0.0:
            return
        now = t[spool]
        for _, around, share in stations:
            rise = share * (t[around] - now)
            gain[around] -= carried * rise
            now += rise
        gain[nozzle] -= carried * (t[nozzle] - now)

    def along(t):
        """Temperature at each station, K."""
        out, now = {"spool": t[spool]}, t[spool]
        for name, around, share in stations:
            now += share * (t[around] - now)
            out[name] = now
        return out

    add.carried, add.nozzle, add.laid_on = carried, nozzle, index[link["laid_on"]]
    add.along = along
    return add


def slices(panel, rule):
    """Capacities of a panel's nodes and resistances between them, per area."""
    h = rule["face_W_per_m2K"]
    layers = [
        (
            x["thickness_m"] / x["conductivity_W_per_mK"],
            x["thickness_m"] * x["density_kg_per_m3"] * x["heat_capacity_J_per_kgK"],
            x["density_kg_per_m3"] < 6.0,
        )
        for x in panel["layers"]
    ]
    if h * sum(r for r, _, _ in layers) < rule["sheet_biot"]:
        return [sum(c for _, c, _ in layers)], []
    capacities, resistances, waiting = [0.0], [], 0.0
    for r, c, gap in layers:
        if h * r < rule["sheet_biot"]:
            capacities[-1] += c
            if resistances:
                resistances[-1] += r
            else:
                waiting += r
            continue
        n = 1 if gap else math.ceil(h * r / rule["slice_biot"])
        n = max(1, min(n, rule["most_slices"]))
        for _ in range(n):
            capacities[-1] += 0.5 * c / n
            capacities.append(0.5 * c / n)
            resistances.append(r / n + waiting)
            waiting = 0.0
    return capacities, resistances


class Chamber:
    """All of it."""

    def __init__(self, description):
        d = self.description = description
        self.air, self.rounding = Air(d), d["roundings"]
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
            capacities, resistances = slices(p, d["slicing"])
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
            rho = self.air.density(node["initial_K"])
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
        value = self.configuration.gains(self.temperatures(t, y), self.share(t))
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
    cut = sorted(set(chamber.kinks))
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


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("network", help="from --export-network")
    parser.add_argument("table", help="from --csv")
    parser.add_argument("cross", nargs="?", help="from --csv with --integrator explicit")
    parser.add_argument("--hours", type=float, help="only the first hours of the run")
    parser.add_argument("--all", action="store_true", help="print every node")
    parser.add_argument("--name", default="run", help="first word of the line printed")
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
