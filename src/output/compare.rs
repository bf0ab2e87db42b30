//! Text, JSON and CSV of `compare`.

use serde_json::{Value, json};

use super::certainty;
use super::columns::{Column, Columns};
use super::csv_rows::{rows as rows_to, text_field};
use super::json::{SCHEMA, cannot_run, rounded};
use super::screen::Screen;
use super::words::{day_and_time, iso, moment};
use crate::quantity::{
    ShownMargin, System, format_difference, format_pressure, format_temperature,
};
use crate::study::breakeven::{BreakEven, weather_peak_K};
use crate::study::cautions::Caution;
use crate::study::compare::{AS_IN_THE_FILE, FlowBasis, Row};
use crate::study::warnings::Warning;
use crate::study::{Certainty, Verdict};

const J_PER_KWH: f64 = 3.6e6;

/// What a comparison is told with besides its rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Flow of the fans, m3/s, and where it comes from, when the usual arrangements are compared.
    pub flow: Option<(f64, FlowBasis)>,
}

/// The flow of an arrangement's fan, m3/s.
const fn flow_m3_per_s(row: &Row) -> Option<f64> {
    row.run.arrangement.kind.flow_m3_per_s()
}

/// The cautions of all rows, each once.
pub(super) fn cautions(rows: &[Row]) -> Vec<Caution> {
    let mut all: Vec<Caution> = rows
        .iter()
        .flat_map(|r| r.findings.cautions.iter().copied())
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// The sentence about break-even that one remembers.
#[must_use]
pub fn break_even_sentence(row: &Row, system: System) -> String {
    let place = if row.run.room.is_told_from_outdoors() {
        " outdoors"
    } else {
        ""
    };
    let now = format_temperature(weather_peak_K(&row.run), system);
    let mut letters = row.name.chars();
    let name: String = letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    });
    if let Some(shortfall) = row.findings.outcome.shortfalls.first() {
        return format!("{name} cannot run: {}.", shortfall.text(system));
    }
    let no_fan = no_fan_does(row, system).map_or_else(String::new, |why| format!(", but {why}"));
    match row.break_even {
        BreakEven::UpTo { peak_K, .. } => format!(
            "{name} {} fine up to afternoons of {:.1} {}{place}{no_fan}; the warmest of this run has {now}.",
            if no_fan.is_empty() { "is" } else { "would be" },
            floor_to_tenth(system.temperature(peak_K)),
            system.temperature_unit()
        ),
        BreakEven::Never => format!("{name} does not hold in any weather worth having."),
        BreakEven::Always => format!("{name} holds in any weather{no_fan}."),
    }
}

/// Why the flow of a row can't be had, where the shell is too tight for it.
fn no_fan_does(row: &Row, system: System) -> Option<String> {
    let pressure_Pa = row.findings.warnings.iter().find_map(|w| match w {
        Warning::LargePressure { pressure_Pa } => Some(pressure_Pa.abs()),
        _ => None,
    })?;
    Some(format!(
        "no small fan holds the {} across the shell that its flow takes (`machine.vent`)",
        format_pressure(pressure_Pa, system)
    ))
}

/// Rounded down, so that what is said still holds.
fn floor_to_tenth(v: f64) -> f64 {
    (v * 10.0).floor() / 10.0
}

/// The answer alone: up to where the run as it is holds, and the best that is allowed.
#[must_use]
pub fn answer(rows: &[Row], screen: Screen) -> String {
    let mut out = String::new();
    let Some(first) = rows.first() else {
        return out;
    };
    let best = rows
        .iter()
        .skip(1)
        .filter(|r| r.is_allowed && r.findings.outcome.shortfalls.is_empty())
        .max_by(|a, b| {
            // What no fan can do comes after everything that can be had.
            let can = |r: &Row| no_fan_does(r, screen.system).is_none();
            (can(a).cmp(&can(b))).then(a.change_K.total_cmp(&b.change_K))
        })
        .filter(|best| best.change_K > 0.0 || !first.findings.outcome.shortfalls.is_empty());
    for row in std::iter::once(first).chain(best) {
        screen.paragraph(&mut out, &break_even_sentence(row, screen.system));
    }
    out
}

