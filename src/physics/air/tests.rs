use super::*;

fn close(ours: f64, theirs: f64, relative: f64, what: &str) {
    let error = (ours / theirs - 1.0).abs();
    assert!(
        error <= relative,
        "{what}: {ours} against {theirs}, off by {error:e}"
    );
}

/// CoolProp 8.0.0, fluid "Air" (reference equation of state and transport equations).
#[test]
fn properties_follow_the_reference_equation_of_state() {
    // T K, p Pa, density, viscosity, conductivity, Prandtl number
    let table = [
        (
            273.15,
            101_325.0,
            1.293_065_6,
            1.721_840_6e-5,
            2.436_047_5e-2,
            0.710_835_1,
        ),
        (
            273.15,
            79_495.0,
            1.014_349_7,
            1.721_512_0e-5,
            2.435_288_1e-2,
            0.710_615_9,
        ),
        (
            300.0,
            101_325.0,
            1.176_995_6,
            1.853_734_1e-5,
            2.638_446_6e-2,
            0.707_063_6,
        ),
        (
            333.15,
            101_325.0,
            1.059_626_7,
            2.009_905_9e-5,
            2.880_406_9e-2,
            0.703_383_8,
        ),
        (
            393.15,
            101_325.0,
            0.897_696_1,
            2.276_314_3e-5,
            3.298_953_8e-2,
            0.699_218_7,
        ),
        (
            393.15,
            79_495.0,
            0.704_317_3,
            2.276_057_0e-5,
            3.298_447_7e-2,
            0.699_121_1,
        ),
    ];
    for (t, p, density, viscosity, conductivity, prandtl) in table {
        let air = Air::at(t, p);
        // Air is not quite ideal (0.06 %); the standard's two transport formulas were fitted
        // to older data (0.9 % each), and a constant heat capacity costs another 0.7 %;
        // in the Prandtl number the three add up (natural convection feels a tenth of that).
        close(air.density_kg_per_m3, density, 1e-3, "density");
        close(air.viscosity_Pa_s, viscosity, 9e-3, "viscosity");
        close(
            air.conductivity_W_per_mK,
            conductivity,
            9e-3,
            "conductivity",
        );
        close(air.prandtl, prandtl, 2.5e-2, "Prandtl number");
    }
    // As hot as a hotend's film gets, the docstring promises 2 %.
    let hot = Air::at(500.0, 101_325.0);
    close(
        hot.viscosity_Pa_s,
        2.709_013_8e-5,
        0.02,
        "viscosity at 500 K",
    );
    close(
        hot.conductivity_W_per_mK,
        3.994_462_5e-2,
        0.02,
        "conductivity at 500 K",
    );
}

/// ISO 2533:1975, table at sea level (from memory: five digits of each).
#[test]
fn properties_are_those_of_the_standard_at_sea_level() {
    let air = Air::at(288.15, SEA_LEVEL_PRESSURE_PA);
    // Tolerances are half a unit of the table's last digit; the gas constant is cut to 287.05.
    close(air.density_kg_per_m3, 1.225, 2e-5, "density");
    close(air.viscosity_Pa_s, 1.7894e-5, 3e-5, "viscosity");
    close(air.conductivity_W_per_mK, 2.5343e-2, 3e-5, "conductivity");
}

/// `fluids` 1.3.1, `ATMOSPHERE_1976` (the same atmosphere as ISO 2533 below 32 km).
#[test]
fn pressure_at_altitude_is_that_of_the_standard_atmosphere() {
    for (z, p) in [
        (0.0, 101_325.0),
        (500.0, 95_461.289_497),
        (2000.0, 79_501.424_642),
        (5000.0, 54_048.286_146),
    ] {
        // The library's exponent, 34.163195/6.5, differs from g/(R L) by 7e-7: up to 5e-7 of p.
        close(pressure_at_altitude_Pa(z), p, 1e-6, "pressure");
    }
    assert_eq!(
        pressure_at_altitude_Pa(1e9),
        pressure_at_altitude_Pa(11_019.0)
    );
}

