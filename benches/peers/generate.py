"""Writes the right-hand side of an exported network as C.

    generate.py NETWORK.json FOLDER      writes the C there, compiles it, and compares it with the second implementation

Constants are folded in; the laws stand in laws.h. What a start changes (capacities, initial temperatures,
weather, stretches) stays in variables, so that one compilation serves every start of a season. The
second implementation (tests/evidence/second) reads the export, works out conductances and view factors, and is
what the C is compared with.
"""

import argparse
import ctypes
import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent.parent / "tests/evidence/second"))
import enclosure  # noqa: E402
import laws  # noqa: E402
import rebuild  # noqa: E402

TABLE_FROM, TABLE_TO, TABLE_STEP = 240.0, 560.0, 2.0
FLAGS = ["-O3", "-march=native", "-fno-math-errno", "-fno-trapping-math"]


class Writer:
    """C of all configurations of a chamber."""

    def __init__(self, chamber):
        self.chamber, self.index = chamber, chamber.index
        self.films = ["exact_conductivity(t)", "exact_sixth_root(t)", "exact_vertical(t)", "exact_cylinder(t)"]
        self.out, self.statics, self.enclosures, self.paths = [], [], {}, 0

    def film(self, exact):
        """A number for what depends on the film temperature alone."""
        if exact not in self.films:
            self.films.append(exact)
        return f"FILM({self.films.index(exact)}, {exact.replace('(t,', '(film,')})"

    def say(self, line):
        self.out.append("  " + line)

    def flow(self, a, b, heat):
        """Heat from one point to another."""
        self.say(f"{{ double q = {heat}; g[{a}] -= q; g[{b}] += q; }}")

    def face(self, face, index):
        """C for the heat of a face, with `film` and `d` in scope."""
        how, length = face["orientation"], face["length_m"]
        natural = f"{face['natural_multiplier']!r} * {how}(film, d, {length!r})"
        speed, along = face["speed_m_per_s"], face["forced_length_m"]
        if speed == 0.0:
            h = f"{natural} * over(film, {length!r})"
        elif how == "cylinder":
            forced = self.film(f"exact_across(t, {speed!r}, {length!r})")
            h = f"with_across({natural}, {forced}) * over(film, {length!r})"
        else:
            forced = self.film(f"exact_along(t, {speed!r}, {along!r})")
            h = f"with_along({natural} * over(film, {length!r}), {forced})"
        a, b = index[face["surface"]], index[face["air"]]
        area = f"({face['area']['fixed_m2']!r} + {face['area']['grown_m2']!r} * f)"
        return a, b, f"double film = 0.5 * (T[{a}] + T[{b}]), d = T[{a}] - T[{b}], q = {area} * {h} * d;"

    def link(self, link):
        index, law = self.index, link["law"]
        a, b = (index[link["a"]], index[link["b"]]) if "a" in link else (None, None)
        if law == "panel_conduction":
            for a, b, conductance in self.chamber.panel_links[link["panel"]]:
                self.flow(a, b, f"{conductance!r} * (T[{a}] - T[{b}])")
        elif law == "resistance":
            self.flow(a, b, f"{link['area_m2'] / link['resistance_m2K_per_W']!r} * (T[{a}] - T[{b}])")
        elif law == "given_conductance":
            self.flow(a, b, f"{link['conductance_W_per_K']!r} * (T[{a}] - T[{b}])")
        elif law == "convection":
            a, b, heat = self.face(link, index)
            self.say(f"{{ {heat} g[{a}] -= q; g[{b}] += q; }}")
        elif law == "radiation_to_surroundings":
            self.flow(a, b, f"{link['area_m2'] * link['emissivity']!r} * (P[{a}] - P[{b}])")
        elif law == "radiation_parallel_plates":
            both = 1.0 / link["emissivity_a"] + 1.0 / link["emissivity_b"] - 1.0
            self.flow(a, b, f"{link['area_m2'] / both!r} * (P[{a}] - P[{b}])")
        elif law == "growing_contact":
            a, b = index[link["body"]], index[link["base"]]
            half = 0.5 * link["height_m"] / link["conductivity_W_per_mK"]
            h = f"{link['area_m2']!r} / ({1.0 / link['contact_W_per_m2K']!r} + {half!r} * f)"
            self.flow(a, b, f"{h} * (T[{a}] - T[{b}])")
        elif law == "layer_exchange":
            self.layer_exchange(link)
        elif law == "grey_enclosure":
            self.enclosure(link)
        elif law == "plume":
            self.plume(link)
        elif law == "air_paths":
            self.air_paths(link)
        elif law == "filament":
            self.filament(link)
        else:
            raise SystemExit(f"no C is written for the law {law}")

    def layer_exchange(self, link):
        layers = [self.index[n] for n in link["layers"]]
        for a, b in zip(layers, layers[1:]):
            d = f"(T[{a}] - T[{b}])"
            over = f"8.0 * sqrt(GRAVITY * {link['height_m']!r} / mean) * onset({d}, OVERTURNING)"
            self.say(
                f"{{ double mean = 0.5 * (T[{a}] + T[{b}]), q = density(mean) * CP * {link['section_m2']!r} * "
                f"({over} + {link['stirring_m_per_s']!r} * {d}); g[{a}] -= q; g[{b}] += q; }}"
            )

    def enclosure(self, link):
        # Contour integrals take seconds, and every phase has the same box.
        key = json.dumps(link, sort_keys=True)
        if key not in self.enclosures:
            self.enclosures[key] = enclosure.total_exchange(link)
        g = self.enclosures[key]
        points = [self.index[s["point"]] for s in link["surfaces"]]
        part = [s["role"] for s in link["surfaces"]].index("part")
        area = link["part_area"]
        self.say(f"{{ double grown = ({area['fixed_m2']!r} + {area['grown_m2']!r} * f) / {link['part_full_m2']!r};")
        for i, a in enumerate(points):
            for j in range(i + 1, len(points)):
                scale = " * grown" if part in (i, j) else ""
                # Opposite halves differ by rounding.
                value = 0.5 * float(g[i, j] + g[j, i])
                if value != 0.0:
                    self.flow(a, points[j], f"{value!r}{scale} * (P[{a}] - P[{points[j]}])")
        self.say("}")

    def plume(self, link):
        index = self.index
        layers = [index[n] for n in link["layers"]]
        top = layers[-1]
        self.say("{ double total = 0.0, buoyant = 0.0;")
        add = f"total += q; buoyant += q * step_of((T[{{}}] - T[{top}]) / REACH);"
        for face in link["faces"]:
            a, _, heat = self.face(face, index)
            self.say(f"{{ {heat} g[{a}] -= q; {add.format(a)} }}")
        for loss in link["losses"]:
            a, b = index[loss["surface"]], index[loss["air"]]
            heat = f"double q = {loss['conductance_W_per_K']!r} * (T[{a}] - T[{b}]);"
            self.say(f"{{ {heat} g[{a}] -= q; {add.format(a)} }}")
        self.say("double rising = buoyant > 0.0 ? buoyant * buoyant / (buoyant + FADE) : 0.0;")
        self.say(f"g[{layers[0]}] += total - rising; g[{top}] += rising;")
        origin = math.sqrt(4.0 * link["source_area_m2"] / math.pi) / (2.0 * math.tan(math.radians(12.5)))
        self.say("double flow = 5e-3 * cbrt(rising) * step_of(rising / WEAK_PLUME) * CP;")
        for k, z in enumerate(link["passes_m"]):
            a, b = layers[k], layers[k + 1]
            wide = link["multiplier"] * (z + origin) ** (5.0 / 3.0)
            heat = f"flow * {wide!r} * density(0.5 * (T[{a}] + T[{b}])) * (T[{b}] - T[{a}])"
            self.say(f"{{ double q = {heat}; g[{a}] += q; g[{top}] -= q; }}")
        self.say("}")

    def air_paths(self, link):
        index = self.index
        if link["fans"] or "led_to" in link:
            raise SystemExit("no C is written for fans")
        layers = [index[n] for n in link["layers"]]
        order = {n: k for k, n in enumerate(link["layers"])}
        room, n, openings = index[link["room"]], len(layers), link["openings"]
        last = f"last_{self.paths}"
        self.paths += 1
        self.statics.append(last)
        self.say(f"{{ double out = density(T[{room}]), rho[{n}], edge[{n}], rise = 0.0, net[{n}] = {{0}};")
        bottom, bottoms = 0.0, []
        for k, (point, upper) in enumerate(zip(layers, link["tops_m"])):
            self.say(f"rho[{k}] = density(T[{point}]); edge[{k}] = rise;")
            self.say(f"rise += GRAVITY * (out - rho[{k}]) * {upper - bottom!r};")
            bottoms.append(bottom)
            bottom = upper
        self.say(f"double excess[{len(openings)}], factor[{len(openings)}];")
        for m, o in enumerate(openings):
            k = order[o["layer"]]
            self.say(
                f"excess[{m}] = edge[{k}] + GRAVITY * (out - rho[{k}]) * {o['height_m'] - bottoms[k]!r}; "
                f"factor[{m}] = {o['area_m2'] * o['discharge']!r} * sqrt(out + rho[{k}]);"
            )
        self.say(f"double p = balance({len(openings)}, excess, factor, 0.0, &{last});")
        for m, o in enumerate(openings):
            k = order[o["layer"]]
            # A place is warmed by each kilogram that enters it and is warmer than itself.
            self.say(
                f"{{ double dp = p + excess[{m}], m = factor[{m}] * dp / sqrt(sqrt(dp * dp + ORIFICE * ORIFICE)), "
                f"d = CP * m * (T[{layers[k]}] - T[{room}]); net[{k}] -= m; "
                f"if (m > 0.0) g[{room}] += d; else g[{layers[k]}] += d; }}"
            )
        self.say("double up = 0.0;")
        for k in range(n - 1):
            a, b = layers[k], layers[k + 1]
            self.say(
                f"up += net[{k}]; {{ double d = up * CP * (T[{a}] - T[{b}]); "
                f"if (up > 0.0) g[{b}] += d; else g[{a}] += d; }}"
            )
        self.say("}")

    def filament(self, link):
        read = laws.filament(link, self.index, self.chamber.air, self.chamber.rounding, self.chamber.description["reading"])
        if read.carried == 0.0:
            return
        self.say(f"{{ double now = T[{read.spool}];")
        for _, around, moving, _ in read.stations:
            self.say(
                f"{{ double rise = {1.0 - moving[0]!r} * (T[{around}] - now); "
                f"g[{around}] -= {read.carried!r} * rise; now += rise; }}"
            )
        self.say(f"g[{read.nozzle}] -= {read.carried!r} * (T[{read.nozzle}] - now); }}")
        self.say(f"g[PART] += {read.carried!r} * (T[{read.nozzle}] - reference);")

    def configuration(self, k, c):
        self.out.append(f"static void gains_{k}(const double *T, const double *P, double f, double *g) {{")
        for link in c["links"]:
            self.link(link)
        for s in c["sources"]:
            if s.get("power_over_time") is not None:
                raise SystemExit("no C is written for powers over time")
            p = self.index[s["point"]]
            self.say(f"g[{p}] += {s['power_W']!r} * (1.0 + {s['per_K']!r} * (T[{p}] - 293.15));")
        self.out.append("}")

    def standing(self):
        """The filament that stands at a station, in each configuration."""
        c, out = self.chamber, []
        reading = c.description["reading"]
        for k, each in enumerate(c.description["configurations"]):
            link = next(x for x in each["links"] if x["law"] == "filament")
            read = laws.filament(link, c.index, c.air, c.rounding, reading)
            self.stations = [name for name, *_ in read.stations]
            out.append(f"  if (configuration == {k}) {{ double now = T[{read.spool}], rest;")
            for m, (at, around, moving, stood) in enumerate(read.stations):
                out.append(f"    rest = now - T[{around}];")
                ways = [f"T[{around}] + rest * {stood[p]!r}" for p in ((0, 1) if at == reading["surface_at"] else (0,))]
                value = ways[0] if len(ways) == 1 else f"fmax({ways[0]}, {ways[1]})"
                if at == reading["drawn_at"]:
                    value = f"({value}) + {read.drawn!r} * (T[{c.index[reading['drawn_to']]}] - ({value}))"
                out.append(f"    if (station == {m}) return {value};")
                out.append(f"    now = T[{around}] + rest * {moving[0]!r};")
            out.append("  }")
        return out

    def whole(self):
        c = self.chamber
        configurations = c.description["configurations"]
        for k, each in enumerate(configurations):
            self.configuration(k, each)
        heaters = [[(c.index[h["node"]], h["setpoint_K"], h["max_power_W"]) for h in x["heaters"]] for x in configurations]
        most = max(len(h) for h in heaters)
        rows = [", ".join(f"{{{n}, {s!r}, {p!r}}}" for n, s, p in h) for h in heaters]
        r = c.rounding
        constants = {
            "SIGMA": laws.SIGMA, "GRAVITY": laws.GRAVITY, "PRESSURE": c.air.pressure, "GAS": c.air.gas, "CP": c.air.cp,
            "EQUAL": r["equal_temperatures_K"], "OVERTURNING": r["overturning_K"], "ORIFICE": r["orifice_Pa"],
            "WEAK_PLUME": r["weak_plume_W"], "FADE": r["plume_fade_W"], "REACH": r["plume_reach_K"],
            "TABLE_FROM": TABLE_FROM, "TABLE_STEP": TABLE_STEP,
        }
        n_rows = round((TABLE_TO - TABLE_FROM) / TABLE_STEP)
        head = [f"#define {k} {v!r}" for k, v in constants.items()]
        head += [f"#define TABLE_ROWS {n_rows}", f"#define N {c.n}", f"#define PART {c.part}", f"#define HEATERS {most}"]
        head += ["static double reference;", *(f"static double {x};" for x in self.statics)]
        head += [f"static double film_table[{len(self.films)}][TABLE_ROWS][4];"]
        head += ['#include "laws.h"']
        # Films as they are, for the tables.
        head += ["double exact_film(int number, double t) {", "  switch (number) {"]
        head += [f"    case {k}: return {x};" for k, x in enumerate(self.films)]
        head += ["  }", "  return NAN;", "}"]
        head += ["double *film_cubics(int number) { return &film_table[number][0][0]; }"]
        tail = [f"static const int heaters[] = {{{', '.join(str(len(h)) for h in heaters)}}};"]
        tail += ["static const struct { int node; double setpoint, power; } heater[][HEATERS] = {"]
        tail += [f"  {{{row}}}," for row in rows] + ["};"]
        tail += ["static void gains(int k, const double *T, const double *P, double f, double *g) {", "  switch (k) {"]
        tail += [f"    case {k}: gains_{k}(T, P, f, g); break;" for k in range(len(configurations))]
        tail += ["  }", "}"]
        tail += ["static double standing(int configuration, int station, const double *T) {", *self.standing()]
        tail += ["  return NAN;", "}", '#include "situation.h"']
        return "\n".join(head + self.out + tail) + "\n"


