"""Writes grids of reference values with general-purpose libraries, one CSV file a subject.

    python make_grids.py FOLDER [NETLIST]

Nothing here shares code with the program: properties, correlations and solvers are the libraries'
own, and where a formula is written out it is written from its source. The Rust tests read the
files; `live.sh` makes them anew. NETLIST is a circuit exported by `examples/reference_values.rs`;
with it, ngspice solves the linear network as well.
"""

import csv
import math
import os
import pathlib
import subprocess
import sys
import tempfile

import CoolProp.CoolProp as cp
import numpy as np
import psychrolib
from CoolProp.HumidAirProp import HAPropsSI
from fluids.atmosphere import ATMOSPHERE_1976
from fluids.core import dP_from_K
from fluids.filters import square_edge_grill
from fluids.fittings import bend_miter, bend_rounded, entrance_sharp, exit_normal
from fluids.friction import Colebrook, friction_factor, one_phase_dP
from ht.conv_external import (
    Nu_cylinder_Churchill_Bernstein,
    Nu_horizontal_plate_laminar_Baehr,
)
from ht.conv_free_immersed import (
    Nu_free_horizontal_plate,
    Nu_horizontal_cylinder_Churchill_Chu,
    Nu_horizontal_plate_McAdams,
    Nu_horizontal_plate_Rohsenow,
    Nu_horizontal_plate_VDI,
    Nu_vertical_plate_Churchill,
)
from scipy.integrate import quad, solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

psychrolib.SetUnitSystem(psychrolib.SI)
PRESSURES_PA = (101_325.0, 79_501.0)  # sea level; 2000 m by ISO 2533
SIGMA = 5.670374419e-8
G = 9.80665


def write(folder, name, header, rows):
    """Ten significant digits: more than any comparison here asks for."""
    with open(folder / name, "w", newline="", encoding="utf-8") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header)
        for row in rows:
            w.writerow([v if isinstance(v, str) else f"{v:.10g}" for v in row])


def air(folder):
    rows = []
    for p in PRESSURES_PA:
        for t_degC in range(0, 121, 10):
            t = 273.15 + t_degC
            get = lambda what: cp.PropsSI(what, "T", t, "P", p, "Air")
            rows.append((t, p, get("D"), get("V"), get("L"), get("C"), get("Prandtl")))
    write(
        folder,
        "air_coolprop.csv",
        ["T_K", "p_Pa", "density_kg_per_m3", "viscosity_Pa_s", "conductivity_W_per_mK", "cp_J_per_kgK", "prandtl"],
        rows,
    )
    rows = []
    for p in PRESSURES_PA:
        for t_degC in range(0, 121, 10):
            rows.append((273.15 + t_degC, p, psychrolib.GetDryAirDensity(t_degC, p)))
    write(folder, "air_psychrolib.csv", ["T_K", "p_Pa", "density_kg_per_m3"], rows)
    # The standard atmosphere gives properties only along its own temperatures.
    rows = []
    for z in range(0, 4001, 250):
        a = ATMOSPHERE_1976(z)
        rows.append((z, a.T, a.P, a.rho, a.mu, a.k))
    write(
        folder,
        "atmosphere_1976.csv",
        ["altitude_m", "T_K", "p_Pa", "density_kg_per_m3", "viscosity_Pa_s", "conductivity_W_per_mK"],
        rows,
    )
    # Moist air: how far the dry air of the model is from it.
    rows = []
    for p in PRESSURES_PA:
        for t_degC in (10, 20, 25, 30, 35, 40):
            for rh in (0.3, 0.6, 0.9):
                t = 273.15 + t_degC
                args = ("T", t, "P", p, "R", rh)
                w = HAPropsSI("W", *args)
                density = (1 + w) / HAPropsSI("Vda", *args)
                psy = psychrolib.GetMoistAirDensity(t_degC, psychrolib.GetHumRatioFromRelHum(t_degC, rh, p), p)
                rows.append((t, p, rh, density, psy, HAPropsSI("M", *args), HAPropsSI("K", *args), HAPropsSI("cp_ha", *args)))
    write(
        folder,
        "air_moist.csv",
        ["T_K", "p_Pa", "relative_humidity", "density_kg_per_m3", "density_psychrolib_kg_per_m3",
         "viscosity_Pa_s", "conductivity_W_per_mK", "cp_J_per_kgK"],
        rows,
    )


