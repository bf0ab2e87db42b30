//! Columns that say what the bed's heater took: watts, a duty, or on and off.

use super::forms::Form;
use super::no_value::is_no_value;
use super::said::Said;
use crate::keys::problem::Problem;
use crate::quantity::{Quantity, format_count, format_duration};
use crate::run::{LogPower, Run};
use crate::table::{Decimals, Line, Mistakes};

mod windows;

/// A bed's heater that takes this much more than it has, as a share, is another one.
const MORE: f64 = 1.1;

/// A column that says what the bed's heater took.
#[derive(Debug)]
pub(super) struct HeaterColumn {
    pub at: usize,
    pub header: String,
    form: Form,
    within_W: Option<f64>,
    has_words: bool,
    /// (s from the start of the run, what is shown).
    rows: Vec<(f64, f64)>,
}

impl HeaterColumn {
    pub fn new(at: usize, header: String, form: Form, said: Option<&Said>) -> Self {
        Self {
            at,
            header,
            form: said.and_then(|said| said.form).unwrap_or(form),
            within_W: said.and_then(|said| said.within_W),
            has_words: false,
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
        if is_no_value(text) {
            return;
        }
        let word = text.to_lowercase();
        let share = match word.as_str() {
            "on" | "yes" | "true" => Some(1.0),
            "off" | "no" | "false" => Some(0.0),
            _ => None,
        };
        let share = share.filter(|_| matches!(self.form, Form::Duty | Form::Unsaid));
        self.has_words |= share.is_some();
        let number = word.trim_end_matches('w').trim_end_matches('%').trim();
        let number = || decimals.number(number, "").ok().filter(|n| *n >= 0.0);
        match share.or_else(number) {
            Some(shown) => self.rows.extend(at_s.map(|at_s| (at_s, shown))),
            None => mistakes.add("values that are no power", || {
                let message = format!("\"{text}\" does not say what the bed's heater takes");
                line.problem(self.at, message).help(format!(
                    "write watts, a duty in percent or from 0 to 1, or on and off; {}",
                    self.without()
                ))
            }),
        }
    }

    fn without(&self) -> String {
        let header = &self.header;
        format!("to leave the column out, --column \"{header} = nothing\"")
    }

    /// What one of what is shown is in W; none where nobody says what it is.
    fn one_W(&self, most_W: f64) -> Option<f64> {
        let largest = self.rows.iter().map(|row| row.1).fold(0.0, f64::max);
        match self.form {
            Form::Watts => Some(1.0),
            Form::Percent => Some(0.01 * most_W),
            Form::Duty | Form::Unsaid if largest <= 1.0 => Some(most_W),
            Form::Duty if largest <= 100.0 && !self.has_words => Some(0.01 * most_W),
            Form::Duty | Form::Unsaid => None,
        }
    }

    /// Its means during a run, and a line about it.
    fn power(
        &self,
        run: &Run,
        is_sampled: bool,
    ) -> Result<(LogPower, String, Vec<String>), String> {
        let most_W = run.machine.bed.max_power_W;
        let Some(one_W) = self.one_W(most_W) else {
            return Err(format!(
                "the header \"{}\" does not say in what the bed's heater is told",
                self.header
            ));
        };
        let rows = self.rows.iter().map(|(t_s, shown)| (*t_s, one_W * shown));
        let rows: Vec<(f64, f64)> = rows.collect();
        let (means, length_s, left_out) = windows::means(&rows, is_sampled, run);
        let in_what = match self.form {
            Form::Watts => "W".to_owned(),
            _ if one_W < most_W => format!("% of {most_W:.0} W (machine.bed.max_power)"),
            _ => format!("of {most_W:.0} W (machine.bed.max_power)"),
        };
        let told = format!(
            "bed heater in column '{}', {in_what}: {} of {}",
            self.header,
            match means.len() {
                1 => "1 mean".to_owned(),
                count => format!("{} means", format_count(count)),
            },
            format_duration(length_s)
        );
        let mut notes = Vec::new();
        if left_out > 0 {
            notes.push(format!(
                "'{}' (bed heater): {} of {} left out, in which it works fully, the run file has it off, or its setpoint has just changed",
                self.header,
                format_count(left_out),
                format_duration(length_s)
            ));
        }
        let largest_W = rows.iter().map(|row| row.1).fold(0.0, f64::max);
        if largest_W > MORE * most_W {
            notes.push(format!(
                "'{}' (bed heater) shows up to {}, and machine.bed.max_power is {}: is it this heater alone, and in W?",
                self.header,
                Quantity::Power.to_text(largest_W, "W"),
                Quantity::Power.to_text(most_W, "W")
            ));
        }
        let power = LogPower {
            header: self.header.clone(),
            within_W: self.within_W,
            rows: means,
        };
        Ok((power, told, notes))
    }
}

/// What is known of the bed's heater, a line about each column, and what was left out.
pub(super) fn powers(
    columns: &[HeaterColumn],
    run: &Run,
    is_sampled: bool,
    at_header: &dyn Fn(usize, String) -> Problem,
    mistakes: &mut Mistakes,
) -> (Vec<LogPower>, Vec<String>, Vec<String>) {
    let (mut all, mut lines, mut notes) = (Vec::new(), Vec::new(), Vec::new());
    for column in columns {
        match column.power(run, is_sampled) {
            Ok((power, told, left_out)) => {
                lines.push(told);
                notes.extend(left_out);
                if !power.rows.is_empty() {
                    all.push(power);
                }
            }
            Err(message) => mistakes.push(at_header(column.at, message).help(format!(
                "say it: --column \"{0} = bed heater in W\", or in %; or put it at the header's end, such as bed_power_W; {1}",
                column.header,
                column.without()
            ))),
        }
    }
    (all, lines, notes)
}