/// The whole text.
#[must_use]
pub fn text(rows: &[Row], setting: Setting, screen: Screen) -> String {
    let system = screen.system;
    let mut out = answer(rows, screen);
    let Some(first) = rows.first() else {
        return out;
    };
    let o = &mut out;
    o.push('\n');
    screen.entry(o, "Run", &first.run.name);
    let required = format_difference(first.run.requirements.margin_K, system);
    let required = format!("{required} below the softening limit");
    screen.entry(o, "Required", &required);
    o.push('\n');
    o.push_str(&table(rows, system).text(screen.width));
    o.push('\n');
    for note in notes(rows, setting, system) {
        screen.bullet(o, &note);
    }
    o.push_str("\nCautions\n");
    for c in cautions(rows) {
        screen.bullet(o, c.text());
    }
    out
}

pub(super) fn table(rows: &[Row], system: System) -> Columns {
    let cells = |text: &dyn Fn(&Row) -> String| -> Vec<String> { rows.iter().map(text).collect() };
    // The margin of what can't run means nothing.
    let degrees = |row: &Row, text: String| match row.findings.outcome.verdict {
        Verdict::CannotRun => String::new(),
        Verdict::Holds | Verdict::Tight | Verdict::Softens => text,
    };
    let unit = system.difference_unit();
    let chance = |row: &Row| {
        row.findings
            .certainty
            .as_ref()
            .map(Certainty::chance_softens)
    };
    let chances = Column::numbers(
        &["soften", "%"],
        2,
        cells(&|row| {
            degrees(
                row,
                chance(row).map_or_else(String::new, certainty::percent),
            )
        }),
    );
    Columns {
        head: String::new(),
        names: cells(&|row| {
            let mark = if row.is_allowed { "" } else { " *" };
            format!("{}{mark}", row.name)
        }),
        columns: vec![
            Column::words(
                &["verdict"],
                0,
                cells(&|row| row.findings.outcome.verdict.name().to_owned()),
            ),
            Column::numbers(
                &["margin", unit],
                0,
                cells(&|row| {
                    let margin_K = row.findings.outcome.margin_K;
                    let required_K = row.run.requirements.margin_K;
                    degrees(row, ShownMargin::new(margin_K, required_K, system).number())
                }),
            ),
            chances,
            Column::numbers(
                &["change", unit],
                2,
                cells(&|row| degrees(row, format!("{:+.1}", system.difference(row.change_K)))),
            ),
            Column::words(
                &["hottest"],
                4,
                cells(&|row| row.findings.outcome.station.name().to_owned()),
            ),
            Column::words(
                &["at"],
                4,
                cells(&|row| {
                    let at_s = row.findings.outcome.peak_at_s;
                    day_and_time(row.run.start, at_s).replace(" at ", " ")
                }),
            ),
            Column::numbers(
                &["up to", system.temperature_unit()],
                1,
                cells(&|row| match row.break_even {
                    BreakEven::UpTo { peak_K, .. } => {
                        format!("{:.1}", floor_to_tenth(system.temperature(peak_K)))
                    }
                    BreakEven::Never => "none".to_owned(),
                    BreakEven::Always => "any".to_owned(),
                }),
            ),
            Column::numbers(
                &["heat", "kWh"],
                3,
                cells(&|row| {
                    let heat_J = row.heaters_J + row.fan_J.unwrap_or(0.0);
                    format!("{:.1}", heat_J / J_PER_KWH)
                }),
            ),
            Column::words(
                &["shut"],
                5,
                cells(&|row| if row.stays_closed { "yes" } else { "no" }.to_owned()),
            ),
        ],
    }
}

