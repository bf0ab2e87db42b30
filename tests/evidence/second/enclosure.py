"""Radiation in the chamber: view factors by contour integration, closure, radiosity.

View factors come from Stokes's theorem, A1 F12 = 1/(2 pi) of the double contour integral of
ln r dr1.dr2 (Sparrow 1963). The inner integral along a straight edge is elementary, the outer one is
done by quadrature: no closed form of any view factor is used.
"""

import math

import numpy as np
from scipy.integrate import quad
from scipy.optimize import root


class Rectangle:
    """A rectangle by one corner and two sides; its normal is their cross product."""

    def __init__(self, corner, side_a, side_b):
        self.corner = np.array(corner, float)
        self.a = np.array(side_a, float)
        self.b = np.array(side_b, float)
        self.normal = np.cross(self.a, self.b)
        self.area = float(np.linalg.norm(self.normal))
        self.normal /= self.area

    def edges(self):
        """Its edges, run through so that the normal is on the right hand's thumb."""
        p = [
            self.corner,
            self.corner + self.a,
            self.corner + self.a + self.b,
            self.corner + self.b,
        ]
        return [(p[k], p[(k + 1) % 4]) for k in range(4)]


def log_along(x, low, high, distance):
    """Integral of ln sqrt((s - x)^2 + distance^2) over s from low to high."""

    def primitive(u):
        square = u * u + distance * distance
        if square == 0.0:
            return 0.0
        value = 0.5 * u * math.log(square) - u
        if distance > 0.0:
            value += distance * math.atan(u / distance)
        return value

    return primitive(high - x) - primitive(low - x)


def edge_pair(one, other):
    """Double integral of ln r dr1.dr2 over two edges."""
    (p0, p1), (q0, q1) = one, other
    length = np.linalg.norm(p1 - p0)
    along = (p1 - p0) / length
    cosine = float(np.dot(along, (q1 - q0) / np.linalg.norm(q1 - q0)))
    if abs(cosine) < 0.5:
        return 0.0
    low, high = sorted((float(np.dot(q0 - p0, along)), float(np.dot(q1 - p0, along))))
    across = (q0 - p0) - np.dot(q0 - p0, along) * along
    distance = float(np.linalg.norm(across))
    if distance < 1e-12:
        distance = 0.0
    breaks = [x for x in (low, high) if 0.0 < x < length]
    value, _ = quad(
        log_along,
        0.0,
        length,
        args=(low, high, distance),
        points=breaks or None,
        epsabs=1e-12,
        epsrel=1e-10,
        limit=200,
    )
    return math.copysign(value, cosine) if value >= 0 else -math.copysign(-value, cosine)


def exchange_area(one, other):
    """A1 F12 of two rectangles that see each other fully, m2; 0 in one plane."""
    if abs(np.dot(one.normal, other.corner - one.corner)) < 1e-12 and (
        abs(np.dot(one.normal, other.normal)) > 0.5
    ):
        return 0.0
    total = sum(edge_pair(e, f) for e in one.edges() for f in other.edges())
    return total / (2.0 * math.pi)


def box_surfaces(e):
    """Rectangles of each surface of the shell, with the whole bottom as the floor."""
    w, d, h = e["width_m"], e["depth_m"], e["height_m"]
    bw, bd = e["bed_width_m"], e["bed_depth_m"]
    x, y, z = np.eye(3)
    out = []
    for s in e["surfaces"]:
        if s["role"] == "bed":
            corner = [(w - bw) / 2, (d - bd) / 2, e["bed_height_m"]]
            out.append([Rectangle(corner, bw * x, bd * y)])
        elif s["role"] == "bed underside":
            corner = [(w - bw) / 2, (d - bd) / 2, e["bed_height_m"]]
            out.append([Rectangle(corner, bd * y, bw * x)])
        elif s["role"] == "floor":
            out.append([Rectangle([0, 0, 0], w * x, d * y)])
        elif s["role"] == "lid":
            out.append([Rectangle([0, 0, h], d * y, w * x)])
        elif s["role"] == "door":
            out.append([Rectangle([0, 0, 0], h * z, w * x)])
        elif s["role"] == "walls":
            low, high = s["from_to_m"]
            tall = (high - low) * z
            out.append(
                [
                    Rectangle([0, 0, low], d * y, tall),
                    Rectangle([w, 0, low], tall, d * y),
                    Rectangle([0, d, low], w * x, tall),
                ]
            )
    return out


