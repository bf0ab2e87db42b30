//! How sure a result is, in words and numbers.

use serde_json::{Value, json};

use super::json_number::{degC, rounded};
use crate::quantity::{System, format_count, format_temperature};
use crate::run::Run;
use crate::study::band::{Certainty, Percentiles};
use crate::study::{Findings, Verdict};

/// So many of a hundred: "86 of 100". What is not none is not called so, nor what is not all.
#[must_use]
pub fn of_100(chance: f64) -> String {
    let percent = 100.0 * chance;
    if chance <= 0.0 {
        "none".to_owned()
    } else if chance >= 1.0 {
        "all".to_owned()
    } else if percent < 0.5 {
        "fewer than 1 of 100".to_owned()
    } else if percent >= 99.5 {
        "more than 99 of 100".to_owned()
    } else {
        format!("{percent:.0} of 100")
    }
}

/// The same in a column of numbers.
#[must_use]
pub fn percent(chance: f64) -> String {
    let percent = 100.0 * chance;
    if chance > 0.0 && percent < 0.5 {
        "<1".to_owned()
    } else if chance < 1.0 && percent >= 99.5 {
        ">99".to_owned()
    } else {
        format!("{percent:.0}")
    }
}

/// Whether softening is likelier than the run puts up with, though the best estimate holds.
#[must_use]
pub fn is_doubtful(run: &Run, f: &Findings) -> bool {
    f.outcome.verdict == Verdict::Holds
        && (f.certainty.as_ref()).is_some_and(|c| c.chance_softens() > run.requirements.chance)
}

/// What follows "below its limit" of a run that holds by the best estimate and may well soften; empty otherwise.
#[must_use]
pub fn but(run: &Run, f: &Findings) -> String {
    match &f.certainty {
        Some(c) if is_doubtful(run, f) => {
            format!(", but {} such runs soften", of_100(c.chance_softens()))
        }
        _ => String::new(),
    }
}

/// The sentence after the verdict's; empty where nobody asked how sure it is.
#[must_use]
pub fn sentence(run: &Run, f: &Findings, system: System) -> String {
    let Some(c) = &f.certainty else {
        return String::new();
    };
    let mut text = if f.outcome.verdict == Verdict::CannotRun {
        format!(
            " Of such runs {} can be had.",
            of_100(1.0 - c.chance_cannot_run())
        )
    } else {
        let softens = match is_doubtful(run, f) {
            true => String::new(),
            false => format!(", and {} soften", of_100(c.chance_softens())),
        };
        match c.hottest_K(f.outcome.station) {
            Some(band) => format!(
                " Nine such runs of ten reach {} there{softens}.",
                between(band, system)
            ),
            None => format!(
                " None of {} such runs could be computed.",
                format_count(c.failed.len())
            ),
        }
    };
    if f.outcome.verdict != Verdict::CannotRun && c.chance_cannot_run() > 0.0 {
        let weak = of_100(c.chance_cannot_run());
        text.push_str(&format!(" In {weak} a heater is too weak."));
    }
    if let (Some(why), false) = (c.failed.first(), c.samples.is_empty()) {
        text.push_str(&format!(
            " {} of {} could not be computed and count as softening: {why}.",
            format_count(c.failed.len()),
            format_count(c.failed.len() + c.samples.len())
        ));
    }
    text
}

/// "48.6 °C to 55.2 °C".
fn between(band: Percentiles, system: System) -> String {
    format!(
        "{} to {}",
        format_temperature(band.p05, system),
        format_temperature(band.p95, system)
    )
}

/// How the band came about, for those who want more than a screen.
#[must_use]
pub fn basis(c: &Certainty) -> String {
    format!(
        "{} runs with {} values in doubt drawn within their spreads, seed {}",
        format_count(c.failed.len() + c.samples.len()),
        format_count(c.doubtful),
        c.sampling.seed
    )
}

/// Adds what is known of it to the JSON of a check.
pub fn add_to(object: &mut Value, f: &Findings) {
    let Some(c) = &f.certainty else {
        return;
    };
    let band = c.hottest_K(f.outcome.station);
    for (name, of) in PERCENTILES {
        object["peak"][format!("{name}_degC")] = band.map_or(Value::Null, |p| degC(of(p)));
    }
    let margins = c.margin_K();
    let margins = PERCENTILES.map(|(name, of)| {
        let value = margins.map_or(Value::Null, |p| rounded(of(p), 4));
        (format!("{name}_K"), value)
    });
    object["margin"] = Value::Object(margins.into_iter().collect());
    object["chance_softens"] = rounded(c.chance_softens(), 4);
    object["chance_cannot_run"] = rounded(c.chance_cannot_run(), 4);
    object["samples"] = json!(c.sampling.samples);
    object["seed"] = json!(c.sampling.seed);
    object["samples_failed"] = json!(c.failed.len());
    object["values_in_doubt"] = json!(c.doubtful);
}

type Of = fn(Percentiles) -> f64;

const PERCENTILES: [(&str, Of); 3] = [("p05", |p| p.p05), ("p50", |p| p.p50), ("p95", |p| p.p95)];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_none_is_not_called_none() {
        for (chance, words) in [
            (0.0, "none"),
            (0.002, "fewer than 1 of 100"),
            (0.006, "1 of 100"),
            (0.857, "86 of 100"),
            (0.996, "more than 99 of 100"),
            (1.0, "all"),
        ] {
            assert_eq!(of_100(chance), words);
        }
    }
}
