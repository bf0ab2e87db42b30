//! What the header of a column says of its unit.

use crate::quantity::{Quantity, Unit, unit_by_symbol};

/// Whether a header begins as the word temperature does.
pub(super) fn begins_with_temp(name: &str) -> bool {
    name.get(..4)
        .is_some_and(|begin| begin.eq_ignore_ascii_case("temp"))
}

/// The unit in a header: `temperature_degC`, `temperature (°F)`, `T1 [K]`, `Temp, °C (inside)`.
pub(super) fn unit_of_header(name: &str) -> Option<&'static Unit> {
    let parts = |c: char| matches!(c, '_' | '(' | ')' | '[' | ']' | ' ' | ',' | ';' | '/' | ':');
    let trimmed = name.trim_end_matches([')', ']']);
    let last = trimmed.rsplit(parts).next()?;
    // A header that is nothing but a unit's letter is no header with a unit; further in, a single letter may be
    // anything.
    let at_end = (last.len() < name.len()).then_some(match last {
        "c" => "C",
        "f" => "F",
        last => last,
    });
    let further_in = name.split(parts).filter(|part| part.chars().count() > 1);
    let mut units = at_end
        .into_iter()
        .chain(further_in)
        .filter_map(|part| unit_by_symbol(part, Quantity::Temperature));
    let first = units.next()?;
    units.all(|unit| unit == first).then_some(first)
}

/// The unit that a cell is, with or without brackets.
pub(super) fn unit_alone(cell: &str) -> Option<&'static Unit> {
    unit_by_symbol(
        cell.trim_matches(['(', ')', '[', ']', ' ']),
        Quantity::Temperature,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_found_in_headers() {
        for (name, symbol) in [
            ("temperature_degC", "degC"),
            ("Temperature (°F)", "degF"),
            ("Temp °C", "degC"),
            ("T1 [°C]", "degC"),
            ("T1 [K]", "K"),
            ("Temp, °C (inside)", "degC"),
            ("Temp (C)", "degC"),
            ("Celsius(°C)", "degC"),
            ("Temp ºF", "degF"),
            ("temp_c", "degC"),
            ("temp_f", "degF"),
            ("°C", "degC"),
        ] {
            let unit = unit_of_header(name).map(|unit| unit.symbol);
            assert_eq!(unit, Some(symbol), "{name}");
        }
        for name in [
            "temperature",
            "C",
            "K",
            "T K 1",
            "Temp °C (was °F)",
            "Humidity (%)",
            "",
        ] {
            assert_eq!(unit_of_header(name), None, "{name}");
        }
    }
}