pub(super) fn notes(rows: &[Row], setting: Setting, system: System) -> Vec<String> {
    let mut notes = vec![
        "margin: softening limit less the hottest filament; change: margin gained against the first row; up to: warmest afternoon at which it still holds; heat: energy of bed, hotend and a fan that recirculates or blows in"
            .to_owned(),
    ];
    if let Some(c) = rows.first().and_then(|r| r.findings.certainty.as_ref()) {
        notes.push(format!(
            "soften: how many of a hundred would; {}",
            certainty::basis(c)
        ));
    }
    if rows.iter().any(|r| r.fan_J.is_none()) {
        notes.push(
            "the energy of fans that extract is not counted: it depends on the fan chosen"
                .to_owned(),
        );
    }
    if let Some((flow, basis)) = setting.flow {
        let flow = format!("{:.1} {}", system.flow(flow), system.flow_unit());
        let why = match basis {
            FlowBasis::Run => "as the run says",
            FlowBasis::Sized => "the least extraction that holds, as `size-fan` finds it",
            FlowBasis::ChamberSize => "three changes of the chamber's air a minute, as a guess",
        };
        notes.push(format!("fans move {flow}: {why}"));
    }
    if rows.iter().any(|r| !r.is_allowed) {
        notes.push(
            "*  not allowed for this run: it opens a machine that must stay closed (`require.must_stay_closed`)"
                .to_owned(),
        );
    }
    if rows.first().is_some_and(|r| r.name == AS_IN_THE_FILE) && setting.flow.is_some() {
        notes.push(format!(
            "{AS_IN_THE_FILE}: with its schedule or thermostat; every other row holds for the whole run, without them"
        ));
    }
    if rows.iter().any(|r| r.run.room.building.is_some()) {
        notes.push(
            "this room is warmed by its machines: \"up to\" is the warmest afternoon outdoors"
                .to_owned(),
        );
    }
    let mut buildings = rows.iter().filter_map(|r| r.run.room.building.as_ref());
    if buildings.any(|b| b.machines > 1) {
        notes.push(
            "all machines of this room (`room.building.machines`) do what a row says".to_owned(),
        );
    }
    if rows.iter().any(|r| !r.run.neighbours.is_empty()) {
        notes.push(
            "the other runs of this room (`room.building.machine`) are the same in every row"
                .to_owned(),
        );
    }
    let above_K = rows.iter().find_map(|r| r.run.room.above_outdoors_K);
    if let Some(above_K) = above_K {
        notes.push(format!(
            "this room is {} warmer than outdoors (`room.above_outdoors`): \"up to\" is the warmest afternoon outdoors",
            format_difference(above_K, system)
        ));
    }
    notes.extend(other_limits(rows, system));
    for row in rows {
        for s in &row.findings.outcome.shortfalls {
            notes.push(format!("{}: {}", row.name, s.text(system)));
        }
        for w in row.findings.warnings.iter().filter(|w| is_about_row(w)) {
            notes.push(format!("{}: {}", row.name, w.text(system)));
        }
    }
    notes
}

/// Says that rows are held to limits of their own, where their materials differ.
fn other_limits(rows: &[Row], system: System) -> Option<String> {
    let mut limits: Vec<(&str, f64)> = Vec::new();
    for row in rows {
        let (name, limit_K) = (row.run.material.name.as_str(), row.findings.limit_K);
        if !limits.contains(&(name, limit_K)) {
            limits.push((name, limit_K));
        }
    }
    let each: Vec<String> = limits
        .iter()
        .map(|(name, limit_K)| format!("{name} {}", format_temperature(*limit_K, system)))
        .collect();
    (each.len() > 1).then(|| {
        format!(
            "each row is held to its own softening limit, so the hotter one may hold and the cooler one soften: {}",
            each.join(", ")
        )
    })
}

/// Warnings about the model belong to `check`; those about the shop's choice belong here.
const fn is_about_row(w: &Warning) -> bool {
    matches!(
        w,
        Warning::Beyond(_)
            | Warning::ChamberTooCool { .. }
            | Warning::LargePressure { .. }
            | Warning::NotReached { .. }
            | Warning::Waits(_)
            | Warning::RapidThermostat { .. }
    )
}

/// JSON of a comparison.
#[must_use]
pub fn json(rows: &[Row], setting: Setting) -> Value {
    let first = rows.first();
    json!({
        "schema": SCHEMA,
        "run": first.map(|r| r.run.name.as_str()),
        "flow_m3_per_h": setting.flow.map(|(flow, _)| rounded(flow * 3600.0, 3)),
        "flow_basis": setting.flow.map(|(_, basis)| match basis {
            FlowBasis::Run => "run",
            FlowBasis::Sized => "least that holds",
            FlowBasis::ChamberSize => "chamber size",
        }),
        "arrangements": rows.iter().map(json_row).collect::<Vec<_>>(),
        "cautions": cautions(rows).iter().map(|c| c.text()).collect::<Vec<_>>(),
    })
}

