//! Which column of a log holds what.

use super::forms::Form;
use super::heater::HeaterColumn;
use super::places::{Holds, Places, words_of};
use super::said::{LogFile, Said};
use super::switches::{Meant, SwitchColumn};
use crate::keys::problem::{Problem, nearest};
use crate::quantity::Unit;
use crate::run::{Reading, Switch};
use crate::table::Mistakes;
use crate::weather::frame::Head;

/// So many columns that are left out are told by name.
const TOLD: usize = 6;

/// The columns that are read, and what there is to say of the others.
pub(super) struct Columns {
    pub used: Vec<Used>,
    /// Those that say what the machine did.
    pub switches: Vec<SwitchColumn>,
    /// Those that say what the bed's heater took.
    pub heaters: Vec<HeaterColumn>,
    pub told: Option<String>,
}

/// A column that is read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Used {
    pub at: usize,
    pub header: String,
    pub holds: Holds,
    pub unit: &'static Unit,
    pub within_K: f64,
    /// Whether somebody said what it holds; else its header does.
    is_said: bool,
}

/// What was seen in the headers of several logs.
#[derive(Debug, Default)]
pub(super) struct Seen {
    /// How many logs.
    pub logs: usize,
    headers: Vec<String>,
    found: Vec<String>,
}

impl Seen {
    /// An error where no log had that column.
    pub fn missing(&self, said: &Said) -> Option<Problem> {
        (!self.found.contains(&said.header)).then(|| no_column(said, &self.headers, "no log has"))
    }
}

/// Finds out what the columns hold; none if something is wrong, which then has been reported.
pub(super) fn found(
    head: &Head<'_>,
    file: &LogFile,
    more: &[Said],
    places: &Places<'_>,
    seen: &mut Seen,
    mistakes: &mut Mistakes,
) -> Option<Columns> {
    let said = said_of(head, file, more, seen, mistakes);
    let mut used: Vec<Used> = Vec::new();
    let (mut switches, mut heaters): (Vec<SwitchColumn>, Vec<HeaterColumn>) = Default::default();
    let (mut no_place, mut no_temperature) = (Vec::new(), Vec::new());
    let is_fine = mistakes.is_empty();
    for (at, name) in head.names.iter().enumerate() {
        if head.is_time(at) || name.is_empty() {
            continue;
        }
        let said = said[at];
        if said.is_some_and(Said::leaves_out) {
            continue;
        }
        if let Some(meant) = switch(head, at, said, mistakes) {
            switches.push(SwitchColumn::new(at, name.clone(), meant));
            continue;
        }
        if let Some(form) = heater(head, at, said, mistakes) {
            heaters.push(HeaterColumn::new(at, name.clone(), form, said));
            continue;
        }
        let holds = match said {
            Some(said) => said_to_hold(said, places, mistakes),
            None if head.has_other_unit(at) => None,
            None => places.named(name),
        };
        let unit = said.and_then(|said| said.unit).or_else(|| head.unit(at));
        match (holds, unit.or(file.asked.unit)) {
            (Some(holds), Some(unit)) => used.push(Used {
                at,
                header: name.clone(),
                holds,
                unit,
                within_K: said
                    .and_then(|said| said.within_K)
                    .unwrap_or(Reading::WITHIN_K),
                is_said: said.is_some(),
            }),
            (Some(holds), None) => mistakes.push(no_unit(head, at, &holds)),
            // It has been reported.
            (None, _) if said.is_some() => {}
            (None, _) if is_temperature(head, at) => no_place.push((name, places.near(name))),
            (None, _) => no_temperature.push(name),
        }
    }
    doubles(head, &used, mistakes);
    let each = switches.iter().map(|c| (c.at, &c.header, c.meant.name()));
    let heated = heaters.iter().map(|c| (c.at, &c.header, "bed heater"));
    same_twice(head, &each.chain(heated).collect::<Vec<_>>(), mistakes);
    if used.is_empty()
        && switches.is_empty()
        && heaters.is_empty()
        && is_fine
        && mistakes.is_empty()
    {
        let name = no_place.first().map_or("T1", |(name, _)| name.as_str());
        let message = "no column's header names a place of this machine, or the room";
        let help = format!(
            "say what a column holds, --column \"{name} = feeder motor\", or a [[log.column]] in the run file; there are {}",
            places.listed()
        );
        mistakes.push(head.line.problem_of_all(message).help(help));
    }
    mistakes.is_empty().then(|| Columns {
        used,
        switches,
        heaters,
        told: left_out(&no_place, &no_temperature),
    })
}