#[test]
fn the_table_is_within_a_millionth_and_has_no_kinks() {
    let p = 90_000.0;
    let table = AirTable::new(p);
    assert_eq!(table.pressure_Pa(), p);
    let step = 0.37;
    let mut t = TABLE_LOW_K;
    while t <= TABLE_HIGH_K {
        let air = Air::at(t, p);
        close(table.buoyancy(t), air.buoyancy_per_m3K(), 1e-6, "buoyancy");
        close(
            table.conductivity(t),
            air.conductivity_W_per_mK,
            1e-6,
            "conductivity",
        );
        close(
            table.kinematic_viscosity(t),
            air.kinematic_viscosity_m2_per_s(),
            1e-6,
            "viscosity",
        );
        close(table.prandtl(t), air.prandtl, 1e-6, "Prandtl number");
        close(table.density(t), air.density_kg_per_m3, 1e-14, "density");
        close(
            table.film(t).vertical_factor,
            vertical_prandtl_factor(air.prandtl).0,
            1e-6,
            "factor",
        );
        close(
            table.film(t).cylinder_factor,
            cylinder_prandtl_factor(air.prandtl).0,
            1e-6,
            "factor",
        );
        t += step;
    }
    for knot in [224.0, 300.0, 304.0, 716.0] {
        let e = 1e-4;
        let slope = |t: f64| (table.buoyancy(t + e) - table.buoyancy(t - e)) / (2.0 * e);
        // Curvature moves a slope like T^-5.6 by 5.6 * 4 e/T = 1e-5 between the two points.
        close(
            slope(knot + 2.0 * e),
            slope(knot - 2.0 * e),
            2e-5,
            "slope at a knot",
        );
    }
}

#[test]
fn the_table_holds_its_ends_and_passes_on_what_is_no_number() {
    let table = AirTable::new(SEA_LEVEL_PRESSURE_PA);
    assert_eq!(table.buoyancy(10.0), table.buoyancy(TABLE_LOW_K));
    assert_eq!(table.conductivity(1e9), table.conductivity(TABLE_HIGH_K));
    assert!(table.buoyancy(f64::NAN).is_nan());
}

/// The table's slopes are those of its values: a central difference within a cell is exact for a cubic
/// but for its third order, 1e-9 here, and rounding.
#[test]
fn the_tables_slopes_are_those_of_its_values() {
    let table = AirTable::new(90_000.0);
    for t in [231.0, 289.7, 301.1, 302.9, 350.3, 699.0] {
        let (film, slopes) = table.film_with_slopes(t);
        let e = 0.02;
        let (up, down) = (table.film(t + e), table.film(t - e));
        assert_eq!(film[0], table.buoyancy(t));
        let listed = |f: Film| {
            [
                f.buoyancy_per_m3K,
                f.conductivity_W_per_mK,
                f.vertical_factor,
                f.cylinder_factor,
            ]
        };
        for ((ours, up), down) in slopes.into_iter().zip(listed(up)).zip(listed(down)) {
            close(ours, (up - down) / (2.0 * e), 1e-7, "slope");
        }
    }
}

/// At a knot, where two cubics meet, the table is the function itself; so it is from below, to what the
/// function changes by on the way.
#[test]
fn the_table_is_exact_at_its_knots() {
    let pressure_Pa = 98_000.0;
    let table = AirTable::new(pressure_Pa);
    for k in 1..TABLE_CELLS {
        let t = TABLE_LOW_K + TABLE_STEP_K * k as f64;
        let air = Air::at(t, pressure_Pa);
        for t in [t, t - 1e-10] {
            let (film, stream) = (table.film(t), table.stream(t));
            for (ours, exact) in [
                (film.buoyancy_per_m3K, air.buoyancy_per_m3K()),
                (film.conductivity_W_per_mK, air.conductivity_W_per_mK),
                (
                    stream.kinematic_viscosity_m2_per_s,
                    air.kinematic_viscosity_m2_per_s(),
                ),
            ] {
                assert!((ours / exact - 1.0).abs() < 1e-11, "{t} K: {ours} {exact}");
            }
        }
    }
}
