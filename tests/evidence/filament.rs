//! A rod that moves through surroundings, against the handbook's flow through a tube.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use crate::grids::Grid;
use crate::plain::{Plain, constant};
use dogdays::network::Stream;
use dogdays::network::elements::stream::{InAir, Rod};
use dogdays::network::{Configuration, INTERNAL};
use dogdays::physics::air::{AirTable, SEA_LEVEL_PRESSURE_PA};
use dogdays::physics::cylinder::difference_left;
use dogdays::physics::filament::{advance_K, air_coefficient, decay_length_m, fraction_exchanged};

/// Biot and Fourier number, what is left of the mean's and of the surface's difference.
const CYLINDER: [(f64, f64, f64, f64); 7] = [
    (1.75, 0.05, 0.8684473212, 0.6469190715),
    (1.75, 0.893, 0.1176890226, 0.0790994102),
    (1.75, 4.05, 0.0000700616, 0.0000470888),
    (0.35, 0.5, 0.7236501908, 0.6639557857),
    (0.35, 5.0, 0.0402149427, 0.0368964845),
    (0.1, 0.01, 0.9980154632, 0.9882931913),
    (0.1, 35.0, 0.0010829126, 0.0010562881),
];

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Moving filament");
    // The same balance as a fluid in a tube at constant wall temperature.
    let l = decay_length_m(0.25, 4178.0, 0.05, 755.0);
    c.number(
        "0.25 kg/s past 6 m at 100 degC, 755 W/(m2 K), in at 15 degC: out at",
        "degC",
        (Incropera, "example 8.3, steam heats water in a tube"),
        57.0,
        advance_K(288.15, 373.15, 6.0, l) - 273.15,
        Absolute(0.3),
        "two digits printed; the coefficient is rounded",
    );
    c.number(
        "share left after three decay lengths",
        "-",
        (LinearAlgebra, "e^-3"),
        0.049_787,
        1.0 - fraction_exchanged(3.0, 1.0),
        Relative(1e-4),
        "five digits",
    );
    // Explicit march of dT/dx = (Ts - T)/L in 20 000 steps: error 1/20 000 of the change at most.
    let length = decay_length_m(3.2e-6, 1800.0, 1.75e-3, 15.0);
    let mut t = 300.0;
    for _ in 0..20_000 {
        t += (330.0 - t) * (0.1 / 20_000.0) / length;
    }
    c.number(
        "1.75 mm at 3.2 mg/s, 15 W/(m2 K), 0.1 m at 57 degC, in at 27 degC",
        "K",
        (Mechanics, "m cp dT/dx = h pi d (Ts - T), marched"),
        t,
        advance_K(300.0, 330.0, 0.1, length),
        Absolute(0.002),
        "the march's own error",
    );
    // Three stations, and a rod that conducts so well that it has one temperature throughout; heat that each gives, and closure.
    let rod = Rod {
        feed_kg_per_s: 3e-6,
        heat_capacity_J_per_kgK: 2000.0,
        density_kg_per_m3: 1200.0,
        conductivity_W_per_mK: 1e9,
        diameter_m: 1.75e-3,
        stands_s: 0.0,
    };
    let in_air = InAir {
        rod_K: 313.0,
        air_K: 308.0,
        emissivity: 0.9,
    };
    let air = AirTable::new(SEA_LEVEL_PRESSURE_PA);
    let mut stream = Stream::new(rod, in_air, &air, (0, 4, 5), INTERNAL);
    let decay_m = decay_length_m(3e-6, 2000.0, 1.75e-3, 300.0);
    for (k, fraction) in [0.3_f64, 0.6, 0.9].into_iter().enumerate() {
        stream.pass("s", k + 1, -decay_m * (1.0 - fraction).ln(), Some(300.0));
    }
    let t = [300.0, 310.0, 320.0, 330.0, 480.0, 330.0];
    let elements = Configuration {
        streams: vec![stream],
        ..Configuration::default()
    };
    let p = Plain::new(
        &[],
        t.iter().map(|t| constant(*t)).collect(),
        vec![(0.0, elements)],
    );
    let q = p.gains(0.0, &[]);
    // 300 -> 303 -> 313.2 -> 328.32 -> 480 K.
    for (k, theirs) in [(1, -0.018), (2, -0.0612), (3, -0.09072), (4, -0.91008)] {
        c.number(
            format!("feed of 6 mW/K through three stations: heat of point {k}"),
            "W",
            (Mechanics, "300, 303, 313.2, 328.32, 480 K by hand"),
            theirs,
            q[k],
            Absolute(1e-11),
            "rounding, and the rod conducts 1e9 W/(m K), not without end",
        );
    }
    // The inside of a rod: Biot numbers of filament in the gear (1.75), in a bore (0.35) and in air (0.1).
    for (biot, fourier, mean, surface) in CYLINDER {
        let left = difference_left(biot, fourier);
        for (what, theirs, ours) in [
            ("mean", mean, left.mean),
            ("surface", surface, left.surface),
        ] {
            c.number(
                format!("long cylinder, Bi = {biot} on the radius, Fo = {fourier}: difference left at its {what}"),
                "-",
                (Scipy, "series with 200 roots of x J1(x) = Bi J0(x) by brentq"),
                theirs,
                ours,
                Absolute(1e-9),
                "the same series, other code; ten digits printed",
            );
        }
    }
    // Table 5.1: z = 1.2558, C = 1.2071 at Bi = 1; one term at Fo = 1, J0(1.2558) = 0.64294.
    c.number(
        "long cylinder, Bi = 1, Fo = 1: difference left at its surface",
        "-",
        (Incropera, "table 5.1, one term: C exp(-z^2 Fo) J0(z)"),
        1.2071 * (-1.2558_f64.powi(2)).exp() * 0.642_94,
        difference_left(1.0, 1.0).surface,
        Relative(5e-4),
        "four digits printed",
    );
    let g = Grid::read("rod.csv");
    c.grid(
        "still air around a rod of 1.75 and 2.85 mm, 1 to 30 K warmer or cooler, emissivity 0.9",
        "W/(m2 K)",
        (
            Ht,
            "Nu_horizontal_cylinder_Churchill_Chu; radiation written by hand",
        ),
        g.pairs("coefficient_W_per_m2K", |i| {
            let v = |name: &str| g.column(name)[i];
            air_coefficient(v("rod_K"), v("air_K"), v("diameter_m"), 0.9, 0.0, &air)
        }),
        Relative(1e-5),
        "the same formulas, other code; air tabulated to 1e-6 in ours",
    );
    c.list
}
