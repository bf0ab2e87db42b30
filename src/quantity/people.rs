//! Values and limits in units that people read: "1 s to 366 days", not "0.0166667 to 527040 min".

use super::format::{System, plainly, trimmed};
use super::unit::{Quantity, Unit};

/// Numbers beyond these are read in another unit, where there is one.
const READABLE: std::ops::Range<f64> = 0.1..10_000.0;

impl Quantity {
    /// An SI value in the unit in which people read it, as a run file may write it: the declared unit of its
    /// key unless the number would be long in it.
    #[must_use]
    pub fn for_people(self, si: f64, declared: &str) -> String {
        let unit = self.readable_unit(si, declared);
        text(si, unit)
    }

    /// Two limits, both in one unit where they are near: "0.1 to 5000 m3/h", "1 s to 366 days".
    #[must_use]
    pub fn range_for_people(self, low_si: f64, high_si: f64, declared: &str) -> String {
        let high = self.readable_unit(high_si, declared);
        let low = if low_si == 0.0 {
            high
        } else {
            self.readable_unit(low_si, declared)
        };
        if low.symbol == high.symbol {
            let number = number(low_si, high);
            format!("{number} to {}", text(high_si, high))
        } else {
            format!("{} to {}", text(low_si, low), text(high_si, high))
        }
    }

    /// The same in a system's units.
    #[must_use]
    pub fn range_in(self, low_si: f64, high_si: f64, declared: &str, system: System) -> String {
        match (system, self.us_unit(high_si)) {
            (System::Us, Some(symbol)) => {
                let unit = self.unit_or_first(symbol);
                let number = |si| plainly_to_three(unit.from_si(si));
                format!("{} to {} {symbol}", number(low_si), number(high_si))
            }
            _ => self.range_for_people(low_si, high_si, declared),
        }
    }

    /// An SI value in a system's unit, as a run file may write it. Powers keep watts in both systems, as
    /// labels do, and differences kelvins.
    #[must_use]
    pub fn in_system(self, si: f64, declared: &str, system: System) -> String {
        match (system, self.us_unit(si)) {
            (System::Us, Some(symbol)) => {
                let unit = self.unit_or_first(symbol);
                format!("{} {}", plainly_to_three(unit.from_si(si)), unit.symbol)
            }
            _ => self.to_text(si, declared),
        }
    }

    const fn us_unit(self, si: f64) -> Option<&'static str> {
        match self {
            Self::Temperature => Some("degF"),
            Self::Length if si.abs() >= 3.0 => Some("ft"),
            Self::Length => Some("in"),
            Self::Area if si.abs() >= 1.0 => Some("ft2"),
            Self::Area => Some("in2"),
            Self::Volume => Some("ft3"),
            Self::Mass if si.abs() < 0.4 => Some("oz"),
            Self::Mass => Some("lb"),
            Self::Flow => Some("cfm"),
            Self::Pressure => Some("inH2O"),
            Self::TemperatureDifference
            | Self::MassFlow
            | Self::Power
            | Self::Time
            | Self::Speed
            | Self::Conductance
            | Self::HeatTransferCoefficient
            | Self::Irradiance
            | Self::Conductivity
            | Self::HeatCapacity
            | Self::Density
            | Self::Resistance
            | Self::Rate
            | Self::Fraction
            | Self::Number => None,
        }
    }

    /// The declared unit where the number is short in it; else the metric one of its kind in which it is.
    fn readable_unit(self, si: f64, declared: &str) -> &'static Unit {
        let own = self.unit_or_first(declared);
        let is_readable = |unit: &Unit| si == 0.0 || READABLE.contains(&unit.from_si(si).abs());
        if self == Self::Time {
            // The longest in which it is not below one, and days only from ten on.
            let fits = |unit: &&Unit| match unit.symbol {
                "week" => false,
                "day" => unit.from_si(si).abs() >= 10.0,
                _ => unit.from_si(si).abs() >= 1.0,
            };
            return self.units().iter().rev().find(fits).unwrap_or(own);
        }
        // Another scale of the same thermometer is no shorter.
        if self == Self::Temperature || is_readable(own) {
            return own;
        }
        let metric: &[&str] = match self {
            Self::Length => &["mm", "m"],
            Self::Area => &["mm2", "cm2", "m2"],
            Self::Volume => &["L", "m3"],
            Self::Mass => &["g", "kg"],
            Self::MassFlow => &["g/h", "kg/h"],
            Self::Power => &["W", "kW"],
            Self::Flow => &["L/min", "m3/h"],
            Self::Pressure => &["Pa", "kPa"],
            Self::Speed => &["mm/s", "m/s"],
            Self::Conductance => &["mW/K", "W/K"],
            Self::Irradiance => &["W/m2", "kW/m2"],
            Self::Temperature
            | Self::TemperatureDifference
            | Self::Time
            | Self::HeatTransferCoefficient
            | Self::Conductivity
            | Self::HeatCapacity
            | Self::Density
            | Self::Resistance
            | Self::Rate
            | Self::Fraction
            | Self::Number => &[],
        };
        let others = metric.iter().map(|symbol| self.unit_or_first(symbol));
        let mut others = others.filter(|unit| is_readable(unit));
        others.next().unwrap_or(own)
    }

    fn unit_or_first(self, symbol: &str) -> &'static Unit {
        let units = self.units();
        let named = units.iter().find(|unit| unit.symbol == symbol);
        named.unwrap_or(&units[0])
    }
}