def natural_convection(folder):
    pr = 0.71
    rows = []
    for k in range(0, 29):
        ra = 10 ** (3 + k / 4)
        gr = ra / pr
        rows.append((
            ra,
            pr,
            Nu_vertical_plate_Churchill(pr, gr),
            Nu_horizontal_cylinder_Churchill_Chu(pr, gr),
            Nu_horizontal_plate_McAdams(pr, gr, True),
            Nu_free_horizontal_plate(pr, gr, True),
            Nu_horizontal_plate_Rohsenow(pr, gr, True),
            Nu_horizontal_plate_McAdams(pr, gr, False),
            Nu_horizontal_plate_VDI(pr, gr, False),
            Nu_horizontal_plate_Rohsenow(pr, gr, False),
        ))
    write(
        folder,
        "natural_convection.csv",
        ["Ra", "Pr", "vertical_Churchill", "cylinder_Churchill_Chu", "away_McAdams", "away_default",
         "away_Rohsenow", "toward_McAdams", "toward_VDI", "toward_Rohsenow"],
        rows,
    )
    # From a thin rod in nearly equal air to a wall 3 m high, and for warm and cool air's Prandtl number.
    rows = []
    for pr in (0.69, 0.73):
        for k in range(-8, 25):
            ra = 10 ** (k / 2)
            rows.append((ra, pr, Nu_vertical_plate_Churchill(pr, ra / pr), Nu_horizontal_cylinder_Churchill_Chu(pr, ra / pr)))
    write(folder, "natural_convection_wide.csv", ["Ra", "Pr", "vertical_Churchill", "cylinder_Churchill_Chu"], rows)


def forced_convection(folder):
    rows = []
    for k in range(0, 17):
        re = 10 ** (1 + k / 4)
        rows.append((re, 0.71, Nu_cylinder_Churchill_Bernstein(re, 0.71), Nu_horizontal_plate_laminar_Baehr(re, 0.71)))
    write(folder, "forced_convection.csv", ["Re", "Pr", "cylinder_Churchill_Bernstein", "plate_laminar"], rows)


def ray_hits(rng, n, a, b, perpendicular, distance):
    """Share of diffuse rays from rectangle a that land on b."""
    (ax, ay), (bx, by) = a, b
    x = rng.uniform(ax[0], ax[1], n)
    y = rng.uniform(ay[0], ay[1], n)
    # Cosine-weighted directions about the normal z.
    u, phi = rng.uniform(size=n), rng.uniform(0, 2 * math.pi, n)
    dx, dy, dz = np.sqrt(u) * np.cos(phi), np.sqrt(u) * np.sin(phi), np.sqrt(1 - u)
    if perpendicular:
        # b stands in the plane x = 0; its first bounds are heights above a's plane.
        with np.errstate(divide="ignore", invalid="ignore"):
            s = -x / dx
        hx, hy, ok = s * dz, y + s * dy, dx < 0
    else:
        s = distance / dz
        hx, hy, ok = x + s * dx, y + s * dy, dz > 0
    return np.mean(ok & (hx > bx[0]) & (hx < bx[1]) & (hy > by[0]) & (hy < by[1]))