class Network:
    """The compiled right-hand side, and the second implementation of the same network."""

    def __init__(self, description, folder, tables=True, more=()):
        self.chamber = rebuild.Chamber(description)
        writer = Writer(self.chamber)
        folder = Path(folder)
        source = folder / "network.c"
        source.write_text(writer.whole(), encoding="utf-8")
        name = folder / ("network-tables.so" if tables else "network.so")
        define = ["-DTABLES"] if tables else []
        files, options = more or ((), ())
        subprocess.run(
            ["cc", *FLAGS, *define, f"-I{HERE}", "-shared", "-fPIC", "-o", str(name), str(source),
             *map(str, files), *options, "-lm"],
            check=True,
        )
        self.c = ctypes.CDLL(str(name))
        self.c.exact_film.restype = ctypes.c_double
        self.c.exact_film.argtypes = [ctypes.c_int, ctypes.c_double]
        self.c.film_cubics.restype = ctypes.POINTER(ctypes.c_double)
        self.c.filament.restype = ctypes.c_double
        at = np.arange(TABLE_FROM, TABLE_TO + 0.5 * TABLE_STEP, TABLE_STEP)
        for k in range(len(writer.films)):
            spline = CubicSpline(at, [self.c.exact_film(k, t) for t in at])
            scaled = spline.c[::-1].T * TABLE_STEP ** np.arange(4)
            cubics = np.ctypeslib.as_array(self.c.film_cubics(k), shape=scaled.shape)
            cubics[:] = scaled
        self.stations = writer.stations
        self.describe(self.chamber)

    def describe(self, chamber):
        """Sets what a start changes."""
        d = chamber.description
        weather = d["given"]["temperature"]
        if weather["kind"] != "series":
            raise SystemExit("the weather must be a series")
        self.times = np.array(weather["times_s"], float)
        self.temperatures = np.array(weather["temperatures_K"], float)
        self.capacity = np.array(chamber.capacity, float)
        self.initial = np.array([n["initial_K"] for n in d["nodes"]], float)
        self.stretches = d["stretches"]
        of = lambda a: a.ctypes.data_as(ctypes.c_void_p)
        self.c.describe(
            of(self.capacity), ctypes.c_double(d["reference_K"]), ctypes.c_int(len(self.times)),
            of(self.times), of(self.temperatures),
        )

    def stretch(self, s):
        """Sets which stretch of the run holds."""
        self.c.stretch(
            ctypes.c_int(s["configuration"]), ctypes.c_double(s["begin_s"]), ctypes.c_double(s["part_share"]),
            ctypes.c_double(s["part_growth_per_s"]),
        )

    def rates(self, t, y):
        out = np.empty_like(y)
        self.c.rhs(ctypes.c_double(t), y.ctypes.data_as(ctypes.c_void_p), out.ctypes.data_as(ctypes.c_void_p))
        return out


