//! Fans: from the catalogue's files, or from a user's CSV of flow and pressure.

use crate::keys::fields::fan::{FAN, POINT};
use crate::keys::file::text_of_file;
use crate::keys::nearest::nearest;
use crate::keys::problem::{Problem, Problems};
use crate::keys::schema::{Kind, Range, Table};
use crate::keys::section::Section;
use crate::physics::fan::FanCurve;
use crate::plain::plain;
use crate::quantity::{Quantity, unit_by_symbol};
use crate::run::{Fan, FanKind};
use std::collections::BTreeMap;
use std::path::Path;

/// The fan that a completed section describes.
pub(super) fn fan_of(section: &Section, name: &str, file: &str) -> Result<Fan, Box<Problem>> {
    let points: Vec<(f64, f64)> = section
        .list("point")
        .iter()
        .filter_map(|p| Some((p.number("flow")?, p.number("pressure")?)))
        .collect();
    let curve = FanCurve::new(&points).map_err(|e| {
        Box::new(
            Problem::at_or_in(section.mark_of("point"), file, e.to_string()).help(
                "mend the [[point]] tables: flow rises from point to point, pressure falls to 0",
            ),
        )
    })?;
    Ok(Fan {
        name: name.to_owned(),
        title: section.text("title").unwrap_or(name).to_owned(),
        kind: match section.text("kind") {
            Some("axial") => FanKind::Axial,
            Some("blower") => FanKind::Blower,
            Some("in-line duct fan") => FanKind::Inline,
            _ => FanKind::Unknown,
        },
        size_m: section.number("size"),
        power_W: section.number("power"),
        air_max_K: section.number("air_max"),
        sound_dBA: section.number("sound"),
        supply: section.text("supply").map(str::to_owned),
        life: section.number("life").zip(section.number("life_at")),
        settable: section.flag("settable").unwrap_or(false),
        flap: section.flag("flap").unwrap_or(false),
        invented: false,
        curve,
    })
}

/// What to write in a CSV file.
const CSV_HELP: &str = "write a header flow_m3_per_h,pressure_Pa (and power_W, size_mm, air_max_degC, sound_dBA, \
    life_h, settable, flap or supply, if known) and the data sheet's points below it by rising flow, such as 0,46 then \
    35,30 then 68,0";

/// Columns of which each holds one value, with the key of the catalogue that it stands for; where rows differ, the
/// largest counts of power and nothing of the others.
const SINGLE: [(&str, &str, &str); 6] = [
    ("power_W", "power", "a power"),
    ("size_mm", "size", "a size"),
    ("air_max_degC", "air_max", "a highest air temperature"),
    ("sound_dBA", "sound", "a sound level"),
    ("life_h", "life", "a life"),
    ("life_at_degC", "life_at", "a temperature for the life"),
];
/// Columns of words.
const WORDS: [&str; 3] = ["settable", "flap", "supply"];

/// The fan of a user's CSV: a header `flow_m3_per_h,pressure_Pa` and points by rising flow, in
/// standard air. What else a buyer knows of it may follow in columns of its own: `power_W` (its largest value
/// counts), `size_mm`, `air_max_degC`, `sound_dBA`, `life_h`, `life_at_degC`, `settable`, `flap` and `supply`, written
/// in any of the rows.
///
/// # Errors
/// When the file can't be read or does not hold a fan curve.
pub fn fan_from_csv(path: &Path) -> Result<Fan, Problems> {
    let text = text_of_file(path).map_err(|p| Problems::from(*p))?;
    let shown = path.display().to_string();
    let name = path
        .file_stem()
        .map_or_else(|| shown.clone(), |s| s.to_string_lossy().into_owned());
    parse_csv(&text, &plain(&name), &shown).map_err(|p| (*p).help(CSV_HELP).into())
}

/// The range that is declared of a fan's value: a CSV is held to the same limits as a file of the catalogue.
fn range_of(table: &'static Table, key: &str) -> Range {
    match table.field(key).map(|field| field.kind) {
        Some(Kind::Quantity(range)) => range,
        _ => unreachable!("a test reads every column"),
    }
}