def view_factors(folder):
    """Cast rays, 4 million a case, with a fixed seed: standard error at most 0.00025."""
    rng = np.random.default_rng(20260713)
    n = 4_000_000
    cases = [
        (0, ((0, 1), (0, 1)), ((0, 1), (0, 1)), 1.0),
        (0, ((0, 0.5), (0, 0.5)), ((0, 0.5), (0, 0.5)), 0.7),
        (0, ((0.1, 0.46), (0.1, 0.46)), ((0, 0.55), (0, 0.55)), 0.6),
        (0, ((0, 0.2), (0, 0.3)), ((0.4, 0.9), (0.1, 0.5)), 0.25),
        (0, ((0, 1), (0, 0.4)), ((0.5, 2), (-0.5, 0.2)), 0.35),
        (1, ((0, 1), (0, 1)), ((0, 1), (0, 1)), 0.0),
        (1, ((0, 0.55), (0, 0.55)), ((0, 0.70), (0, 0.55)), 0.0),
        (1, ((0.1, 0.46), (0.1, 0.46)), ((0.05, 0.35), (0, 0.55)), 0.0),
        (1, ((0.2, 0.6), (0, 0.3)), ((0.1, 0.9), (0.4, 1.0)), 0.0),
        (1, ((0, 2), (0, 0.5)), ((0, 0.3), (-0.2, 0.7)), 0.0),
    ]
    rows = []
    for perpendicular, a, b, z in cases:
        f = ray_hits(rng, n, a, b, perpendicular, z)
        rows.append((perpendicular, *a[0], *a[1], *b[0], *b[1], z, f, math.sqrt(f * (1 - f) / n)))
    write(
        folder,
        "view_factors_monte_carlo.csv",
        ["perpendicular", "ax0_m", "ax1_m", "ay0_m", "ay1_m", "bx0_m", "bx1_m", "by0_m", "by1_m",
         "distance_m", "F12", "standard_error"],
        rows,
    )


def openings(folder):
    """Two-way flow through a door: Bernoulli at every height, summed by quadrature."""
    rows = []
    for area, height, c, one, other in [
        (1.0, 1.0, 0.6, 303.15, 293.15),
        (0.3, 0.6, 0.6, 318.15, 304.15),
        (0.09, 0.3, 0.65, 313.15, 308.15),
        (1.6, 2.0, 0.8, 295.15, 292.15),
    ]:
        mean = 0.5 * (one + other)
        speed = lambda z: math.sqrt(2 * G * z * abs(one - other) / mean)
        flow = c * area / height * quad(speed, 0, height / 2, epsabs=1e-14)[0]
        rows.append((area, height, c, one, other, flow))
    write(folder, "door_quadrature.csv", ["area_m2", "height_m", "discharge", "one_K", "other_K", "flow_m3_per_s"], rows)
    # Two openings and a column of warm air: the flow at which inflow and outflow agree.
    rows = []
    p, r = 101_325.0, 287.05
    for low, high, zl, zh, inside, outside in [
        (0.003, 0.003, 0.05, 0.65, 318.15, 304.15),
        (0.006, 0.002, 0.0, 0.7, 313.15, 303.15),
        (0.001, 0.010, 0.1, 1.0, 333.15, 293.15),
    ]:
        ri, ro = p / (r * inside), p / (r * outside)
        mean = 0.5 * (ri + ro)
        def surplus(dp):
            out = high * math.sqrt(2 * mean * max(dp + G * (ro - ri) * zh, 0))
            into = low * math.sqrt(2 * mean * max(-(dp + G * (ro - ri) * zl), 0))
            return out - into
        dp = brentq(surplus, -G * (ro - ri) * zh, -G * (ro - ri) * zl, xtol=1e-15)
        into = 0.6 * low * math.sqrt(2 * mean * -(dp + G * (ro - ri) * zl))
        rows.append((low, high, zl, zh, inside, outside, dp, into))
    write(
        folder,
        "stack_two_openings.csv",
        ["low_area_m2", "high_area_m2", "low_m", "high_m", "inside_K", "outside_K", "floor_Pa", "inflow_kg_per_s"],
        rows,
    )


