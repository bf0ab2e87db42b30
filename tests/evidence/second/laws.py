"""The laws of docs/network.md, each from its description; convection from `ht`."""

import math

import fluids
import ht
import numpy as np
from scipy.constants import g as GRAVITY
from scipy.constants import sigma as SIGMA
from scipy.optimize import brentq
from scipy.special import j0, j1, jn_zeros

import enclosure


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


def onset(x, band):
    """0 below 0, x - band/2 above the band; between, a cubic times a line that meets both."""
    if x <= 0.0:
        return 0.0
    if x >= band:
        return x - 0.5 * band
    r = 2.0 * x / band
    return 0.5 * band * r**3 * (4.0 - r) / 16.0


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
    """Epstein's exchange number, its four pieces joined over a tenth on either side of where they meet."""
    x = slenderness
    pieces = [
        lambda: 0.055,
        lambda: 0.147 * math.sqrt(x),
        lambda: 0.093 / math.sqrt(1.0 + 0.084 * (x - 0.4) ** 3),
        lambda: 0.32 * x**-1.5,
    ]
    value = pieces[0]()
    for piece, join in zip(pieces[1:], (0.15, 0.4, 3.25)):
        share = step((x / join - 0.9) / 0.2)
        if share > 0.0:
            value += share * (piece() - value)
    return value


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
        self.bypass = [link["short_circuit"] * f["outward_m3_per_s"] for f in link["fans"]]
        self.led_to = index[link["led_to"]] if "led_to" in link else None
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
        if self.led_to is not None:
            # Drawn-out air never mixes with the room's: outdoor air takes its place there.
            for (layer, m), past in zip(blown, self.bypass):
                if m > 0.0:
                    fresh = m + past * out
                    gain[self.room] += fresh * cp * (t[self.led_to] - room)
                    gain[self.room] -= m * cp * (t[self.layers[layer]] - room)
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


def vertical_exchange(link, inside, room, weak):
    """Volume each way through a door, m3/s."""
    apart = abs(inside - room)
    mean = 0.5 * (inside + room)
    speed = math.sqrt(GRAVITY * link["height_m"] * apart / mean) * step(apart / weak)
    return link["discharge"] / 3.0 * link["area_m2"] * speed


def stirred_opening(link, index, air, rounding):
    """What moving air adds to the exchange by warmth: roots of sums of squares."""
    layer, room = index[link["layer"]], index[link["room"]]
    weak = rounding["weak_exchange_K"]
    stirred = link["factor"] * link["area_m2"] * link["speed_m_per_s"]

    def add(t, f, gain):
        inside, outside = t[layer], t[room]
        if "rim_m" in link:
            still = horizontal_exchange(link["area_m2"], link["rim_m"], inside, outside, weak)
        else:
            still = vertical_exchange(link, inside, outside, weak)
        more = math.hypot(still, stirred) - still
        q = more * air.density(0.5 * (inside + outside)) * air.cp * (inside - outside)
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
    losses = [
        (index[x["surface"]], index[x["air"]], x["conductance_W_per_K"]) for x in link["losses"]
    ]
    layers = [index[n] for n in link["layers"]]
    diameter = math.sqrt(4.0 * link["source_area_m2"] / math.pi)
    origin = diameter / (2.0 * math.tan(math.radians(12.5)))
    fade, reach = rounding["plume_fade_W"], rounding["plume_reach_K"]

    def add(t, f, gain):
        total = buoyant = 0.0
        top = layers[-1]
        given = [(face.surface, face.heat(t, f)) for face in faces]
        given += [(warm, g * (t[warm] - t[around])) for warm, around, g in losses]
        for warm, q in given:
            gain[warm] -= q
            total += q
            buoyant += q * step((t[warm] - t[top]) / reach)
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
            mean = 0.5 * (t[a] + t[b])
            speed = 8.0 * math.sqrt(GRAVITY * link["height_m"] / mean)
            over = speed * onset(t[a] - t[b], rounding["overturning_K"])
            stirred = link["stirring_m_per_s"] * (t[a] - t[b])
            q = air.density(mean) * air.cp * link["section_m2"] * (over + stirred)
            gain[a] -= q
            gain[b] += q

    return add


def across(biot, fourier, terms=60):
    """What is left of a cylinder's first difference to its surroundings: of its mean, of its surface."""
    if math.isinf(fourier):
        return 0.0, 0.0
    lower = np.concatenate([[0.0], jn_zeros(1, terms - 1)])
    upper = jn_zeros(0, terms)
    z = np.array(
        [
            brentq(lambda x: x * j1(x) - biot * j0(x), a + 1e-12, b, xtol=1e-13)
            for a, b in zip(lower, upper)
        ]
    )
    faded = np.exp(-(z**2) * fourier) / (z**2 + biot**2)
    return float((4.0 * (biot / z) ** 2 * faded).sum()), float((2.0 * biot * faded).sum())


def filament(link, index, air, rounding, reading):
    """Heat the filament takes from its stations; the part's share is added with its growth."""
    cp, k, diameter = (
        link[x] for x in ("heat_capacity_J_per_kgK", "conductivity_W_per_mK", "diameter_m")
    )
    carried, state = link["feed_kg_per_s"] * cp, link["in_air"]
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
    # Diffusivity over the radius squared, 1/s; seconds a station takes to pass.
    spread = k / (link["density_kg_per_m3"] * cp) / (0.5 * diameter) ** 2
    section = math.pi * (0.5 * diameter) ** 2
    per_m = link["density_kg_per_m3"] * section / link["feed_kg_per_s"] if carried else math.inf
    stations = []
    for s in link["stations"]:
        h = in_air if s["coefficient_W_per_m2K"] is None else s["coefficient_W_per_m2K"]
        biot, passing = h * 0.5 * diameter / k, per_m * s["length_m"] if carried else math.inf
        moving = across(biot, spread * passing)
        stood = across(biot, spread * (passing + link["stands_s"]))
        stations.append((s["name"], index[s["around"]], moving, stood))
    spool, nozzle = index[link["spool"]], index[link["nozzle"]]
    # A rod that stands in the bore of the cold end: a fin on both sides of where the neck begins.
    fin = math.sqrt(k * section / (reading["bore_W_per_m2K"] * math.pi * diameter))
    drawn = 0.5 * fin / reading["neck_m"] * math.exp(-reading["ahead_m"] / fin)
    hot = index[reading["drawn_to"]]

    def add(t, f, gain):
        if carried == 0.0:
            return
        now = t[spool]
        for _, around, moving, _ in stations:
            rise = (1.0 - moving[0]) * (t[around] - now)
            gain[around] -= carried * rise
            now += rise
        gain[nozzle] -= carried * (t[nozzle] - now)

    def along(t):
        """Temperature at each station, K: of filament that has stood there, and on steady feed."""
        out, now = {"spool": t[spool], "spool moving": t[spool]}, t[spool]
        for name, around, moving, stood in stations:
            rest = now - t[around]
            parts = (0, 1) if name == reading["surface_at"] else (0,)
            standing = max(t[around] + rest * stood[p] for p in parts)
            if name == reading["drawn_at"]:
                standing += drawn * (t[hot] - standing)
            out[name] = standing
            out[name + " moving"] = max(t[around] + rest * moving[p] for p in parts)
            now = t[around] + rest * moving[0]
        return out

    add.carried, add.nozzle, add.laid_on = carried, nozzle, index[link["laid_on"]]
    add.along = along
    add.stations, add.spool, add.drawn = stations, spool, drawn
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
