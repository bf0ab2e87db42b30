//! Columns that say what the machine did: whether its fan ran, whether its lid or door stood open.

use super::no_value::is_no_value;
use super::places::words_of;
use crate::keys::problem::Problem;
use crate::quantity::{format_count, format_duration, trimmed};
use crate::run::{Run, Switch, Switched};
use crate::table::{Decimals, Line, Mistakes};

mod joined;

use joined::Changes;

/// What a fan is called in headers.
const FANS: [&[&str]; 7] = [
    &["fan"],
    &["chamber", "fan"],
    &["extraction"],
    &["extraction", "fan"],
    &["extractor"],
    &["exhaust"],
    &["exhaust", "fan"],
];
/// Words beside them that say how it is told.
const OF_FANS: [&str; 13] = [
    "on", "state", "status", "running", "active", "rpm", "speed", "%", "percent", "pwm", "duty",
    "switch", "is",
];
/// The same of lids and doors.
const OF_SIDES: [&str; 9] = [
    "open", "opened", "closed", "shut", "state", "status", "switch", "contact", "is",
];
/// A fan at more than this share of its largest value is on.
const ON: f64 = 0.5;

/// What a column tells, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Meant {
    pub what: Switch,
    /// Of a lid or a door: whether yes is closed.
    yes_is_closed: bool,
    /// Whether the header says what yes is.
    is_said: bool,
    is_rpm: bool,
}

impl Meant {
    /// What a header, or somebody's words for a column, tell; none if it is no switch.
    pub fn of(words: &str) -> Option<Self> {
        let all = spelled(words);
        let has = |word: &str| all.iter().any(|other| other == word);
        // "on/off" and "open/closed" say nothing but that there are two.
        let is_pair = has("on") && has("off") || has("open") && (has("closed") || has("shut"));
        let without = |others: &[&str]| -> Vec<&str> {
            let is_left =
                |word: &&str| !(others.contains(word) || is_pair && matches!(*word, "on" | "off"));
            all.iter().map(String::as_str).filter(is_left).collect()
        };
        let what = if FANS.iter().any(|fan| without(&OF_FANS) == *fan) {
            Switch::Fan
        } else {
            match without(&OF_SIDES)[..] {
                ["lid"] | ["lid", "off"] => Switch::Lid,
                ["door"] => Switch::Door,
                _ => return None,
            }
        };
        let closed = has("closed") || has("shut");
        Some(Self {
            what,
            yes_is_closed: closed && !is_pair,
            is_said: closed || has("open") || has("opened") || (has("off") && !is_pair),
            is_rpm: has("rpm"),
        })
    }

    /// The same of a column of that header.
    pub fn under(self, header: &str) -> Self {
        let of_header = Self::of(header).filter(|its| its.what == self.what);
        let is_rpm = self.is_rpm || spelled(header).iter().any(|word| word == "rpm");
        let mut meant = of_header.filter(|_| !self.is_said).unwrap_or(self);
        meant.is_rpm = is_rpm;
        meant
    }

    pub const fn name(self) -> &'static str {
        match self.what {
            Switch::Fan => "fan",
            Switch::Lid => "lid",
            Switch::Door => "door",
        }
    }

    /// What a cell shows; none if that is neither on nor off.
    fn shows(self, text: &str, decimals: Decimals) -> Option<Shown> {
        let word = text.to_lowercase();
        let is_fan = self.what == Switch::Fan;
        let yes = |yes: bool| Some(Shown::Word(yes != self.yes_is_closed));
        match word.as_str() {
            "open" | "opened" if !is_fan => return Some(Shown::Word(true)),
            "closed" | "shut" if !is_fan => return Some(Shown::Word(false)),
            "running" if is_fan => return Some(Shown::Word(true)),
            "stopped" if is_fan => return Some(Shown::Word(false)),
            // A lid that is off is open, a switch that is off says that it is not.
            "on" | "off" if self.what == Switch::Lid && !self.is_said => return None,
            "yes" | "true" | "on" => return yes(true),
            "no" | "false" | "off" => return yes(false),
            _ => {}
        }
        let number = word.trim_end_matches('%').trim_end_matches("rpm").trim();
        let number = decimals.number(number, "").ok().filter(|n| *n >= 0.0)?;
        match number {
            number if is_fan => Some(Shown::Number(number)),
            0.0 => yes(false),
            1.0 => yes(true),
            _ => None,
        }
    }
}