def ducts(folder):
    """Friction, fittings, a grille; an invented fan's curve and where it meets a system."""
    rows = [(re, 0.0, friction_factor(re)) for re in (100.0, 500.0, 1000.0, 2000.0)]
    for k in range(13):
        re = 4000 * 10 ** (k / 3)
        for e in (1e-6, 1e-4, 1e-3, 0.01, 0.05):
            rows.append((re, e, Colebrook(re, e)))
    write(folder, "friction.csv", ["Re", "roughness_over_diameter", "friction_factor"], rows)
    rows = []
    for d, length, e, rho, mu in [(0.1, 1.5, 1e-3, 1.12, 1.9e-5), (0.08, 3.0, 1e-5, 1.2, 1.81e-5), (0.125, 10.0, 9e-5, 0.95, 1.95e-5)]:
        # From 5.3e3 to 1e5 in Re: both sides agree on what is turbulent there.
        for flow in (40 / 3600, 80 / 3600, 200 / 3600):
            dp = one_phase_dP(m=rho * flow, rho=rho, mu=mu, D=d, roughness=e, L=length)
            rows.append((d, length, e, rho, mu, flow, dp))
    write(
        folder,
        "duct_pressure.csv",
        ["diameter_m", "length_m", "roughness_m", "density_kg_per_m3", "viscosity_Pa_s", "flow_m3_per_s", "pressure_Pa"],
        rows,
    )
    bend = lambda diameters, re: bend_rounded(Di=0.1, angle=90, bend_diameters=diameters, Re=re, roughness=1e-4)
    write(folder, "fittings.csv", ["label", "loss"], [
        ("sharp entry, Rennels (the library's default)", entrance_sharp()),
        ("sharp entry, Crane", entrance_sharp("Crane")),
        ("free exit", exit_normal()),
        ("mitred bend", bend_miter(90)),
        ("round bend, 1 diameter, Re 2e4", bend(1.0, 2e4)),
        ("round bend, 1 diameter, Re 1e5", bend(1.0, 1e5)),
        ("round bend, 1.5 diameters, Re 2e4", bend(1.5, 2e4)),
        ("round bend, 1.5 diameters, Re 1e5", bend(1.5, 1e5)),
    ])
    # A grille with 60 % free area on 100 cm2: what a rating in standard air says of other flows and air.
    k, area = square_edge_grill(0.6), 0.01
    rows = []
    for flow in (0.005, 0.010, 0.020, 0.030):
        for rho in (1.2, 1.1, 0.95):
            rows.append((flow, rho, dP_from_K(k, rho, flow / area), dP_from_K(k, 1.2, 0.010 / area)))
    write(folder, "grille.csv", ["flow_m3_per_s", "density_kg_per_m3", "pressure_Pa", "rated_Pa_at_0.010"], rows)
    # An invented fan with a dip, as axial fans have.
    q = np.array([0.0, 0.008, 0.014, 0.020, 0.028, 0.036, 0.042])
    p = np.array([62.0, 48.0, 39.0, 41.0, 33.0, 15.0, 0.0])
    curve = PchipInterpolator(q, p)
    write(folder, "fan_curve.csv", ["flow_m3_per_s", "pressure_Pa"], [(x, curve(x)) for x in np.linspace(0, 0.042, 85)])
    # Systems whose pressure goes with the square of flow, and partly with flow itself.
    rows = []
    for linear, square in ((0.0, 4e4), (0.0, 1.5e4), (300.0, 1e4), (900.0, 0.0)):
        flow = brentq(lambda x: curve(x) - linear * x - square * x * x, 0.015, 0.042, xtol=1e-15)
        rows.append((linear, square, flow, curve(flow)))
    write(folder, "duty_point.csv", ["linear_Pa_s_per_m3", "square_Pa_s2_per_m6", "flow_m3_per_s", "pressure_Pa"], rows)


