//! What to look after before and during a job, with boxes to tick; when filament is near its limit; electricity.

use maud::{Markup, html};

use super::prose;
use super::table::table;
use crate::output::columns::{Column, Columns};
use crate::output::failures;
use crate::output::words::{date_and_time, hours};
use crate::quantity::{
    System, format_count, format_difference, format_duration, format_flow, format_mass,
    format_temperature,
};
use crate::run::{Place, Run};
use crate::study::above::intervals_above;
use crate::study::log_sheet::{Check, Event, What};
use crate::study::spools::Spool;
use crate::study::{Findings, Verdict};

/// The log sheet of a run.
pub fn part(run: &Run, f: &Findings, system: System) -> Markup {
    let sheet = &f.log_sheet;
    let before: Vec<String> = sheet.before.iter().map(|c| check(run, c, system)).collect();
    let unstaffed = sheet
        .during
        .iter()
        .any(|e| is_work(&e.what) && e.staffed == Some(false));
    let spoils = failures::but(run, f, system);
    html! {
        @if f.outcome.verdict == Verdict::Softens {
            p.barred { "This run softens: do not start it as it is described." }
        }
        h3 { "Before the start" }
        ul.boxes {
            @for text in &before { li { span.box {} (prose::words(text)) } }
            @if !spoils.is_empty() {
                li { span.box {} "everybody who is on shift knows:" (prose::words(&spoils)) }
            }
        }
        @if !f.spools.is_empty() {
            h3 { "Spools" }
            (table(&spools(run, &f.spools, system), "Each spool of this job, and when it is used up"))
        }
        h3 { "During the job" }
        @if unstaffed {
            p { "In bold: somebody has to be there, and the shop is not staffed then." }
        }
        ul.boxes {
            @for event in &sheet.during {
                @if let Some(text) = during(run, event, system) {
                    li class=[(is_work(&event.what) && event.staffed == Some(false)).then_some("unstaffed")] {
                        span.box {}
                        (date_and_time(run.start, event.at_s)) ": " (prose::words(&text))
                        @if is_work(&event.what) && event.staffed == Some(false) { " (nobody is there)" }
                    }
                }
            }
        }
        div.decision {
            p.small { "Notes, and who was there:" }
            div.sign { div { "name" } div { "date and time" } div { "signature" } }
        }
    }
}

/// Whether it asks for somebody's hands.
const fn is_work(what: &What) -> bool {
    matches!(
        what,
        What::SpoolChange { .. } | What::SpoolRunsOut { .. } | What::Arrange { .. }
    )
}

fn check(run: &Run, check: &Check, system: System) -> String {
    match check {
        Check::FilamentDry => match run.machine.spool {
            Place::Room => "filament dry, and in its sealed box with a fresh drying agent",
            Place::ChamberBottom | Place::ChamberTop => {
                "filament dried before it is hung into the chamber"
            }
        }
        .to_owned(),
        Check::FilamentDamp { dry_gives_K } => format!(
            "filament: counted on as damp; dried and kept in a sealed box its limit would be {} higher",
            format_difference(*dry_gives_K, system)
        ),
        Check::Spools {
            count,
            full_kg,
            first_kg,
            drawn_kg,
        } => {
            let first = match first_kg < full_kg {
                true => format!(", the first with {}", format_mass(*first_kg, system)),
                false => String::new(),
            };
            format!(
                "{} at hand of {} each{first}: the job draws {}; weigh them",
                counted(*count, "spool"),
                format_mass(*full_kg, system),
                format_mass(*drawn_kg, system)
            )
        }
        Check::Bed { setpoint_K } => match setpoint_K {
            Some(setpoint_K) => format!(
                "bed clean, set to {}; hold-downs of the part in place",
                format_temperature(*setpoint_K, system)
            ),
            None => "bed clean, its heater off; hold-downs of the part in place".to_owned(),
        },
        Check::Room { assumed_K } => format!(
            "room temperature now: ______ (counted on: {})",
            format_temperature(*assumed_K, system)
        ),
        Check::Shell { lid_on, door_shut } => {
            let lid = if *lid_on { "lid on" } else { "lid off" };
            let door = if *door_shut { "door shut" } else { "door open" };
            match (run.requirements.must_stay_closed, *lid_on && *door_shut) {
                (true, true) => format!("{lid}, {door}; it must stay closed, so mark it"),
                (true, false) => {
                    format!("{lid}, {door}: NOT ALLOWED for this run, which must stay closed")
                }
                (false, _) => format!("{lid}, {door}"),
            }
        }
        Check::Fan {
            arrangement,
            flow_m3_per_s,
            runs_at_start,
            thermostat_K,
        } => {
            let flow = format_flow(*flow_m3_per_s, system);
            match (thermostat_K, runs_at_start) {
                (Some((on_K, off_K)), _) => format!(
                    "fan ({arrangement}, {flow}) set to start above {} and stop below {}; try it once",
                    format_temperature(*on_K, system),
                    format_temperature(*off_K, system)
                ),
                (None, true) => {
                    format!("fan running ({arrangement}, {flow}): feel the air at its outlet")
                }
                (None, false) => format!("fan ready ({arrangement}, {flow}); try it once"),
            }
        }
        Check::Alarm {
            thermometer,
            reading_K,
        } => format!(
            "thermometer on the {}, its alarm at {}",
            thermometer.name(),
            format_temperature(*reading_K, system)
        ),
    }
}