/// The words of a header, signs of percent by themselves.
fn spelled(header: &str) -> Vec<String> {
    words_of(&header.replace('%', " % "))
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Shown {
    /// Whether it is on or open.
    Word(bool),
    /// How fast it runs.
    Number(f64),
}

/// A column that says what the machine did.
#[derive(Debug)]
pub(super) struct SwitchColumn {
    pub at: usize,
    pub header: String,
    pub meant: Meant,
    /// (s from the start of the run, what is shown).
    rows: Vec<(f64, Shown)>,
}

impl SwitchColumn {
    pub const fn new(at: usize, header: String, meant: Meant) -> Self {
        Self {
            at,
            header,
            meant,
            rows: Vec::new(),
        }
    }

    /// Reads its cell of a row; one without a value is left out.
    pub fn read(
        &mut self,
        line: &Line<'_>,
        decimals: Decimals,
        at_s: Option<f64>,
        mistakes: &mut Mistakes,
    ) {
        let text = line.cell(self.at).unwrap_or_default();
        match self.meant.shows(text, decimals) {
            Some(shown) => self.rows.extend(at_s.map(|at_s| (at_s, shown))),
            None if is_no_value(text) => {}
            None => mistakes.add("values that are neither on nor off", || {
                let (message, help) = self.unclear(text);
                line.problem(self.at, message).help(help)
            }),
        }
    }

    fn unclear(&self, text: &str) -> (String, String) {
        let (name, header) = (self.meant.name(), &self.header);
        let out = format!("to leave the column out, --column \"{header} = nothing\"");
        let word = text.to_lowercase();
        match self.meant.what {
            Switch::Lid if word == "on" || word == "off" => (
                format!(
                    "\"{text}\" may be said of the lid, or of a switch: is it open when it is off?"
                ),
                format!("write open or closed; or 1 and 0, for open and closed; {out}"),
            ),
            Switch::Lid | Switch::Door => (
                format!("\"{text}\" says neither that the {name} is open nor that it is closed"),
                format!("write open or closed, yes or no, true or false, 1 or 0; {out}"),
            ),
            Switch::Fan => (
                format!("\"{text}\" says neither that the fan is on nor that it is off"),
                format!(
                    "write on or off, yes or no, true or false, 1 or 0, or how fast it runs in percent or rpm; {out}"
                ),
            ),
        }
    }

    /// What was done by it during a run, and a line about it. A change is taken so much before the row that shows it, s,
    /// but no more than half-way to the row before. None where it says nothing of the run.
    pub fn switched(&self, run: &Run, before_s: f64) -> (Option<Switched>, String) {
        let what = if self.meant.what == Switch::Fan {
            "on/off"
        } else {
            "open/closed"
        };
        let begun = format!("{} {what} in column '{}'", self.meant.name(), self.header);
        let (from_s, to_s) = match (self.rows.first(), self.rows.last()) {
            (Some(first), Some(last)) => (first.0.max(0.0), last.0.min(run.duration_s)),
            _ => (0.0, 0.0),
        };
        if to_s <= from_s {
            return (None, format!("{begun}: nothing during the run"));
        }
        let (changes, half_of) = self.changes(before_s);
        let (joined, apart_s) = changes.joined();
        let switched = Switched {
            what: self.meant.what,
            from_s,
            to_s,
            on_s: joined.on_s((from_s, to_s)),
        };
        let mut told = format!("{begun}: {}", self.in_words(&switched));
        if let Some(largest) = half_of {
            told.push_str(&format!(
                ", on where it is above half of its largest value, {}",
                trimmed(largest)
            ));
        }
        if joined.at_s.len() < changes.at_s.len() {
            told.push_str(&format!(
                ", of {} changes those within {} of each other joined",
                format_count(changes.at_s.len()),
                format_duration(apart_s)
            ));
        }
        if run.as_switched(std::slice::from_ref(&switched)).schedule == run.schedule {
            told.push_str(", as in the run file");
        }
        (Some(switched), told)
    }

    fn in_words(&self, switched: &Switched) -> String {
        let (yes, no) = match self.meant.what {
            Switch::Fan => ("on", "off"),
            Switch::Lid | Switch::Door => ("open", "closed"),
        };
        match (switched.on_s.len(), switched.changes()) {
            (0, _) => format!("{no} throughout"),
            (_, 0) => format!("{yes} throughout"),
            (times, changes) => format!(
                "{yes} {}, {} in all, {changes} change{}",
                if times == 1 {
                    "once".to_owned()
                } else {
                    format!("{} times", format_count(times))
                },
                format_duration(switched.lasts_s()),
                if changes == 1 { "" } else { "s" }
            ),
        }
    }

    /// When it changes; and the largest value where half of it decides.
    fn changes(&self, before_s: f64) -> (Changes, Option<f64>) {
        let numbers = || {
            self.rows.iter().filter_map(|(_, shown)| match shown {
                Shown::Number(number) => Some(*number),
                Shown::Word(_) => None,
            })
        };
        let largest = numbers().fold(0.0, f64::max);
        let is_two = numbers().all(|number| number == 0.0 || number == 1.0);
        let least = if self.meant.is_rpm || is_two {
            0.0
        } else {
            ON * largest
        };
        let is_on = |shown: Shown| match shown {
            Shown::Word(is_on) => is_on,
            Shown::Number(number) => number > least,
        };
        let begins_on = self.rows.first().is_some_and(|row| is_on(row.1));
        let pairs = self.rows.windows(2);
        let changes = pairs.filter(|pair| is_on(pair[0].1) != is_on(pair[1].1));
        let at_s = changes.map(|pair| pair[1].0 - before_s.min(0.5 * (pair[1].0 - pair[0].0)));
        let of_all = (
            self.rows.first().map_or(0.0, |row| row.0),
            self.rows.last().map_or(0.0, |row| row.0),
        );
        let changes = Changes {
            of_all,
            begins_on,
            at_s: at_s.collect(),
        };
        (changes, (least > 0.0).then_some(largest))
    }
}

/// What columns say was done, a line about each, and an error where a fan ran of which the run file knows nothing.
pub(super) fn done(
    columns: &[SwitchColumn],
    run: &Run,
    before_s: f64,
    at_header: &dyn Fn(usize, String) -> Problem,
    mistakes: &mut Mistakes,
) -> (Vec<Switched>, Vec<String>) {
    let (mut all, mut lines) = (Vec::new(), Vec::new());
    for column in columns {
        let (switched, told) = column.switched(run, before_s);
        lines.push(told);
        let Some(switched) = switched else { continue };
        if switched.what == Switch::Fan && !switched.on_s.is_empty() && run.fan().is_none() {
            let message = format!(
                "the fan in column '{}' is on, but the run file has no fan",
                column.header
            );
            mistakes.push(at_header(column.at, message).help(format!(
                "say under [arrangement] what it does and how much it moves, such as kind = \"extracting\" and flow = \"40 m3/h\" (arrangement.flow); if it is another fan, leave the column out: --column \"{} = nothing\"",
                column.header
            )));
        }
        all.push(switched);
    }
    (all, lines)
}

/// Whether lid and door stand open at the same time.
pub(super) fn are_both_open(all: &[Switched]) -> bool {
    let of = |what| {
        all.iter()
            .filter(move |s| s.what == what)
            .flat_map(|s| &s.on_s)
    };
    of(Switch::Lid).any(|lid| of(Switch::Door).any(|door| lid.0 < door.1 && door.0 < lid.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(header: &str, text: &str) -> Option<bool> {
        let meant = Meant::of(header).expect(header);
        match meant.shows(text, Decimals::Point)? {
            Shown::Word(is_on) => Some(is_on),
            Shown::Number(number) => Some(number > 0.0),
        }
    }

    #[test]
    fn headers_name_switches_and_other_fans_and_temperatures_are_none() {
        for (header, what) in [
            ("fan", Switch::Fan),
            ("Fan on/off", Switch::Fan),
            ("fan_rpm", Switch::Fan),
            ("Extraction (%)", Switch::Fan),
            ("chamber fan %", Switch::Fan),
            ("exhaustFan", Switch::Fan),
            ("lid", Switch::Lid),
            ("Lid open", Switch::Lid),
            ("lid_off", Switch::Lid),
            ("lid (open/closed)", Switch::Lid),
            ("DoorOpen", Switch::Door),
            ("door contact", Switch::Door),
        ] {
            let meant = Meant::of(header);
            assert_eq!(meant.map(|m| m.what), Some(what), "{header}");
        }
        for header in [
            "part fan",
            "hotend fan",
            "fan off",
            "lid inside",
            "lid on",
            "fan V",
            "T1",
            "bed %",
            "door fan",
            "",
        ] {
            assert_eq!(Meant::of(header), None, "{header}");
        }
    }

    #[test]
    fn cells_are_on_or_off_and_what_may_be_either_is_neither() {
        for (header, text, want) in [
            ("fan", "ON", Some(true)),
            ("fan", "0", Some(false)),
            ("fan", "55 %", Some(true)),
            ("fan rpm", "1200rpm", Some(true)),
            ("fan", "-1", None),
            ("fan", "auto", None),
            ("fan", "open", None),
            ("lid", "open", Some(true)),
            ("lid", "1", Some(true)),
            ("lid", "0.5", None),
            // A lid that is off is open; a switch that is off is not.
            ("lid", "off", None),
            ("lid_open", "off", Some(false)),
            ("lid_off", "yes", Some(true)),
            ("lid closed", "1", Some(false)),
            ("lid closed", "closed", Some(false)),
            ("door", "on", Some(true)),
            ("door shut", "no", Some(true)),
            ("door (open/closed)", "1", Some(true)),
        ] {
            assert_eq!(shown(header, text), want, "{header}: {text}");
        }
    }
}