def wall_series(folder):
    """Plane wall, one face insulated, the other in air: the full series (Carslaw & Jaeger)."""
    rows = []
    for bi in (0.16, 1.0, 5.0):
        roots = [brentq(lambda z, k=k: z * math.sin(z) - bi * math.cos(z), k * math.pi + 1e-12, k * math.pi + math.pi / 2)
                 for k in range(60)]
        for fo in (0.1, 0.2, 0.5, 1.0, 2.0):
            for x in (0.0, 1.0):
                theta = sum(
                    4 * math.sin(z) / (2 * z + math.sin(2 * z)) * math.exp(-z * z * fo) * math.cos(z * x)
                    for z in roots
                )
                rows.append((bi, fo, x, theta))
    write(folder, "wall_series.csv", ["Bi", "Fo", "x_over_L", "theta"], rows)


def iso_air(t, p):
    """ISO 2533's formulas, written out here on their own: density, viscosity, conductivity."""
    mu = 1.458e-6 * t**1.5 / (t + 110.4)
    k = 2.648151e-3 * t**1.5 / (t + 245.4 * 10 ** (-12 / t))
    return p / (287.05 * t), mu, k


def churchill_h(surface, air_K, height):
    t = 0.5 * (surface + air_K)
    rho, mu, k = iso_air(t, 101_325.0)
    pr = 1006.0 * mu / k
    gr = G * abs(surface - air_K) / t * height**3 / (mu / rho) ** 2
    return Nu_vertical_plate_Churchill(pr, gr) * k / height


def rod(folder):
    """A thin rod in still air: convection all round and radiation to walls of the air's temperature."""
    rows = []
    for d in (1.75e-3, 2.85e-3):
        for gas in (295.15, 313.15, 333.15):
            for warmer in (-30, -10, -3, -1, 1, 3, 10, 30):
                t = gas + warmer
                rho, mu, k = iso_air(0.5 * (t + gas), 101_325.0)
                pr = 1006.0 * mu / k
                gr = G * abs(warmer) / (0.5 * (t + gas)) * d**3 / (mu / rho) ** 2
                h = Nu_horizontal_cylinder_Churchill_Chu(pr, gr) * k / d
                h += 0.9 * SIGMA * (t**4 - gas**4) / (t - gas)
                rows.append((t, gas, d, h))
    write(folder, "rod.csv", ["rod_K", "air_K", "diameter_m", "coefficient_W_per_m2K"], rows)