fn number(si: f64, unit: &Unit) -> String {
    let number = (unit.from_si(si) * 1e6).round() / 1e6;
    // Six digits of a tiny number would be lost by the rounding above.
    if number == 0.0 && si != 0.0 {
        plainly(unit.from_si(si))
    } else {
        trimmed(number)
    }
}

fn text(si: f64, unit: &Unit) -> String {
    let symbol = if unit.symbol == "day" {
        "days"
    } else {
        unit.symbol
    };
    format!("{} {symbol}", number(si, unit))
        .trim_end()
        .to_owned()
}

/// A value of the other system, which is never round: three digits that count, all before the point.
fn plainly_to_three(value: f64) -> String {
    let decimals = match value.abs() {
        v if v == 0.0 || v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        v if v >= 1.0 => 2,
        _ => 4,
    };
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::super::parse;
    use super::*;
    use Quantity as Q;

    #[test]
    fn ranges_are_in_units_people_read() {
        for (quantity, unit, low_si, high_si, text) in [
            (Q::Time, "min", 1.0, 366.0 * 86_400.0, "1 s to 366 days"),
            (Q::Time, "h", 60.0, 366.0 * 86_400.0, "1 min to 366 days"),
            (Q::Time, "s", 0.0, 3_600.0, "0 to 1 h"),
            (Q::Time, "min", 30.0, 172_800.0, "30 s to 48 h"),
            (Q::Area, "cm2", 1e-6, 10.0, "1 mm2 to 10 m2"),
            (Q::Mass, "kg", 1e-4, 1e3, "0.1 g to 1000 kg"),
            (Q::Power, "W", 0.0, 1e6, "0 to 1000 kW"),
            (Q::Temperature, "degC", 273.15, 523.15, "0 to 250 degC"),
            (Q::Temperature, "degC", 243.15, 333.15, "-30 to 60 degC"),
            (
                Q::Flow,
                "m3/h",
                0.1 / 3_600.0,
                5e3 / 3_600.0,
                "0.1 to 5000 m3/h",
            ),
            (Q::Number, "", 0.0, 42.0, "0 to 42"),
            (Q::Fraction, "", 0.01, 1.0, "0.01 to 1"),
        ] {
            assert_eq!(quantity.range_for_people(low_si, high_si, unit), text);
        }
    }

    /// 35 degC is 95 degF by definition; 40 m3/h are 23.5 cfm, 1 inH2O 249 Pa (conventional inch of water).
    #[test]
    fn values_in_the_other_system_are_those_that_a_run_file_takes() {
        for (quantity, unit, si, text) in [
            (Q::Temperature, "degC", 308.15, "95 degF"),
            (Q::Flow, "m3/h", 40.0 / 3_600.0, "23.5 cfm"),
            (Q::Pressure, "Pa", 249.089, "1 inH2O"),
            (Q::Length, "mm", 0.55, "21.7 in"),
            (Q::Mass, "kg", 2.3, "5.07 lb"),
            (Q::Area, "cm2", 0.018, "27.9 in2"),
            (Q::Power, "W", 55.0, "55 W"),
            (Q::TemperatureDifference, "K", 3.0, "3 K"),
        ] {
            let shown = quantity.in_system(si, unit, System::Us);
            assert_eq!(shown, text);
            let again = parse(&shown, quantity).expect("is read again");
            assert!((again - si).abs() < 0.005 * si, "{shown}");
        }
        let si = Q::Temperature.in_system(308.15, "degC", System::Si);
        assert_eq!(si, "35 degC");
    }
}
