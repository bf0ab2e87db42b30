//! Properties of air against tables, standards and equations of state.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use crate::grids::Grid;
use dogdays::physics::air::{
    Air, AirTable, HEAT_CAPACITY_J_PER_KGK, SEA_LEVEL_PRESSURE_PA, pressure_at_altitude_Pa,
};

const TABLE_DIGITS: &str = "the table's own rounding, and the simpler formula's stated accuracy";

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Air");
    libraries(&mut c);
    moisture(&mut c);
    standard(&mut c);
    handbook(&mut c);
    c.list
}

fn libraries(c: &mut Cases) {
    let g = Grid::read("air_coolprop.csv");
    let air = |i: usize| Air::at(g.column("T_K")[i], g.column("p_Pa")[i]);
    let here = (Coolprop, "0 to 120 degC, sea level and 2000 m");
    c.grid(
        "density",
        "kg/m3",
        here,
        g.pairs("density_kg_per_m3", |i| air(i).density_kg_per_m3),
        Relative(1e-3),
        "an ideal gas against a real one: compressibility 0.9994 at 0 degC",
    );
    c.grid(
        "viscosity",
        "Pa s",
        here,
        g.pairs("viscosity_Pa_s", |i| air(i).viscosity_Pa_s),
        Relative(0.01),
        "Sutherland's law is given to 1 %",
    );
    c.grid(
        "conductivity",
        "W/(m K)",
        here,
        g.pairs("conductivity_W_per_mK", |i| air(i).conductivity_W_per_mK),
        Relative(0.02),
        "the standard atmosphere's formula and the equation of state differ by up to 2 %",
    );
    c.grid(
        "heat capacity (constant in ours)",
        "J/(kg K)",
        here,
        g.pairs("cp_J_per_kgK", |_| HEAT_CAPACITY_J_PER_KGK),
        Relative(0.008),
        "one value for all temperatures: air's rises by 0.7 % over the range",
    );
    c.grid(
        "Prandtl number",
        "-",
        here,
        g.pairs("prandtl", |i| air(i).prandtl),
        Relative(0.03),
        "what viscosity (1 %) and conductivity (2 %) allow together",
    );
    let table = |i: usize| AirTable::new(g.column("p_Pa")[i]);
    c.grid(
        "kinematic viscosity from the integrator's table",
        "m2/s",
        here,
        (0..g.rows)
            .map(|i| {
                (
                    g.column("viscosity_Pa_s")[i] / g.column("density_kg_per_m3")[i],
                    table(i).kinematic_viscosity(g.column("T_K")[i]),
                )
            })
            .collect(),
        Relative(0.01),
        "as viscosity",
    );
    let p = Grid::read("air_psychrolib.csv");
    c.grid(
        "density of dry air",
        "kg/m3",
        (
            Psychrolib,
            "GetDryAirDensity, 0 to 120 degC, sea level and 2000 m",
        ),
        p.pairs("density_kg_per_m3", |i| {
            Air::at(p.column("T_K")[i], p.column("p_Pa")[i]).density_kg_per_m3
        }),
        Relative(1e-4),
        "both are ideal gases; the gas constants differ by 3e-5",
    );
    let a = Grid::read("atmosphere_1976.csv");
    let along = (Fluids, "ATMOSPHERE_1976, 0 to 4000 m");
    c.grid(
        "pressure at altitude",
        "Pa",
        along,
        a.pairs("p_Pa", |i| {
            pressure_at_altitude_Pa(a.column("altitude_m")[i])
        }),
        Relative(1e-5),
        "the same standard, other code; constants are given to five digits",
    );
    let at = |i: usize| Air::at(a.column("T_K")[i], a.column("p_Pa")[i]);
    c.grid(
        "density along the atmosphere",
        "kg/m3",
        along,
        a.pairs("density_kg_per_m3", |i| at(i).density_kg_per_m3),
        Relative(2e-5),
        "the gas constants differ by 1e-5",
    );
    c.grid(
        "viscosity along the atmosphere",
        "Pa s",
        along,
        a.pairs("viscosity_Pa_s", |i| at(i).viscosity_Pa_s),
        Relative(1e-4),
        "the same formula; constants are given to four digits",
    );
    c.grid(
        "conductivity along the atmosphere",
        "W/(m K)",
        along,
        a.pairs("conductivity_W_per_mK", |i| at(i).conductivity_W_per_mK),
        Relative(2e-3),
        "the 1976 and 1975 editions differ in the last digits of the coefficients",
    );
}