fn parse_csv(text: &str, name: &str, file: &str) -> Result<Fan, Box<Problem>> {
    let problem = |line: Option<u64>, message: String| {
        let p = Problem::in_file(file, message);
        Box::new(match line.and_then(|l| usize::try_from(l).ok()) {
            Some(line) => p.at_line(line, 1),
            None => p,
        })
    };
    if text.trim().is_empty() {
        return Err(problem(None, "this fan curve is empty".to_owned()));
    }
    // As spreadsheets write them where a comma is a decimal one.
    let header = text
        .lines()
        .find(|line| !line.trim_start().starts_with('#'))
        .unwrap_or("");
    let delimiter = if header.contains(';') {
        b';'
    } else if header.contains('\t') {
        b'\t'
    } else {
        b','
    };
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .comment(Some(b'#'))
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let not_csv = |e: csv::Error| problem(None, format!("this is not CSV: {e}"));
    let header = reader.headers().map_err(not_csv)?.clone();
    let column = |name: &str| header.iter().position(|h| h.eq_ignore_ascii_case(name));
    let (Some(flow_at), Some(pressure_at)) = (column("flow_m3_per_h"), column("pressure_Pa"))
    else {
        let found: Vec<&str> = header.iter().collect();
        return Err(problem(
            Some(1),
            format!(
                "a fan curve needs the columns flow_m3_per_h and pressure_Pa, but this header has {}",
                found.join(", ")
            ),
        ));
    };
    let known = || {
        SINGLE
            .iter()
            .map(|c| c.0)
            .chain(WORDS)
            .chain(["flow_m3_per_h", "pressure_Pa"])
    };
    for name in &header {
        // A limit that is misspelt would be a limit that is not kept.
        if !known().any(|known| known.eq_ignore_ascii_case(name))
            && let Some(meant) = nearest(name, known())
        {
            let message = format!("the column \"{name}\" is not known; did you mean \"{meant}\"?");
            return Err(problem(Some(1), message));
        }
    }
    let single: Vec<_> = SINGLE
        .iter()
        .filter_map(|c| Some((c, column(c.0)?, range_of(&FAN, c.1))))
        .collect();
    let words: Vec<_> = WORDS
        .iter()
        .filter_map(|name| Some((*name, column(name)?)))
        .collect();
    let (flow_range, pressure_range) = (range_of(&POINT, "flow"), range_of(&POINT, "pressure"));
    let (mut points, mut lines) = (Vec::new(), Vec::new());
    let mut numbers: BTreeMap<&str, f64> = BTreeMap::new();
    let mut said: BTreeMap<&str, String> = BTreeMap::new();
    for record in reader.records() {
        let record = record.map_err(not_csv)?;
        let line = record.position().map(csv::Position::line);
        // In the unit of the range, which is that of the column's name.
        let value = |at: usize, what: &str, range: Range| {
            let text = record.get(at).unwrap_or("");
            let point = if delimiter == b',' {
                text.to_owned()
            } else {
                text.replace(',', ".")
            };
            let value = point.parse::<f64>().ok().filter(|v| v.is_finite());
            let value =
                value.ok_or_else(|| problem(line, format!("\"{text}\" is not a number")))?;
            // A power of nothing stands for one that nobody measured.
            let is_power = range.quantity == Quantity::Power;
            let (low, high) = (if is_power { 0.0 } else { range.hard.0 }, range.hard.1);
            if (low..=high).contains(&value) {
                return Ok(value);
            }
            let limits = range.limits_text((low, high));
            let unit = range.unit;
            let message = format!(
                "{what} of {text}{}{unit}: {limits} are possible",
                if unit.is_empty() { "" } else { " " }
            );
            Err(problem(line, message))
        };
        let flow_m3_per_h = value(flow_at, "a flow", flow_range)?;
        points.push((
            flow_m3_per_h / 3600.0,
            value(pressure_at, "a pressure", pressure_range)?,
        ));
        lines.push(line);
        for ((name, key, what), at, range) in &single {
            if record.get(*at).is_none_or(str::is_empty) {
                continue;
            }
            let number = value(*at, what, *range)?;
            let unit = unit_by_symbol(range.unit, range.quantity);
            let number = unit.map_or(number, |unit| unit.to_si(number));
            let before = numbers.insert(key, number);
            match before {
                Some(before) if *key == "power" => {
                    numbers.insert(key, before.max(number));
                }
                Some(before) if before != number => {
                    let message =
                        format!("two values of {name}: a fan has one; leave the others empty");
                    return Err(problem(line, message));
                }
                _ => {}
            }
        }
        for (name, at) in &words {
            let text = record.get(*at).unwrap_or("");
            if text.is_empty() {
                continue;
            }
            if *name != "supply" && yes_or_no(text).is_none() {
                return Err(problem(
                    line,
                    format!("\"{text}\" in the column {name}: write yes or no"),
                ));
            }
            if let Some(before) = said.insert(name, plain(text).into_owned())
                && before != text
            {
                let message =
                    format!("two values of {name}: a fan has one; leave the others empty");
                return Err(problem(line, message));
            }
        }
    }
    let curve = FanCurve::new(&points).map_err(|e| {
        use crate::physics::fan::CurveError as E;
        let line = match e {
            E::Negative(k) | E::Unsorted(k) => lines.get(k - 1).copied().flatten(),
            E::TooFew(_) | E::Rising | E::NoPressure => None,
        };
        problem(line, e.to_string())
    })?;
    Ok(Fan {
        name: name.to_owned(),
        title: format!("curve from {file}"),
        kind: FanKind::Unknown,
        size_m: numbers.get("size").copied(),
        power_W: numbers.get("power").copied().filter(|p| *p > 0.0),
        air_max_K: numbers.get("air_max").copied(),
        sound_dBA: numbers.get("sound").copied(),
        supply: said.get("supply").cloned(),
        life: numbers.get("life").map(|life_s| {
            // As the catalogue's default.
            let at_K = numbers.get("life_at").copied().unwrap_or(273.15 + 40.0);
            (*life_s, at_K)
        }),
        settable: said
            .get("settable")
            .and_then(|w| yes_or_no(w))
            .unwrap_or(false),
        flap: said.get("flap").and_then(|w| yes_or_no(w)).unwrap_or(false),
        invented: false,
        curve,
    })
}