def disagreement(network, states=200, seed=1):
    """Largest difference to the second implementation at random states, for each node over its largest rate."""
    random = np.random.default_rng(seed)
    chamber, theirs, ours = network.chamber, [], []
    for _ in range(states):
        s = chamber.description["stretches"][random.integers(len(chamber.description["stretches"]))]
        t = random.uniform(s["begin_s"], s["end_s"])
        y = random.uniform(285.0, 345.0, chamber.n)
        piece = rebuild.Stretch(chamber, s, chamber.configuration(s["configuration"]))
        network.stretch(s)
        for k, (node, _, _) in enumerate(piece.configuration.heaters):
            mode = random.integers(3)
            piece.modes[node] = ("off", "hold", "full")[mode]
            network.c.set_mode(k, int(mode))
        theirs.append(piece(t, y))
        ours.append(network.rates(t, y))
    difference = np.max(np.abs(np.array(ours) - theirs), axis=0)
    return float(np.max(difference / np.max(np.abs(theirs), axis=0)))


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("network", help="from --export-network")
    parser.add_argument("folder", help="where the C and what is compiled of it go")
    o = parser.parse_args()
    with open(o.network, encoding="utf-8") as file:
        description = json.load(file)
    for tables, limit in ((False, 1e-12), (True, 1e-7)):
        found = disagreement(Network(description, o.folder, tables))
        print(f"{'with tables' if tables else 'as the laws stand'}: rates within {found:.1e} of the second implementation's")
        if found > limit:
            sys.exit(f"more than {limit:.0e}")


if __name__ == "__main__":
    main()