fn moisture(c: &mut Cases) {
    let g = Grid::read("air_moist.csv");
    let air = |i: usize| Air::at(g.column("T_K")[i], g.column("p_Pa")[i]);
    // A workshop: up to 35 degC and 60 %. The rest of the grid is worse, and said to be so.
    let shop: Vec<usize> = (0..g.rows)
        .filter(|i| g.column("T_K")[*i] <= 308.2 && g.column("relative_humidity")[*i] < 0.7)
        .collect();
    let some = |name: &str, ours: &dyn Fn(usize) -> f64| {
        shop.iter()
            .map(|i| (g.column(name)[*i], ours(*i)))
            .collect()
    };
    let here = (
        Coolprop,
        "moist air, 10 to 35 degC, 30 and 60 % humidity, both altitudes",
    );
    c.grid(
        "error of neglecting moisture: density",
        "kg/m3",
        here,
        some("density_kg_per_m3", &|i| air(i).density_kg_per_m3),
        Relative(0.02),
        "vapour at 35 degC and 60 % displaces 3 % to 4 % of the air and is 0.62 times as heavy",
    );
    c.grid(
        "error of neglecting moisture: viscosity",
        "Pa s",
        here,
        some("viscosity_Pa_s", &|i| air(i).viscosity_Pa_s),
        Relative(0.03),
        "vapour is half as viscous, a few per cent of the mixture",
    );
    c.grid(
        "error of neglecting moisture: conductivity",
        "W/(m K)",
        here,
        some("conductivity_W_per_mK", &|i| air(i).conductivity_W_per_mK),
        Relative(0.03),
        "the dry formula's 2 % and the vapour's share",
    );
    c.grid(
        "error of neglecting moisture: heat capacity",
        "J/(kg K)",
        here,
        some("cp_J_per_kgK", &|_| HEAT_CAPACITY_J_PER_KGK),
        Relative(0.06),
        "vapour holds 1.86 times as much heat a kilogram; up to 27 g/kg at 2000 m",
    );
    c.grid(
        "error of neglecting moisture: density, second library",
        "kg/m3",
        (Psychrolib, "GetMoistAirDensity, 10 to 35 degC, 30 and 60 %"),
        some("density_psychrolib_kg_per_m3", &|i| {
            air(i).density_kg_per_m3
        }),
        Relative(0.02),
        "as above",
    );
}

fn standard(c: &mut Cases) {
    let here = (Iso2533, "table by geometric altitude");
    for (z, p, rho) in [
        (0.0, 101_325.0, 1.225),
        (1000.0, 89_876.0, 1.1117),
        (2000.0, 79_501.0, 1.0066),
        (3000.0, 70_121.0, 0.90925),
    ] {
        let t = 288.15 - 0.0065 * (z * 6_356_766.0 / (6_356_766.0 + z));
        let ours = pressure_at_altitude_Pa(z);
        c.number(
            format!("pressure at {z} m"),
            "Pa",
            here,
            p,
            ours,
            Relative(2e-5),
            "five digits in the table",
        );
        c.number(
            format!("density at {z} m"),
            "kg/m3",
            here,
            rho,
            Air::at(t, ours).density_kg_per_m3,
            Relative(5e-5),
            "five digits in the table",
        );
    }
    let sea = Air::at(288.15, SEA_LEVEL_PRESSURE_PA);
    c.number(
        "viscosity at 15 degC",
        "Pa s",
        here,
        1.7894e-5,
        sea.viscosity_Pa_s,
        Relative(5e-5),
        "five digits in the table",
    );
    c.number(
        "conductivity at 15 degC",
        "W/(m K)",
        here,
        0.025_343,
        sea.conductivity_W_per_mK,
        Relative(5e-4),
        "the last two digits differ between editions",
    );
}

fn handbook(c: &mut Cases) {
    let here = (Incropera, "table A.4, whose densities are those of 1 bar");
    for (t, rho, mu, nu, k, pr) in [
        (300.0, 1.1614, 184.6e-7, 15.89e-6, 26.3e-3, 0.707),
        (350.0, 0.9950, 208.2e-7, 20.92e-6, 30.0e-3, 0.700),
        (400.0, 0.8711, 230.1e-7, 26.41e-6, 33.8e-3, 0.690),
    ] {
        let a = Air::at(t, 1e5);
        c.number(
            format!("density at {t} K"),
            "kg/m3",
            here,
            rho,
            a.density_kg_per_m3,
            Relative(5e-4),
            "four digits in the table, and its gas is not quite ideal",
        );
        c.number(
            format!("viscosity at {t} K"),
            "Pa s",
            here,
            mu,
            a.viscosity_Pa_s,
            Relative(0.01),
            TABLE_DIGITS,
        );
        c.number(
            format!("kinematic viscosity at {t} K"),
            "m2/s",
            here,
            nu,
            a.kinematic_viscosity_m2_per_s(),
            Relative(0.015),
            TABLE_DIGITS,
        );
        c.number(
            format!("conductivity at {t} K"),
            "W/(m K)",
            here,
            k,
            a.conductivity_W_per_mK,
            Relative(0.015),
            TABLE_DIGITS,
        );
        c.number(
            format!("Prandtl number at {t} K"),
            "-",
            here,
            pr,
            a.prandtl,
            Relative(0.015),
            TABLE_DIGITS,
        );
    }
}
