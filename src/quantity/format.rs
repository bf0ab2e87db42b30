//! From SI values to text for people.

use super::unit::Quantity;

/// Which units people see.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum System {
    /// °C, m³/h, Pa, mm, kg.
    #[default]
    Si,
    /// °F, cfm, inches of water, inches, pounds.
    Us,
}

impl System {
    /// A temperature in K as a number in [`System::temperature_unit`].
    #[must_use]
    pub fn temperature(self, temperature_K: f64) -> f64 {
        self.temperature_of_degC(temperature_K - 273.15)
    }

    /// A temperature in °C as a number in [`System::temperature_unit`].
    #[must_use]
    pub fn temperature_of_degC(self, temperature_degC: f64) -> f64 {
        match self {
            Self::Si => temperature_degC,
            Self::Us => temperature_degC.mul_add(1.8, 32.0),
        }
    }

    /// A difference in K as a number in [`System::difference_unit`].
    #[must_use]
    pub fn difference(self, difference_K: f64) -> f64 {
        match self {
            Self::Si => difference_K,
            Self::Us => difference_K * 1.8,
        }
    }

    /// A volume flow in m3/s as a number in [`System::flow_unit`].
    #[must_use]
    pub fn flow(self, flow_m3_per_s: f64) -> f64 {
        match self {
            Self::Si => flow_m3_per_s * 3_600.0,
            Self::Us => flow_m3_per_s * 60.0 / 0.3048_f64.powi(3),
        }
    }

    /// A pressure in Pa as a number in [`System::pressure_unit`].
    #[must_use]
    pub fn pressure(self, pressure_Pa: f64) -> f64 {
        match self {
            Self::Si => pressure_Pa,
            // The conventional inch of water: 1000 kg/m3 at standard gravity.
            Self::Us => pressure_Pa / (9_806.65 * 0.0254),
        }
    }

    /// Unit of temperatures.
    #[must_use]
    pub const fn temperature_unit(self) -> &'static str {
        match self {
            Self::Si => "°C",
            Self::Us => "°F",
        }
    }

    /// Unit of temperature differences.
    #[must_use]
    pub const fn difference_unit(self) -> &'static str {
        match self {
            Self::Si => "K",
            Self::Us => "°F",
        }
    }

    /// Unit of volume flows.
    #[must_use]
    pub const fn flow_unit(self) -> &'static str {
        match self {
            Self::Si => "m³/h",
            Self::Us => "cfm",
        }
    }

    /// Unit of pressures.
    #[must_use]
    pub const fn pressure_unit(self) -> &'static str {
        match self {
            Self::Si => "Pa",
            Self::Us => "inH2O",
        }
    }
}