def worked_examples(folder):
    """A handbook's examples, worked again from their inputs with its own formulas and its rounded 5.67e-8.

    Inputs and printed values are from memory (Incropera & DeWitt, 6th ed.). `allowed` is half a digit of what is
    printed, more only where the book rounds on the way.
    """
    s = 5.67e-8
    pi = math.pi
    rows = []

    def row(label, printed, again, allowed):
        assert abs(printed - again) <= allowed, (label, printed, again)
        rows.append((label, printed, again, allowed))

    row("1.2 emissive power of a pipe at 473 K, W/m2", 2270, 0.8 * s * 473**4, 5)
    row("1.2 heat from the pipe, W/m", 998, 15 * pi * 0.07 * 175 + pi * 0.07 * 0.8 * s * (473**4 - 298**4), 0.5)
    area, total = 1.8, (35 - 10) / 100
    insulation = lambda h: 1000 * 0.014 * (area * total - 0.003 / 0.3 - 1 / h)
    row("3.1 insulation against air, mm", 4.4, insulation(2 + 5.9), 0.05)
    row("3.1 insulation against water, mm", 6.1, insulation(200), 0.05)
    row("3.1 skin, degC", 34.4, 35 - 100 * 0.003 / (0.3 * area), 0.06)
    chip_down = 1 / (0.9e-4 + 0.008 / 239 + 1 / 100)
    row("3.2 chip, degC", 75.3, 25 + 1e4 / (100 + chip_down), 0.05)
    for metal, k, printed in (("copper", 398, 8.3), ("aluminium", 180, 5.6), ("steel", 14, 1.6)):
        fin = math.sqrt(100 * pi * 0.005 * k * pi / 4 * 0.005**2) * 75
        row(f"3.9 rod of {metal}, W", printed, fin, 0.05)
    d = 7.06e-4
    tau = 8500 * d * 400 / (6 * 400)
    row("5.1 junction to 199 degC, s", 5.2, tau * math.log((25 - 200) / (199 - 200)), 0.05)
    balance = lambda t: 400 * (473 - t) + 0.9 * s * (673**4 - t**4)
    row("5.2 junction with radiation, steady, degC", 218.7, brentq(balance, 400, 673) - 273, 0.05)
    seconds = quad(lambda t: 8500 * d * 400 / 6 / balance(t), 298, 217.7 + 273)[0]
    # Within 1 K of its end a time is sensitive: 0.05 K in either temperature is 0.1 s.
    row("5.2 junction with radiation to 217.7 degC, s", 4.9, seconds, 0.1)
    bi, fo = 500 * 0.04 / 63.9, 63.9 / (7832 * 434) * 480 / 0.04**2
    z = brentq(lambda z: z * math.tan(z) - bi, 0.1, 1.5)
    theta = 4 * math.sin(z) / (2 * z + math.sin(2 * z)) * math.exp(-z * z * fo)
    # The book goes on with theta rounded to 0.214 (0.212) and zeta to 0.531: 0.2 K.
    row("5.4 insulated face of the wall, degC", 42.9, 60 - 80 * theta, 0.2)
    row("5.4 heated face of the wall, degC", 45.2, 60 - 80 * theta * math.cos(z), 0.2)
    row("5.4 heat flow into the wall, W/m2", 7400, 500 * 80 * theta * math.cos(z), 100)
    soil = math.sqrt(0.52 / (2050 * 1840) * 60 * 86400)
    depth = brentq(lambda x: -15 + 35 * math.erf(x / (2 * soil)), 0.1, 3)
    row("5.6 depth of 0 degC, m", 0.68, depth, 0.005)
    re = 10 * 0.5 / 5.21e-4
    nu = 0.664 * math.sqrt(re) * 0.687 ** (1 / 3)
    row("7.1 plate, Nu", 57.4, nu, 0.05)
    row("7.1 plate, W/(m2 K)", 4.18, nu * 0.0364 / 0.5, 0.005)
    nu = 0.3 + 0.62 * math.sqrt(6071) * 0.70 ** (1 / 3) / (1 + (0.4 / 0.70) ** (2 / 3)) ** 0.25 * (
        1 + (6071 / 282000) ** 0.625) ** 0.8
    row("7.4 cylinder, Nu", 40.6, nu, 0.05)
    row("7.4 cylinder, W/(m2 K)", 96, nu * 0.030 / 0.0127, 0.5)
    mean = (57 - 15) / math.log((100 - 15) / (100 - 57))
    row("8.3 tube heated by steam, W/(m2 K)", 755, 0.25 * 4178 * (57 - 15) / (pi * 0.05 * 6 * mean), 1)
    vertical = lambda ra, pr: (0.825 + 0.387 * ra ** (1 / 6) / (1 + (0.492 / pr) ** (9 / 16)) ** (8 / 27)) ** 2
    ra = 9.8 / 400 * (232 - 23) * 0.71**3 / (38.3e-6 * 26.4e-6)
    nu = vertical(ra, 0.690)
    row("9.2 fire screen, Ra/1e9", 1.813, ra / 1e9, 0.001)
    row("9.2 fire screen, Nu", 147, nu, 0.5)
    h = nu * 33.8e-3 / 0.71
    row("9.2 fire screen, W/(m2 K)", 7.0, h, 0.05)
    row("9.2 fire screen, W", 1060, h * 0.71 * 1.02 * 209, 5)
    ra = lambda length: 9.8 / 303 * 30 * length**3 / (22.9e-6 * 16.2e-6)
    laminar = lambda x: 0.68 + 0.670 * x**0.25 / (1 + (0.492 / 0.71) ** (9 / 16)) ** (4 / 9)
    side = laminar(ra(0.3)) * 0.0265 / 0.3
    top = 0.15 * ra(0.375) ** (1 / 3) * 0.0265 / 0.375
    bottom = 0.27 * ra(0.375) ** 0.25 * 0.0265 / 0.375
    row("9.3 duct, side, W/(m2 K)", 4.23, side, 0.01)
    row("9.3 duct, top, W/(m2 K)", 5.47, top, 0.01)
    row("9.3 duct, bottom, W/(m2 K)", 2.07, bottom, 0.01)
    row("9.3 duct, W/m", 246, (2 * side * 0.3 + (top + bottom) * 0.75) * 30, 1)
    ra = 9.8 / 367 * 142 * 0.1**3 / (22.8e-6 * 32.8e-6)
    nu = (0.60 + 0.387 * ra ** (1 / 6) / (1 + (0.559 / 0.697) ** (9 / 16)) ** (8 / 27)) ** 2
    row("9.4 steam pipe, Ra/1e6", 5.073, ra / 1e6, 0.005)
    # The book prints 23.3; its own Rayleigh number in its own formula gives 23.1.
    row("9.4 steam pipe, Nu", 23.3, nu, 0.25)
    row("9.4 steam pipe, convection, W/m", 325, nu * 0.0313 / 0.1 * pi * 0.1 * 142, 5)
    row("9.4 steam pipe, radiation, W/m", 441, 0.85 * pi * 0.1 * s * (438**4 - 296**4), 1)
    grey = 1 / 0.02 + (1 - 0.05) / 0.05 * (0.02 / 0.05)
    row("13.4 cryogenic line, W/m", 0.50, s * pi * 0.02 * (300**4 - 77**4) / grey, 0.005)
    # Surfaces 1 (heaters), 2 (panels) and an insulated third, 1 m wide each, all view factors 0.5.
    emit = lambda t: s * t**4
    between = (1 - 0.8) / 0.8 + 1 / (0.5 + 1 / (1 / 0.5 + 1 / 0.5)) + (1 - 0.4) / 0.4
    q = (emit(1200) - emit(500)) / between
    j1, j2 = emit(1200) - q * 0.2 / 0.8, emit(500) + q * 0.6 / 0.4
    row("13.5 oven, kW/m", 37, q / 1000, 0.5)
    row("13.5 oven, insulated wall, K", 1102, ((j1 + j2) / 2 / s) ** 0.25, 1)
    write(folder, "worked_examples.csv", ["label", "printed", "again", "allowed"], rows)