/// For each column what was said of it: by an option, or else by the file's own table.
fn said_of<'s>(
    head: &Head<'_>,
    file: &'s LogFile,
    more: &'s [Said],
    seen: &mut Seen,
    mistakes: &mut Mistakes,
) -> Vec<Option<&'s Said>> {
    let mut said_of: Vec<Option<&Said>> = vec![None; head.names.len()];
    for said in &file.columns {
        match columns_of(head, said)[..] {
            [] => mistakes.push(no_column(said, head.names, "this log does not have")),
            [at] if said_of[at].is_some() => {
                let message = format!("there are two tables for the column \"{}\"", said.header);
                mistakes.push(said.header_problem(message).help("leave one of them away"));
            }
            [at] => said_of[at] = Some(said),
            [first, second, ..] => mistakes.push(ambiguous(head, said, first, second)),
        }
    }
    let mut by_option: Vec<usize> = Vec::new();
    for said in more {
        let columns = columns_of(head, said);
        if !columns.is_empty() && !seen.found.contains(&said.header) {
            seen.found.push(said.header.clone());
        }
        match columns[..] {
            [] => {}
            [at] if by_option.contains(&at) => {
                let message = format!("this is said of the column \"{}\" twice", said.header);
                mistakes.push(said.header_problem(message).help("leave one of them away"));
            }
            [at] => {
                by_option.push(at);
                said_of[at] = Some(said);
            }
            [first, second, ..] => mistakes.push(ambiguous(head, said, first, second)),
        }
    }
    seen.logs += 1;
    let names = head.names.iter().filter(|name| !name.is_empty());
    seen.headers.extend(names.cloned());
    said_of
}

/// The columns of that name; where there is none, those whose names differ by the unit only.
fn columns_of(head: &Head<'_>, said: &Said) -> Vec<usize> {
    let all = || (0..head.names.len()).filter(|at| !head.is_time(*at));
    let same = |at: &usize| head.names[*at].eq_ignore_ascii_case(&said.header);
    let exact: Vec<usize> = all().filter(same).collect();
    if !exact.is_empty() {
        return exact;
    }
    let words = words_of(&said.header);
    let alike = |at: &usize| !words.is_empty() && words_of(&head.names[*at]) == words;
    all().filter(alike).collect()
}

fn said_to_hold(said: &Said, places: &Places<'_>, mistakes: &mut Mistakes) -> Option<Holds> {
    let holds = places.named(&said.sensor);
    match &holds {
        None => {
            let message = format!("there is no place \"{}\" in this machine", said.sensor);
            let help = places.near(&said.sensor).unwrap_or_else(|| {
                format!(
                    "it has {}; or say fan, lid, door or bed heater of a column that tells what these did",
                    places.listed()
                )
            });
            mistakes.push(said.sensor_problem(message).help(help));
        }
        Some(_) if said.form.is_some() || said.within_W.is_some() => {
            let message = format!("what is measured at \"{}\" is a temperature", said.sensor);
            mistakes.push(
                said.sensor_problem(message)
                    .help("write in degC, degF or K; of the bed's heater, \"bed heater in W\""),
            );
        }
        Some(Holds::Room) if said.within_K.is_some() => {
            let message = "how far off the room's thermometer may be has no part in the fit";
            mistakes.push(
                said.sensor_problem(message)
                    .help("leave \"within\" away here"),
            );
        }
        Some(_) => {}
    }
    holds
}

fn no_column(said: &Said, headers: &[String], what: &str) -> Problem {
    let near = nearest(&said.header, headers.iter().map(String::as_str));
    let help = near.map_or_else(
        || format!("the columns are {}", headers.join(", ")),
        |near| format!("did you mean \"{near}\"?"),
    );
    said.header_problem(format!("{what} a column \"{}\"", said.header))
        .help(help)
}

fn ambiguous(head: &Head<'_>, said: &Said, first: usize, second: usize) -> Problem {
    let (first, second) = (&head.names[first], &head.names[second]);
    let message = format!("\"{}\" may be either of two columns", said.header);
    let help = if first.eq_ignore_ascii_case(second) {
        "give each column of the file a name of its own".to_owned()
    } else {
        format!("write the whole header: \"{first}\" or \"{second}\"")
    };
    said.header_problem(message).help(help)
}

fn no_unit(head: &Head<'_>, at: usize, holds: &Holds) -> Problem {
    let (name, place) = (&head.names[at], holds.name());
    let message = format!("the header \"{name}\" does not say in which unit");
    head.line.problem(at, message).help(format!(
        "put the unit at its end, such as {name}_degC (or _degF, _K); or say it: --column \"{name} = {place} in degC\"; in the run file, unit = \"degC\" in its [[log.column]], or temperature_unit = \"degC\" under [[log]] for all columns"
    ))
}

