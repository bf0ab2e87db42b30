//! The table of fans.

use crate::output::certainty;
use crate::output::columns::{Column, Columns};
use crate::quantity::{System, format_difference, format_pressure};
use crate::study::Verdict;
use crate::study::size_fan::{Candidate, Duty, Lack, STRAINS_PA, Sizing, Standing};

/// What a fan is, in a word or two.
#[must_use]
pub(super) const fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Robust => "robust",
        Standing::Marginal => "marginal",
        Standing::Not(lack) => match lack {
            Lack::FlowsBack => "blown back",
            Lack::NoFlow => "no flow",
            Lack::WarmAir { .. } => "too warm",
            Lack::CannotRun => "can't run",
            Lack::TooStrong => "too strong",
            Lack::TooCool => "too cool",
            Lack::TooWeak => "too weak",
            Lack::Unstable => "unstable",
        },
    }
}

/// What the words of the table mean, those that stand in it.
pub(in crate::output) fn legend(s: &Sizing, most: &str, system: System) -> Vec<String> {
    let mut lines = Vec::new();
    let has = |word: &str| s.candidates.iter().any(|c| standing(c.standing) == word);
    let mut tell = |word: &str, text: String| {
        if has(word) {
            lines.push(format!("{word}: {text}"));
        }
    };
    let robust = match s.chances {
        Some(_) => format!(
            "{most} soften at most, with a loaded filter, leaks, filter, wind and the fan's own curve in doubt"
        ),
        None => "a quarter more flow than is needed, with a loaded filter".to_owned(),
    };
    tell("robust", robust);
    let mut marginal = "enough by the best estimate only".to_owned();
    if s.most_m3_per_s.is_some() {
        marginal.push_str(", or likely to make the chamber too cool with a clean filter");
    }
    let strains = |c: &Candidate| c.standing == Standing::Marginal && c.strains_the_shell();
    if s.candidates.iter().any(strains) {
        let most = format_pressure(STRAINS_PA, system);
        marginal.push_str(&format!(
            ", or it pulls the chamber more than {most} below the room (`machine.vent`)"
        ));
    }
    tell("marginal", marginal);
    tell("too weak", "not enough with a loaded filter".to_owned());
    tell(
        "can't run",
        "at its flow a heater can't hold its setpoint".to_owned(),
    );
    tell(
        "too strong",
        "with a clean filter a heater can't hold its setpoint".to_owned(),
    );
    tell(
        "no flow",
        "it moves hardly any air through this system".to_owned(),
    );
    tell(
        "too cool",
        "with a clean filter the chamber falls below the material's lowest useful temperature"
            .to_owned(),
    );
    tell(
        "too warm",
        format!(
            "it is not made for air so warm, with {} in hand",
            format_difference(5.0, system)
        ),
    );
    tell(
        "unstable",
        "it would be enough, but its flow may hunt and hum".to_owned(),
    );
    tell("blown back", "wind presses air back through it".to_owned());
    lines
}

pub(in crate::output) fn table(s: &Sizing, system: System) -> Columns {
    let names = s.candidates.iter().enumerate().map(|(k, c)| {
        let mark = if s.recommended == Some(k) { '>' } else { ' ' };
        format!("{mark} {}", c.label())
    });
    let each = |text: &dyn Fn(&Candidate) -> String| s.candidates.iter().map(text).collect();
    let number = |value: Option<f64>, decimals: usize| {
        value.map_or("-".to_owned(), |v| format!("{v:.decimals$}"))
    };
    let mut columns = vec![
        Column::numbers(&["power", "W"], 2, each(&|c| number(c.power_W, 1))),
        Column::numbers(&["sound", "dB(A)"], 5, each(&|c| number(c.sound_dBA, 0))),
    ];
    // It has to hold with a loaded filter: that half is the last to go.
    columns.extend(half(s, system, "clean filter", [4, 6, 4], |c| &c.clean));
    columns.extend(half(s, system, "loaded filter", [1, 3, 0], |c| &c.loaded));
    if s.chances.is_some() {
        let chances = each(&|c| match c.loaded.outcome.verdict {
            Verdict::CannotRun => String::new(),
            Verdict::Holds | Verdict::Tight | Verdict::Softens => c
                .chance_softens
                .map_or_else(String::new, certainty::percent),
        });
        let column = Column::numbers(&["soften", "%"], 0, chances);
        columns.push(column.under("loaded filter"));
    }
    let words = each(&|c| standing(c.standing).to_owned());
    columns.push(Column::words(&[""], 0, words));
    Columns {
        head: "Fan".to_owned(),
        names: names.collect(),
        columns,
    }
}

/// Flow, pressure and margin with one state of the filter.
fn half(
    s: &Sizing,
    system: System,
    group: &'static str,
    [flow_rank, pressure_rank, rank]: [u8; 3],
    pick: fn(&Candidate) -> &Duty,
) -> Vec<Column> {
    let cells = |text: &dyn Fn(&Duty) -> String| -> Vec<String> {
        s.candidates.iter().map(|c| text(pick(c))).collect()
    };
    let decimals = match system {
        System::Si => 0,
        System::Us => 3,
    };
    let flow = cells(&|d| format!("{:.1}", system.flow(d.flow_m3_per_s)));
    let pressure = cells(&|d| format!("{:.decimals$}", system.pressure(d.pressure_Pa)));
    let margin = cells(&|d| match d.outcome.verdict {
        // The margin of what can't run means nothing.
        Verdict::CannotRun => "-".to_owned(),
        Verdict::Holds | Verdict::Tight | Verdict::Softens => {
            {
                // What rounds to nothing has no sign.
                let tenths = (10.0 * system.difference(d.outcome.margin_K)).round() / 10.0 + 0.0;
                format!("{tenths:.1}")
            }
        }
    });
    let columns = [
        Column::numbers(&["flow", system.flow_unit()], flow_rank, flow),
        Column::numbers(&["press", system.pressure_unit()], pressure_rank, pressure),
        Column::numbers(&["margin", system.difference_unit()], rank, margin),
    ];
    columns.map(|c| c.under(group)).into()
}