def cut_at(rectangles, height, above):
    """What of upright or level rectangles lies above a height, or below it."""
    out = []
    for r in rectangles:
        ends = [r.corner[2], (r.corner + r.a + r.b)[2]]
        low, high = min(ends), max(ends)
        if above and low >= height or not above and high <= height:
            out.append(r)
        elif low < height < high:
            # One of its sides is upright and begins at its lower edge.
            share = (high - height if above else height - low) / (high - low)
            foot = r.corner + (np.array([0.0, 0.0, height - low]) if above else 0.0)
            upright = abs(r.a[2]) > 0.0
            out.append(Rectangle(foot, r.a * (share if upright else 1.0), r.b * (1.0 if upright else share)))
    return out


def hide_behind_plate(s, e, roles, shell):
    """The plate of a raised bed sees what is above it, its underside what is below; both sides lose sight of
    each other in proportion to what the plate sees of each."""
    bed, under = roles.index("bed"), roles.index("bed underside")
    height = e["bed_height_m"]
    m = len(shell)
    others = [k for k in range(m) if k not in (bed, under)]
    seen = {}
    for plate, above in ((bed, True), (under, False)):
        seen[plate] = {
            k: sum(exchange_area(shell[plate][0], r) for r in cut_at(shell[k], height, above))
            for k in others
        }
    area = shell[bed][0].area
    for i in others:
        for j in others:
            lost = seen[under][i] * seen[bed][j] + seen[bed][i] * seen[under][j]
            s[i, j] = max(s[i, j] - lost / area, 0.0)
    for plate in (bed, under):
        s[plate, :m] = s[:m, plate] = 0.0
        for k in others:
            s[plate, k] = s[k, plate] = seen[plate][k]


def direct_exchange(e):
    """Direct exchange areas S (closed, reciprocal), areas and emissivities of all surfaces."""
    surfaces = e["surfaces"]
    shell = box_surfaces(e)
    n, m = len(surfaces), len(shell)
    bodies = list(range(m, n))
    assert all("area_m2" in surfaces[b] for b in bodies), "bodies come after the shell"
    roles = [s["role"] for s in surfaces]
    bed, floor = roles.index("bed"), roles.index("floor")
    s = np.zeros((n, n))
    for i in range(m):
        for j in range(i, m):
            value = sum(exchange_area(a, b) for a in shell[i] for b in shell[j])
            s[i, j] = s[j, i] = value
    areas = np.zeros(n)
    areas[:m] = [sum(r.area for r in rectangles) for rectangles in shell]
    # The bed hides its part of the floor, the part hides some of the bed.
    raised = "bed underside" in roles
    others = [k for k in range(m) if k not in (bed, floor)]
    if raised:
        hide_behind_plate(s, e, roles, shell)
    else:
        for k in others:
            s[floor, k] -= s[bed, k]
            s[k, floor] = s[floor, k]
    free = min(e["bed_free_m2"], areas[bed])
    for k in others:
        s[bed, k] *= free / areas[bed]
        s[k, bed] = s[bed, k]
    if not raised:
        areas[floor] -= areas[bed]
    areas[bed] = free
    for b in bodies:
        areas[b] = surfaces[b]["area_m2"]
    for b in bodies:
        s[b, :m] = areas[b] * areas[:m] / areas[:m].sum()
        s[:m, b] = s[b, :m]
    # Symmetric scaling d_i S_ij d_j so that every row sums to its area.
    found = root(
        lambda log_d: np.log(np.exp(log_d) * (s @ np.exp(log_d)) / areas),
        np.zeros(n),
        tol=1e-13,
    )
    assert np.max(np.abs(found.fun)) < 1e-9, "the enclosure does not close"
    d = np.exp(found.x)
    return d[:, None] * s * d[None, :], areas, np.array([t["emissivity"] for t in surfaces])


def total_exchange(e):
    """G with q_i = sum G_ij sigma (T_i^4 - T_j^4), radiosity solved, diagonal zero."""
    s, areas, emissivity = direct_exchange(e)
    n = len(areas)
    incident = s / areas[:, None]
    # J = e E + (1 - e) F J for unit black emissive powers E.
    radiosity = np.linalg.solve(
        np.eye(n) - (1.0 - emissivity)[:, None] * incident, np.diag(emissivity)
    )
    net = areas[:, None] * emissivity[:, None] * (np.eye(n) - incident @ radiosity)
    assert np.max(np.abs(net.sum(axis=1))) < 1e-8, "equal temperatures exchange heat"
    assert np.max(np.abs(net - net.T)) < 1e-8, "reciprocity is broken"
    g = -net
    np.fill_diagonal(g, 0.0)
    return g