/// Two columns of one place are two thermometers only where somebody says so.
fn doubles(head: &Head<'_>, used: &[Used], mistakes: &mut Mistakes) {
    for (number, later) in used.iter().enumerate() {
        let same = |one: &&Used| one.holds == later.holds;
        let Some(earlier) = used[..number].iter().find(same) else {
            continue;
        };
        let is_room = later.holds == Holds::Room;
        if earlier.is_said && later.is_said && !is_room {
            continue;
        }
        let place = later.holds.name();
        let message = format!(
            "the columns \"{}\" and \"{}\" are both of the {place}",
            earlier.header, later.header
        );
        let both = if is_room {
            ""
        } else {
            "; or say of each that it is, where two thermometers were there"
        };
        let help = format!(
            "leave one out: --column \"{} = nothing\"{both}",
            later.header
        );
        mistakes.push(head.line.problem(later.at, message).help(help));
    }
}

/// What a column says that the machine did, by what was said of it or else by its header.
fn switch(
    head: &Head<'_>,
    at: usize,
    said: Option<&Said>,
    mistakes: &mut Mistakes,
) -> Option<Meant> {
    let header = with_unit(head, at);
    let Some(said) = said else {
        return Meant::of(&header).filter(|_| !is_temperature(head, at));
    };
    let meant = Meant::of(&said.sensor)?.under(&header);
    let is_percent = meant.what == Switch::Fan && said.form == Some(Form::Percent);
    let has_unit = said.unit.is_some() || (said.form.is_some() && !is_percent);
    if said.within_K.is_some() || said.within_W.is_some() || has_unit {
        let message = format!("what a {} does has no such unit", meant.name());
        let help = "leave \"within\" and the unit away here";
        mistakes.push(said.sensor_problem(message).help(help));
    }
    Some(meant)
}

/// What a column says of the bed's heater, by what was said of it or else by its header.
fn heater(
    head: &Head<'_>,
    at: usize,
    said: Option<&Said>,
    mistakes: &mut Mistakes,
) -> Option<Form> {
    let header = with_unit(head, at);
    let Some(said) = said else {
        return Form::of(&header).filter(|_| !is_temperature(head, at));
    };
    let form = Form::of(&said.sensor)?.under(&header);
    if said.within_K.is_some() || said.unit.is_some() {
        let message = "what the bed's heater takes is no temperature";
        let help = "write in W or in %, and how far off it may be in W: \"P = bed heater in W within 5 W\", or within_power = \"5 W\" in its [[log.column]]";
        mistakes.push(said.sensor_problem(message).help(help));
    }
    Some(form)
}

/// A header with what the line of units has below it.
fn with_unit(head: &Head<'_>, at: usize) -> String {
    let below = head.units.and_then(|units| units.get(at));
    match below {
        Some(unit) => format!("{} {unit}", head.names[at]),
        None => head.names[at].clone(),
    }
}

/// Two columns that tell of the same may say different things.
fn same_twice(head: &Head<'_>, all: &[(usize, &String, &str)], mistakes: &mut Mistakes) {
    for (number, (at, later, what)) in all.iter().enumerate() {
        let same = |(_, _, other): &&(usize, &String, &str)| other == what;
        if let Some((_, earlier, _)) = all[..number].iter().find(same) {
            let message =
                format!("the columns \"{earlier}\" and \"{later}\" are both of the {what}");
            let help = format!("leave one out: --column \"{later} = nothing\"");
            mistakes.push(head.line.problem(*at, message).help(help));
        }
    }
}

fn is_temperature(head: &Head<'_>, at: usize) -> bool {
    let name = head.names[at].to_lowercase();
    let says = ["temp", "therm", "probe"];
    head.unit(at).is_some() || says.iter().any(|word| name.contains(word))
}

/// One line about the columns that are not read.
fn left_out(no_place: &[(&String, Option<String>)], others: &[&String]) -> Option<String> {
    let listed = |mut names: Vec<String>| {
        let more = names.len().saturating_sub(TOLD);
        names.truncate(TOLD);
        let more = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        names.join(", ") + &more
    };
    let mut parts = Vec::new();
    if let Some((first, _)) = no_place.first() {
        let each = no_place.iter().map(|(name, near)| match near {
            Some(near) => format!("'{name}' ({near})"),
            None => format!("'{name}'"),
        });
        parts.push(format!(
            "temperatures of no place of this machine: {}; to have one read, --column \"{first} = feeder motor\"",
            listed(each.collect())
        ));
    }
    if !others.is_empty() {
        let each = others.iter().map(|name| format!("'{name}'"));
        parts.push(format!("no temperatures: {}", listed(each.collect())));
    }
    (!parts.is_empty()).then(|| format!("columns left out: {}", parts.join("; ")))
}
