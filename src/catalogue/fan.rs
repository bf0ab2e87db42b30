//! Fans: from the catalogue's files, or from a user's CSV of flow and pressure.

use crate::keys::fields::fan::{FAN, POINT};
use crate::keys::file::text_of_file;
use crate::keys::problem::{Problem, Problems};
use crate::keys::schema::{Kind, Range, Table};
use crate::keys::section::Section;
use crate::physics::fan::FanCurve;
use crate::plain::plain;
use crate::run::{Fan, FanKind};
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
        curve,
    })
}

/// What to write in a CSV file.
const CSV_HELP: &str = "write a header flow_m3_per_h,pressure_Pa (and power_W, if known) and the \
    data sheet's points below it by rising flow, such as 0,46 then 35,30 then 68,0";

/// The fan of a user's CSV: a header `flow_m3_per_h,pressure_Pa` and points by rising flow, in
/// standard air. A column `power_W` may follow; its largest value counts.
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
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let not_csv = |e: csv::Error| problem(None, format!("this is not CSV: {e}"));
    let header = reader.headers().map_err(not_csv)?.clone();
    let column = |name: &str| header.iter().position(|h| h == name);
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
    let power_at = column("power_W");
    let (flow_range, pressure_range, power_range) = (
        range_of(&POINT, "flow"),
        range_of(&POINT, "pressure"),
        range_of(&FAN, "power"),
    );
    let (mut points, mut lines, mut power_W) = (Vec::new(), Vec::new(), None::<f64>);
    for record in reader.records() {
        let record = record.map_err(not_csv)?;
        let line = record.position().map(csv::Position::line);
        // In the unit of the range, which is that of the column's name.
        let value = |at: usize, what: &str, range: Range| {
            let text = record.get(at).unwrap_or("");
            let value = text.parse::<f64>().ok().filter(|v| v.is_finite());
            let value =
                value.ok_or_else(|| problem(line, format!("\"{text}\" is not a number")))?;
            let (low, high) = (range.hard.0.min(0.0), range.hard.1);
            if (low..=high).contains(&value) {
                return Ok(value);
            }
            let limits = range.limits_text((low, high));
            let message = format!("a {what} of {text} {}: {limits} are possible", range.unit);
            Err(problem(line, message))
        };
        let flow_m3_per_h = value(flow_at, "flow", flow_range)?;
        points.push((
            flow_m3_per_h / 3600.0,
            value(pressure_at, "pressure", pressure_range)?,
        ));
        lines.push(line);
        if let Some(at) = power_at {
            let power = value(at, "power", power_range)?;
            power_W = Some(power_W.map_or(power, |p| p.max(power)));
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
        size_m: None,
        power_W: power_W.filter(|p| *p > 0.0),
        curve,
    })
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
    }

    /// The columns are in the units in which the limits are declared.
    #[test]
    fn columns_and_limits_share_their_units() {
        let units = [
            range_of(&POINT, "flow").unit,
            range_of(&POINT, "pressure").unit,
            range_of(&FAN, "power").unit,
        ];
        assert_eq!(units, ["m3/h", "Pa", "W"]);
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
        ] {
            let said = refused(&text);
            assert!(said.contains(words), "{words}: {said}");
        }
    }
}