def box_rates(t, y):
    """Plate (heated), air, wall inside, wall outside; a room that swings by the day."""
    plate, gas, inner, outer = y
    room = 304.15 + 3.0 * math.sin(2 * math.pi * t / 86400)
    q_pg = 0.20 * churchill_h(plate, gas, 0.3) * (plate - gas)
    q_gi = 1.50 * churchill_h(gas, inner, 0.6) * (gas - inner)
    q_pi = 0.15 * SIGMA * (plate**4 - inner**4)
    q_io = 1.50 * 50.0 * (inner - outer)
    q_or = 1.50 * churchill_h(outer, room, 0.6) * (outer - room) + 1.40 * SIGMA * (outer**4 - room**4)
    q_ar = 1.2 * (gas - room)
    return [
        (60.0 - q_pg - q_pi) / 2250.0,
        (q_pg - q_gi - q_ar) / 180.0,
        (q_gi + q_pi - q_io) / 4000.0,
        (q_io - q_or) / 4000.0,
    ]


LINEAR_CAPACITIES = (180.0, 2250.0, 4000.0, 4000.0, 8000.0)
LINEAR_LINKS = ((0, 1, 2.0), (0, 2, 6.0), (2, 3, 75.0), (1, 2, 1.0), (0, 4, 5.0), (3, "room", 9.0), (0, "room", 1.0))


