//! The range of a quantity: its limits in SI and in words, and what a bare number in it probably means.

use super::schema::{Range, Spread};
use crate::quantity::{Quantity, System, Unit, format_difference};

impl Range {
    /// A number in the range's unit, in SI.
    #[must_use]
    pub fn si(&self, number: f64) -> f64 {
        self.unit().to_si(number)
    }

    /// The unit of its limits.
    pub(crate) fn unit(&self) -> &'static Unit {
        let units = self.quantity.units();
        let named = units.iter().find(|unit| unit.symbol == self.unit);
        named.unwrap_or(&units[0])
    }

    /// From where to where a value, in SI, may plausibly lie: never beyond the limits.
    #[must_use]
    pub fn plausible(&self, si: f64, spread: Spread) -> (f64, f64) {
        let (low, high) = match spread {
            Spread::Exact | Spread::In(_) => (si, si),
            Spread::Factor(factor) => (si / factor, si * factor),
            Spread::PlusMinus(by) => {
                let by = self.si(by) - self.si(0.0);
                (si - by, si + by)
            }
            Spread::Between(low, high) => (self.si(low), self.si(high)),
        };
        let limits = (self.si(self.hard.0), self.si(self.hard.1));
        (
            low.clamp(limits.0, limits.1),
            high.clamp(limits.0, limits.1),
        )
    }

    /// Whether a value in SI lies between two limits in the range's unit. A limit typed in another unit may
    /// miss by a rounding.
    pub(crate) fn is_within(&self, si: f64, limits: (f64, f64)) -> bool {
        let (low, high) = (self.si(limits.0), self.si(limits.1));
        let slack = 1e-9 * high.abs();
        si >= low - slack && si <= high + slack
    }

    /// The unit a bare number was probably meant in: the suggested one, unless only another makes
    /// it a usual value (a chamber 0.5 high is half a metre, not half a millimetre).
    pub(crate) fn likely_unit(&self, number: &str) -> &'static str {
        let Ok(number) = number.trim().parse::<f64>() else {
            return self.unit;
        };
        let usual = self.si(self.usual.0)..=self.si(self.usual.1);
        let is_usual = |unit: &Unit| usual.contains(&unit.to_si(number));
        if is_usual(self.unit()) {
            return self.unit;
        }
        let others = self.quantity.units().iter();
        let mut usual = others.filter(|unit| is_usual(unit)).map(|unit| unit.symbol);
        usual.next().unwrap_or(self.unit)
    }

    /// How far off a value may be, in SI, in its unit (of a temperature, in K), and in a system's other units.
    pub(crate) fn difference_text(&self, by: f64) -> (String, String) {
        if self.quantity == Quantity::Temperature {
            return (
                Quantity::TemperatureDifference.to_text(by, "K"),
                format_difference(by, System::Us),
            );
        }
        (
            self.quantity.to_text(by, self.unit),
            self.quantity.in_system(by, self.unit, System::Us),
        )
    }

    /// A limit as people write it.
    pub(crate) fn limit_text(&self, limit: f64) -> String {
        self.quantity.for_people(self.si(limit), self.unit)
    }

    /// Two limits as people write them: "0.1 to 5000 m3/h".
    pub(crate) fn limits_text(&self, limits: (f64, f64)) -> String {
        self.limits_in(limits, System::Si)
    }

    /// The same in a system's units: "0.059 to 2943 cfm".
    pub(crate) fn limits_in(&self, limits: (f64, f64), system: System) -> String {
        let (low, high) = (self.si(limits.0), self.si(limits.1));
        self.quantity.range_in(low, high, self.unit, system)
    }
}