fn yes_or_no(word: &str) -> Option<bool> {
    match word.to_ascii_lowercase().as_str() {
        "yes" | "true" | "1" => Some(true),
        "no" | "false" | "0" => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        parse_csv(text, "mine", "mine.csv")
            .expect_err("refused")
            .render(false)
    }

    #[test]
    fn a_csv_becomes_a_fan() {
        let fan = parse_csv(
            "flow_m3_per_h,pressure_Pa,power_W\n0,46,2\n36,30,3\n68,0,2.5\n",
            "mine",
            "mine.csv",
        )
        .expect("a fan");
        assert!((fan.curve.pressure_Pa(0.01) - 30.0).abs() < 1e-9);
        assert_eq!(fan.power_W, Some(3.0));
        // The same as a spreadsheet with decimal commas writes it.
        let other = parse_csv(
            "Flow_m3_per_h;Pressure_Pa;power_W\n0;46;2\n36,0;30;3\n68;0;2,5\n",
            "mine",
            "mine.csv",
        );
        assert_eq!(other.expect("a fan").curve, fan.curve);
    }

    /// The columns are in the units in which the limits are declared.
    #[test]
    fn columns_and_limits_share_their_units() {
        let units = [
            range_of(&POINT, "flow").unit,
            range_of(&POINT, "pressure").unit,
        ];
        assert_eq!(units, ["m3/h", "Pa"]);
        for (name, key, _) in SINGLE {
            let unit = range_of(&FAN, key).unit;
            assert!(name.ends_with(unit), "{name}: {unit}");
        }
    }

    /// All that a buyer knows of a fan of the catalogue can be said of one's own.
    #[test]
    fn a_csv_says_what_a_buyer_knows() {
        let fan = parse_csv(
            "flow_m3_per_h,pressure_Pa,size_mm,air_max_degC,sound_dBA,life_h,settable,flap,supply\n\
             0,46,80,70,31.5,40000,yes,no,24 V DC\n68,0,,,,,,,\n",
            "mine",
            "mine.csv",
        )
        .expect("a fan");
        assert_eq!(fan.air_max_K, Some(343.15));
        assert!((fan.size_m.expect("known") - 0.08).abs() < 1e-12);
        assert_eq!(
            (fan.sound_dBA, fan.settable, fan.flap),
            (Some(31.5), true, false)
        );
        assert_eq!(fan.life, Some((40_000.0 * 3600.0, 313.15)));
        assert_eq!(fan.supply.as_deref(), Some("24 V DC"));
    }

    #[test]
    fn what_is_no_curve_says_where_and_why() {
        const H: &str = "flow_m3_per_h,pressure_Pa\n";
        for (text, words) in [
            (String::new(), "empty"),
            (H.to_owned(), "at least two points"),
            (
                "flow,pressure\n0,1\n".to_owned(),
                "this header has flow, pressure",
            ),
            (format!("{H}0,46\n40,20\n30,10\n"), "mine.csv:4"),
            (format!("{H}0,10\n30,20\n60,40\n"), "rises everywhere"),
            (format!("{H}0,46\n30,-2\n"), "mine.csv:3"),
            // Once recommended as the fan to take; once a panic in builds with overflow checks.
            (format!("{H}0,4e9\n30,0\n"), "a pressure of 4e9 Pa: 0 to"),
            (format!("{H}0,46\n1e308,0\n"), "a flow of 1e308 m3/h: 0 to"),
            (
                "flow_m3_per_h,pressure_Pa,power_W\n0,46,3\n60,0,1e9\n".to_owned(),
                "a power of 1e9 W",
            ),
            (format!("{H}0,46\nmuch,2\n"), "\"much\" is not a number"),
            (format!("{H}0,46\n30\n"), "\"\" is not a number"),
            (
                "flow_m3_per_h,pressure_Pa,airmax_degC\n0,46,60\n30,0,60\n".to_owned(),
                "did you mean \"air_max_degC\"?",
            ),
            (
                "flow_m3_per_h,pressure_Pa,air_max_degC\n0,46,60\n30,0,70\n".to_owned(),
                "mine.csv:3",
            ),
            (
                "flow_m3_per_h,pressure_Pa,air_max_degC\n0,46,6\n30,0,\n".to_owned(),
                "a highest air temperature of 6 degC",
            ),
            (
                "flow_m3_per_h,pressure_Pa,flap\n0,46,maybe\n30,0,\n".to_owned(),
                "write yes or no",
            ),
        ] {
            let said = refused(&text);
            assert!(said.contains(words), "{words}: {said}");
        }
    }
}