def linear_rates(t, y):
    """Five nodes, seven conductances; 80 W into node 1 from 1 h to 5 h; the room 31 degC rising by 1 K an hour."""
    room = 304.15 + t / 3600.0
    q = [0.0] * 5
    for a, b, g in LINEAR_LINKS:
        flow = g * (y[a] - (room if b == "room" else y[b]))
        q[a] -= flow
        if b != "room":
            q[b] += flow
    if 3600.0 <= t < 18000.0:
        q[1] += 80.0
    return [x / c for x, c in zip(q, LINEAR_CAPACITIES)]


def in_stretches(rates, y0, breaks, times, solver):
    """Integrates from break to break, so that no solver steps over a jump."""
    out = {times[0]: list(y0)} if times[0] == breaks[0] else {}
    y = list(y0)
    for begin, end in zip(breaks, breaks[1:]):
        inside = [t for t in times if begin < t <= end]
        # A value just inside the stretch, so that a jump at its end is not felt before.
        stop = end - 1e-9
        ts = sorted({begin, *[min(t, stop) for t in inside], stop})
        ys = solver(rates, begin, ts, y)
        for t in inside:
            out[t] = ys[ts.index(min(t, stop))]
        y = ys[-1]
    return out


def scipy_solver(rates, begin, ts, y0):
    s = solve_ivp(rates, (ts[0], ts[-1]), y0, method="Radau", t_eval=ts, rtol=1e-10, atol=1e-10, max_step=1800.0)
    assert s.success, s.message
    return [list(row) for row in s.y.T]


def cvode_solver(rates, begin, ts, y0):
    from sksundae.cvode import CVODE

    def rhs(t, y, yp):
        yp[:] = rates(t, y)

    # Relative 1e-10 of 300 K is what is asked for; an absolute 1e-10 beside it would go below rounding.
    solver = CVODE(rhs, method="BDF", rtol=1e-10, atol=1e-8, max_num_steps=10_000_000, max_step=1800.0)
    s = solver.solve(np.array(ts), np.array(y0))
    assert s.success, s.message
    return [list(map(float, row)) for row in s.y]


def networks(folder):
    box_times = [3600.0 * k for k in range(0, 49, 2)]
    linear_times = [600.0 * k for k in range(0, 49)]
    for name, rates, n, breaks, times in [
        ("box", box_rates, 4, [0.0, 172_800.0], box_times),
        ("linear", linear_rates, 5, [0.0, 3600.0, 18000.0, 28_800.0], linear_times),
    ]:
        for library, solver in (("scipy", scipy_solver), ("cvode", cvode_solver)):
            out = in_stretches(rates, [304.15] * n, breaks, times, solver)
            write(
                folder,
                f"network_{name}_{library}.csv",
                ["time_s"] + [f"T{k}_K" for k in range(n)],
                [(t, *out[t]) for t in times],
            )


def circuit(folder, netlist):
    """ngspice solves the exported circuit; volts are kelvins, amperes watts, farads J/K."""
    text = pathlib.Path(netlist).read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as d:
        path = pathlib.Path(d)
        (path / "network.cir").write_text(text, encoding="utf-8")
        # Its exit code in batch mode is not zero without a .print line: what counts is the file it writes.
        subprocess.run(["ngspice", "-b", "network.cir"], cwd=d, check=False, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL, timeout=120, env={**os.environ, "HOME": d})
        data = np.loadtxt(path / "out.txt")
    # wrdata writes a time column before every voltage; volts count from the start.
    t = data[:, 0]
    rows = []
    for k in range(0, 49):
        at = 600.0 * k
        rows.append((at, *[304.15 + np.interp(at, t, data[:, 2 * j + 1]) for j in range(5)]))
    write(folder, "network_linear_ngspice.csv", ["time_s"] + [f"T{k}_K" for k in range(5)], rows)


def main():
    folder = pathlib.Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for part in (air, natural_convection, forced_convection, view_factors, openings, ducts, wall_series, rod, worked_examples, networks):
        part(folder)
        print(part.__name__, file=sys.stderr)
    if len(sys.argv) > 2:
        circuit(folder, sys.argv[2])


if __name__ == "__main__":
    main()