fn json_row(row: &Row) -> Value {
    let f = &row.findings;
    let o = &f.outcome;
    let mut object = json!({
        "name": row.name,
        "arrangement": row.run.arrangement.name(),
        "flow_m3_per_h": flow_m3_per_s(row).map(|flow| rounded(flow * 3600.0, 3)),
        "stays_closed": row.stays_closed,
        "allowed": row.is_allowed,
        "verdict": o.verdict.name(),
        "surely_holds": f.surely_holds(&row.run),
        "cannot_run": cannot_run(&row.run, o),
        "softening_limit_degC": rounded(f.limit_K - 273.15, 4),
        "required_margin_K": rounded(row.run.requirements.margin_K, 4),
        "margin_K": rounded(o.margin_K, 4),
        "change_K": rounded(row.change_K, 4),
        "peak": {
            "filament_degC": rounded(o.peak_K - 273.15, 4),
            "limit_degC": rounded(o.limit_K - 273.15, 4),
            "station": o.station.name(),
            "at": iso(moment(row.run.start, o.peak_at_s)),
            "at_h": rounded(o.peak_at_s / 3600.0, 4),
        },
        "breakeven_room_degC": row.break_even.peak_K().map(|t| rounded(t - 273.15, 3)),
        "breakeven_shift_K": match row.break_even {
            BreakEven::UpTo { shift_K, .. } => rounded(shift_K, 3),
            BreakEven::Never | BreakEven::Always => Value::Null,
        },
        "breakeven": match row.break_even {
            BreakEven::UpTo { .. } => "found",
            BreakEven::Never => "never holds",
            BreakEven::Always => "always holds",
        },
        "breakeven_is_outdoors": row.run.room.is_told_from_outdoors(),
        "heaters_kWh": rounded(row.heaters_J / J_PER_KWH, 4),
        "fan_kWh": row.fan_J.map(|q| rounded(q / J_PER_KWH, 4)),
        "warnings": f.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
    });
    certainty::add_to(&mut object, f);
    object
}

/// The columns of the CSV.
pub const COLUMNS: [&str; 15] = [
    "name",
    "arrangement",
    "flow_m3_per_h",
    "stays_closed",
    "allowed",
    "verdict",
    "margin_K",
    "change_K",
    "peak_degC",
    "station",
    "peak_at",
    "breakeven_room_degC",
    "heaters_kWh",
    "fan_kWh",
    "chance_softens",
];

/// CSV of a comparison, one row an arrangement, RFC 4180.
///
/// # Errors
/// When the CSV writer fails, which it does only for lack of memory.
pub fn csv(rows: &[Row]) -> Result<Vec<u8>, csv::Error> {
    let mut w = rows_to(Vec::new());
    w.write_record(COLUMNS)?;
    // A missing value is an empty field, never a zero.
    let optional = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{v:.3}"));
    for row in rows {
        let o = &row.findings.outcome;
        w.write_record([
            text_field(&row.name),
            row.run.arrangement.name().to_owned(),
            optional(flow_m3_per_s(row).map(|flow| flow * 3600.0)),
            row.stays_closed.to_string(),
            row.is_allowed.to_string(),
            o.verdict.name().to_owned(),
            format!("{:.3}", o.margin_K),
            format!("{:.3}", row.change_K),
            format!("{:.3}", o.peak_K - 273.15),
            o.station.name().to_owned(),
            iso(moment(row.run.start, o.peak_at_s)),
            optional(row.break_even.peak_K().map(|t| t - 273.15)),
            format!("{:.3}", row.heaters_J / J_PER_KWH),
            optional(row.fan_J.map(|q| q / J_PER_KWH)),
            optional((row.findings.certainty.as_ref()).map(Certainty::chance_softens)),
        ])?;
    }
    w.into_inner().map_err(|e| e.into_error().into())
}