/// A number with so many decimals, a typographic minus and no "−0".
#[must_use]
pub fn format_number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let is_zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    match text.strip_prefix('-') {
        Some(rest) if is_zero => rest.to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

/// A temperature given in K, as "35.0 °C" or "95.0 °F".
#[must_use]
pub fn format_temperature(temperature_K: f64, system: System) -> String {
    let value = format_number(system.temperature(temperature_K), 1);
    format!("{value} {}", system.temperature_unit())
}

/// A temperature difference given in K, as "−1.1 K" or "−2.0 °F".
#[must_use]
pub fn format_difference(difference_K: f64, system: System) -> String {
    let value = format_number(system.difference(difference_K), 1);
    format!("{value} {}", system.difference_unit())
}

/// A volume flow given in m3/s, as "40 m³/h" or "24 cfm"; small ones with a decimal.
#[must_use]
pub fn format_flow(flow_m3_per_s: f64, system: System) -> String {
    let value = system.flow(flow_m3_per_s);
    let decimals = usize::from(value.abs() < 10.0);
    format!("{} {}", format_number(value, decimals), system.flow_unit())
}

/// A pressure given in Pa, as "12 Pa" or "0.048 inH2O".
#[must_use]
pub fn format_pressure(pressure_Pa: f64, system: System) -> String {
    let decimals = match system {
        System::Si => usize::from(pressure_Pa.abs() < 10.0),
        System::Us => 3,
    };
    let value = format_number(system.pressure(pressure_Pa), decimals);
    format!("{value} {}", system.pressure_unit())
}

/// A length given in m, as "550 mm", "1.20 m" or "21.7 in".
#[must_use]
pub fn format_length(length_m: f64, system: System) -> String {
    match system {
        System::Si if length_m.abs() >= 1.0 => format!("{} m", format_number(length_m, 2)),
        System::Si => {
            let decimals = usize::from(length_m.abs() < 0.01);
            format!("{} mm", format_number(length_m * 1e3, decimals))
        }
        System::Us => format!("{} in", format_number(length_m / 0.0254, 1)),
    }
}

/// A mass given in kg, as "2.30 kg", "850 g" or "5.07 lb".
#[must_use]
pub fn format_mass(mass_kg: f64, system: System) -> String {
    match system {
        System::Si if mass_kg.abs() < 1.0 => format!("{} g", format_number(mass_kg * 1e3, 0)),
        System::Si => format!("{} kg", format_number(mass_kg, 2)),
        System::Us => format!("{} lb", format_number(mass_kg / 0.453_592_37, 2)),
    }
}

/// A power given in W, as "55 W" or "1.20 kW" in either system.
#[must_use]
pub fn format_power(power_W: f64) -> String {
    if power_W.abs() >= 1_000.0 {
        format!("{} kW", format_number(power_W / 1e3, 2))
    } else {
        format!(
            "{} W",
            format_number(power_W, usize::from(power_W.abs() < 10.0))
        )
    }
}

/// A length of time given in s, as "45 s", "90 min", "121 h" or "30 days".
#[must_use]
pub fn format_duration(time_s: f64) -> String {
    let (value, unit) = match time_s.abs() {
        t if t < 60.0 => (time_s, "s"),
        t if t < 7_200.0 => (time_s / 60.0, "min"),
        t if t < 240.0 * 3_600.0 => (time_s / 3_600.0, "h"),
        _ => (time_s / 86_400.0, "days"),
    };
    let rounded = (value * 10.0).round() / 10.0;
    format!(
        "{} {unit}",
        format_number(rounded, usize::from(rounded.fract() != 0.0))
    )
}

/// A number without needless decimals, six significant digits at most, as a run file writes it.
#[must_use]
pub fn trimmed(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor();
    if !(-5.0..9.0).contains(&magnitude) {
        return format!("{value:e}");
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 10 here"
    )]
    let decimals = (5.0 - magnitude).clamp(0.0, 10.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A number as people write one down: two digits that count, three from 10 on.
#[must_use]
pub fn plainly(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return trimmed(value);
    }
    let digits = if value.abs() < 10.0 { 2 } else { 3 };
    let exponent = value.abs().log10().floor();
    let step = 10_f64.powf(exponent - f64::from(digits - 1));
    trimmed((value / step).round() * step)
}

impl Quantity {
    /// An SI value as a run file writes it, in the unit of that symbol (or the first one, if the
    /// quantity has no such unit): `308.15` becomes `35 degC`.
    #[must_use]
    pub fn to_text(self, si: f64, symbol: &str) -> String {
        let units = self.units();
        let unit = units
            .iter()
            .find(|unit| unit.symbol == symbol)
            .unwrap_or(&units[0]);
        // The subtraction of 273.15 leaves rounding dust that no one typed.
        let number = unit.from_si(si);
        // No dust is left beside a large one, and a huge one would overflow.
        let number = if number.abs() < 1e6 {
            (number * 1e9).round() / 1e9
        } else {
            number
        };
        format!("{} {}", trimmed(number), unit.symbol)
            .trim_end()
            .to_owned()
    }
}

/// A count with its thousands apart: `8,760`.
#[must_use]
pub fn format_count(count: usize) -> String {
    let digits = count.to_string();
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_are_typographic_and_zero_has_none() {
        assert_eq!(format_difference(-1.1, System::Si), "\u{2212}1.1 K");
        assert_eq!(format_difference(-0.01, System::Si), "0.0 K");
        assert_eq!(format_temperature(268.15, System::Si), "\u{2212}5.0 °C");
    }

    /// 35 °C is 95 °F, and a difference of 5 K is 9 °F (definition of the Fahrenheit scale);
    /// 100 cfm is 170 m³/h (rule of thumb of the ventilation trade, 169.9).
    #[test]
    fn us_units_for_people() {
        assert_eq!(format_temperature(308.15, System::Us), "95.0 °F");
        assert_eq!(format_difference(5.0, System::Us), "9.0 °F");
        assert_eq!(format_flow(170.0 / 3_600.0, System::Us), "100 cfm");
        assert_eq!(format_length(0.254, System::Us), "10.0 in");
        assert_eq!(format_pressure(249.1, System::Us), "1.000 inH2O");
    }

    #[test]
    fn durations_choose_a_unit_people_use() {
        assert_eq!(format_duration(45.0), "45 s");
        assert_eq!(format_duration(240.0), "4 min");
        assert_eq!(format_duration(121.0 * 3_600.0), "121 h");
        assert_eq!(format_duration(1.5 * 86_400.0), "36 h");
        assert_eq!(format_duration(30.0 * 86_400.0), "30 days");
    }

    #[test]
    fn text_for_run_files_carries_no_dust() {
        assert_eq!(Quantity::Temperature.to_text(308.15, "degC"), "35 degC");
        assert_eq!(Quantity::Area.to_text(0.018, "cm2"), "180 cm2");
        assert_eq!(Quantity::Number.to_text(1.5, ""), "1.5");
        assert_eq!(Quantity::Time.to_text(121.0 * 3_600.0, "h"), "121 h");
        assert_eq!(Quantity::Mass.to_text(0.0, "kg"), "0 kg");
        assert_eq!(Quantity::Mass.to_text(-1e308, "kg"), "-1e308 kg");
    }

    #[test]
    fn thousands_of_counts_stand_apart() {
        let texts = [0, 12, 999, 1_000, 86_400, 8_640_001].map(format_count);
        assert_eq!(texts, ["0", "12", "999", "1,000", "86,400", "8,640,001"]);
    }
}