/// What is to be done or looked at then; none for the end of something whose begin says when it ends.
fn during(run: &Run, event: &Event, system: System) -> Option<String> {
    let until = |until_s: f64| date_and_time(run.start, until_s);
    Some(match &event.what {
        What::SpoolChange {
            spool,
            until_s,
            door_open,
        } => {
            let takes = format_duration(until_s - event.at_s);
            let door = if *door_open {
                ", the door open no longer than that"
            } else {
                ""
            };
            format!("put spool {spool} on, within {takes}{door}")
        }
        What::SpoolRunsOut { spool } => {
            format!("spool {spool} is used up, and no change is planned then")
        }
        What::Pause { until_s } => format!("pause, until {}", until(*until_s)),
        What::Arrange {
            arrangement,
            until_s,
        } => format!("{arrangement}, until {}", until(*until_s)),
        What::MarginBegins { until_s } => format!(
            "filament within {} of its limit, until {}: look at the thermometer",
            format_difference(run.requirements.margin_K, system),
            until(*until_s)
        ),
        What::AboveBegins { until_s } => {
            format!(
                "filament above its limit, until {}: it softens here",
                until(*until_s)
            )
        }
        What::MarginEnds | What::AboveEnds => return None,
        What::Hottest {
            station,
            filament_K,
            limit_K,
        } => format!(
            "hottest moment: {} at the {}, limit {}",
            format_temperature(*filament_K, system),
            station.name(),
            format_temperature(*limit_K, system)
        ),
        What::ReadRoom { expected_K } => format!(
            "room temperature: ______ (counted on: {})",
            format_temperature(*expected_K, system)
        ),
        What::End => "the job ends; let it cool down shut".to_owned(),
    })
}

fn spools(run: &Run, all: &[Spool], system: System) -> Columns {
    let cells = |text: &dyn Fn(&Spool) -> String| -> Vec<String> { all.iter().map(text).collect() };
    Columns {
        head: "spool".to_owned(),
        names: cells(&|s| s.number.to_string()),
        columns: vec![
            Column::numbers(&["draws"], 0, cells(&|s| format_mass(s.drawn_kg, system))),
            Column::words(
                &["from"],
                0,
                cells(&|s| date_and_time(run.start, s.begin_s)),
            ),
            Column::words(
                &["used up"],
                0,
                cells(&|s| {
                    let at = |at_s| date_and_time(run.start, at_s);
                    s.runs_out_s
                        .map_or_else(|| "not in this job".to_owned(), at)
                }),
            ),
            Column::words(
                &["then"],
                0,
                cells(&|s| {
                    let then = if s.is_changed { "changed" } else { "" };
                    match (s.is_changed, s.staffed) {
                        (true, Some(true)) => format!("{then}, in staffed hours"),
                        (true, Some(false)) => "due to be changed, and nobody is there".to_owned(),
                        _ => then.to_owned(),
                    }
                }),
            ),
        ],
    }
}

/// The stretches in which filament is nearer to its limit than required, or above it.
pub fn near_the_limit(run: &Run, f: &Findings, system: System) -> Option<Markup> {
    let s = &f.simulation;
    let required_K = run.requirements.margin_K;
    let kinds = [
        (0.0, "above its limit".to_owned()),
        (
            required_K,
            format!(
                "within {} of it, or above",
                format_difference(required_K, system)
            ),
        ),
    ];
    let mut names = Vec::new();
    let (mut from, mut to, mut length) = (Vec::new(), Vec::new(), Vec::new());
    for (less_K, name) in kinds {
        for (begin_s, end_s) in intervals_above(run, s, less_K) {
            names.push(name.clone());
            from.push(date_and_time(run.start, begin_s));
            to.push(date_and_time(run.start, end_s));
            length.push(hours((end_s - begin_s) / 3600.0));
        }
    }
    if names.is_empty() {
        return None;
    }
    let columns = Columns {
        head: "filament".to_owned(),
        names,
        columns: vec![
            Column::words(&["from"], 0, from),
            Column::words(&["to"], 0, to),
            Column::numbers(&["for"], 0, length),
        ],
    };
    Some(table(
        &columns,
        "When filament anywhere on its way is near its limit",
    ))
}

/// What the run takes from the mains.
pub fn electricity(f: &Findings) -> Markup {
    let e = &f.electricity;
    let kWh = |value: f64| format!("{value:.2}");
    let mut names: Vec<String> = e.each_kWh().map(|(c, _)| c.name().to_owned()).collect();
    let mut values: Vec<String> = e.each_kWh().map(|(_, value)| kWh(value)).collect();
    names.push("together".to_owned());
    values.push(kWh(e.together_kWh()));
    let columns = Columns {
        head: "over the run".to_owned(),
        names,
        columns: vec![Column::numbers(&["kWh"], 0, values)],
    };
    html! {
        (table(&columns, "Electricity that becomes heat in the machine"))
        @if let Some(costs) = e.costs() { p { "That costs " (format!("{costs:.2}")) " in your money." } }
        @if e.lacks_fan { p.small { (prose::words("The fan that draws air out is not in it: nobody wrote its power (`system.fan_power`).")) } }
        p.small { "What a power supply loses outside the chamber is not in it." }
    }
}

fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        _ => format!("{} {what}s", format_count(count)),
    }
}
