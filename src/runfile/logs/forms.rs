//! In what a column tells of the bed's heater.

use super::places::words_of;

/// What the bed's heater is called in headers.
const HEATERS: [&[&str]; 4] = [
    &["bed"],
    &["bed", "heater"],
    &["heater", "bed"],
    &["heated", "bed"],
];
/// Words beside them that say what is told of it.
const MEASURES: [&str; 14] = [
    "power", "w", "watt", "watts", "%", "percent", "duty", "pwm", "on", "off", "state", "status",
    "output", "is",
];

/// What the numbers of a column are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// Power, W.
    Watts,
    /// Percent of all it has.
    Percent,
    /// A share, percent, or on and off: the numbers tell.
    Duty,
    /// Nobody says.
    Unsaid,
}

impl Form {
    /// What a header, or somebody's words for a column, tell of the bed's heater; none if they don't speak of it.
    pub fn of(words: &str) -> Option<Self> {
        let all = words_of(&words.replace('%', " % "));
        let own: Vec<&str> = all
            .iter()
            .map(String::as_str)
            .filter(|word| !MEASURES.contains(word))
            .collect();
        let is_it = HEATERS.iter().any(|heater| own == *heater);
        let is_heater = own.len() > 1 && own.contains(&"heater");
        // "bed" alone is its temperature.
        (is_it && (is_heater || own.len() < all.len())).then(|| Self::among(&all))
    }

    fn among(words: &[String]) -> Self {
        let has = |some: &[&str]| words.iter().any(|word| some.contains(&word.as_str()));
        if has(&["w", "watt", "watts"]) {
            Self::Watts
        } else if has(&["%", "percent"]) {
            Self::Percent
        } else if has(&["duty", "pwm", "on"]) {
            Self::Duty
        } else {
            Self::Unsaid
        }
    }

    /// The same of a column of that header, where only that says in what its numbers are.
    pub fn under(self, header: &str) -> Self {
        match self {
            Self::Unsaid => Self::among(&words_of(&header.replace('%', " % "))),
            said => said,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_tell_the_heater_and_in_what_and_its_temperature_is_none() {
        for (header, form) in [
            ("bed_power_W", Form::Watts),
            ("Bed power (W)", Form::Watts),
            ("bed_W", Form::Watts),
            ("bed heater duty %", Form::Percent),
            ("bed %", Form::Percent),
            ("bed_duty", Form::Duty),
            ("BedHeaterOn", Form::Duty),
            ("bed heater", Form::Unsaid),
            ("bed power", Form::Unsaid),
        ] {
            assert_eq!(Form::of(header), Some(form), "{header}");
        }
        for header in [
            "bed",
            "heated bed",
            "bed underside",
            "duty %",
            "hotend power W",
            "",
        ] {
            assert_eq!(Form::of(header), None, "{header}");
        }
        assert_eq!(Form::Unsaid.under("P1 (W)"), Form::Watts);
        assert_eq!(Form::Percent.under("P1 (W)"), Form::Percent);
    }
}
