//! A commented run file for a new user, from the few values that matter.

use std::fmt::Write;

/// The values a new run file is made from, as texts that a run file takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answers {
    /// Name of the run.
    pub name: String,
    /// Local date and time of the start.
    pub start: Answer,
    /// Length of the run, with its unit.
    pub duration: String,
    /// Machine in the catalogue.
    pub machine: String,
    /// Material in the catalogue.
    pub material: String,
    /// The material's usual values, shown as comments: softening limit, bed, nozzle.
    pub usual: Usual,
    /// Mass of the part, with its unit.
    pub mass: Answer,
    /// Temperature of the room, with its unit.
    pub room: Answer,
}

/// A material's values as the catalogue has them, with their units.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Usual {
    /// Softening limit.
    pub softening_limit: String,
    /// Bed temperature.
    pub bed: String,
    /// Nozzle temperature.
    pub nozzle: String,
}

/// An answer, or a guess in place of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// As a run file writes it, without quotes.
    pub text: String,
    /// Whether nobody said so.
    pub is_guess: bool,
}

/// The name under which run files look for their schema, in their own folder.
pub const SCHEMA_FILE: &str = "dogdays.schema.json";

/// A run file that runs as it is.
#[must_use]
pub fn template(a: &Answers) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write_template(&mut out, a);
    out
}

fn write_template(o: &mut String, a: &Answers) -> std::fmt::Result {
    writeln!(o, "#:schema ./{SCHEMA_FILE}")?;
    writeln!(
        o,
        "# A run for dogdays. Every value carries its unit; what follows a # is a comment. The line
# above is for editors: `dogdays new --schema {SCHEMA_FILE}` writes the file it names.
# Lines marked GUESS were not given: put in your own values.

[run]"
    )?;
    value(o, "name", &a.name, "")?;
    answer(o, "start", &a.start, "local date and time")?;
    value(
        o,
        "duration",
        &a.duration,
        "the whole run, heating up included",
    )?;
    writeln!(o, "\n[machine]")?;
    value(o, "name", &a.machine, "`dogdays catalogue` lists them")?;
    writeln!(
        o,
        "# Any value of the catalogue's entry may be replaced, for example:
# bed.max_power = \"400 W\"
# leak_area = \"20 cm2\"
# `dogdays catalogue {}` shows them all.

[material]",
        a.machine
    )?;
    value(o, "name", &a.material, "`dogdays catalogue` lists them")?;
    let usual = &a.usual;
    let limit = "if your supplier's data sheet says otherwise";
    value(o, "# softening_limit", &usual.softening_limit, limit)?;
    writeln!(o, "\n[part]")?;
    answer(o, "mass", &a.mass, "when finished, supports included")?;
    value(
        o,
        "# footprint",
        "180 cm2",
        "area on the bed; worked out if absent",
    )?;
    value(o, "# height", "170 mm", "")?;
    writeln!(o, "\n[job]")?;
    value(o, "# bed", &usual.bed, "absent: usual for the material")?;
    value(o, "# nozzle", &usual.nozzle, "")?;
    value(o, "heat_up", "15 min", "before anything is fed")?;
    value(
        o,
        "# filament",
        "dry",
        "fed from a sealed box; absent: damp, as in the room's air",
    )?;
    value(
        o,
        "# longest_stop",
        "30 s",
        "for which it stands still now and then while printing",
    )?;
    writeln!(
        o,
        "# A change of spool, with the door open or shut; repeat for each:
# [[job.spool_change]]"
    )?;
    value(o, "# at", "30 h", "from the start of the run")?;
    value(o, "# duration", "4 min", "")?;
    value(o, "# door", "open", "")?;
    writeln!(o, "\n[room]")?;
    answer(
        o,
        "temperature",
        &a.room,
        "beside the machine, in the shade",
    )?;
    writeln!(o, "# Or a day's swing instead of temperature:")?;
    value(o, "# mean", "29 degC", "")?;
    value(o, "# swing", "3 K", "half of warmest less coolest hour")?;
    writeln!(
        o,
        "# Or a logged series, with columns time and temperature_degC:"
    )?;
    value(o, "# series", "weather.csv", "")?;
    writeln!(o, "\n[arrangement]")?;
    value(
        o,
        "kind",
        "closed",
        "or \"lid off\", \"door open\", \"extracting\",",
    )?;
    writeln!(o, "{:<32} # \"blowing in\", \"recirculating\"", "")?;
    value(o, "# flow", "40 m3/h", "for the last three")?;
    writeln!(o, "\n[require]")?;
    value(o, "margin", "3 K", "how far below its softening limit")?;
    writeln!(
        o,
        "{:<32} # the machine may be opened",
        "must_stay_closed = false"
    )
}

fn answer(o: &mut String, key: &str, a: &Answer, meaning: &str) -> std::fmt::Result {
    let guess = if a.is_guess { "GUESS: " } else { "" };
    value(o, key, &a.text, &format!("{guess}{meaning}"))
}

/// `key = "text"  # comment`, the comments in one column.
fn value(o: &mut String, key: &str, text: &str, comment: &str) -> std::fmt::Result {
    let line = format!("{key} = {}", quoted(text));
    if comment.is_empty() {
        writeln!(o, "{line}")
    } else {
        writeln!(o, "{line:<32} # {comment}")
    }
}

/// A TOML basic string.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// TOML 1.0: quotation mark, backslash and control characters must be escaped.
    #[test]
    fn names_with_quotes_and_line_ends_stay_one_value() {
        for name in ["a \"b\" \\ c", "two\nlines", "tab\there", "Gehäuse ü"] {
            let text = format!("name = {}", quoted(name));
            let table: toml::Table = toml::from_str(&text).expect("is TOML");
            assert_eq!(table["name"].as_str(), Some(name));
        }
    }
}
