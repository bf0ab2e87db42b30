//! From turned knobs to changes of the run file's text.

use super::controls::{
    ARRANGEMENT, CHANGE_DOOR, CHANGE_LASTS, CHANGES, FLOW, MOST_CHANGES, SUN, Scale, example,
    is_knob, keys, range, spool_changes, stated,
};
use super::refusal::Refusal;
use super::typed::{Typed, Values};
use crate::keys::problem::nearest;
use crate::keys::write::quoted;
use crate::quantity::{Quantity, System};
use crate::run::FailureKind;
use crate::run::arrangement::has_fan;
use crate::runfile::Loaded;
use crate::runfile::edit::Change;

/// What the knobs change of a run.
///
/// # Errors
/// When there is no such knob, or it takes no such value. What the value's key says of it is looked at when the
/// text is read.
pub fn changes(values: &Values, loaded: &Loaded, system: System) -> Result<Vec<Change>, Refusal> {
    let mut all = Vec::new();
    for (key, typed) in values {
        if !is_knob(key) {
            let near =
                nearest(key, keys()).map_or_else(String::new, |n| format!("; did you mean `{n}`?"));
            return Err(Refusal::values(format!(
                "the page has no control `{key}`{near}"
            )));
        }
        match key.as_str() {
            SUN | CHANGES | CHANGE_LASTS | CHANGE_DOOR => {}
            key => {
                if let Some(change) = single(key, typed, values, loaded, system)? {
                    all.push(change);
                }
            }
        }
    }
    needed_flow(values, loaded, &mut all);
    failures_of_a_fan(values, loaded, &mut all);
    sun(values, loaded, &mut all)?;
    changes_of_spool(values, loaded, system, &mut all)?;
    Ok(all)
}

fn set(key: &str, text: &str) -> Change {
    Change::Set(key.to_owned(), quoted(text))
}

/// The word of a choice, in whatever way it was typed.
fn word<'a>(key: &str, typed: &'a Typed) -> Result<&'a str, Refusal> {
    match typed {
        Typed::Text(text) => Ok(text),
        Typed::Number(_) => Err(Refusal::values(format!(
            "`{key}` takes a word, and no number"
        ))),
    }
}

/// The text of a value in a run file.
fn text(key: &str, typed: &Typed, system: System) -> Result<String, Refusal> {
    match (typed, range(key)) {
        (Typed::Text(text), _) => Ok(text.clone()),
        (Typed::Number(number), Some(range)) => {
            let scale = Scale::new(&range, range.si(range.usual.1), system);
            Ok(scale.text(*number))
        }
        (Typed::Number(_), None) => word(key, typed).map(str::to_owned),
    }
}

/// A knob that turns one key; none where it does nothing in what the other knobs make of the run.
fn single(
    key: &str,
    typed: &Typed,
    values: &Values,
    loaded: &Loaded,
    system: System,
) -> Result<Option<Change>, Refusal> {
    let is_idle = match key {
        FLOW => !has_fan(kind(values, loaded)),
        key if key.starts_with("sun.") => !has_sun(values, loaded)?,
        _ => false,
    };
    let text = text(key, typed, system)?;
    Ok((!is_idle).then(|| set(key, &text)))
}

/// The word of the arrangement.
fn kind<'a>(values: &'a Values, loaded: &'a Loaded) -> &'a str {
    match values.get(ARRANGEMENT) {
        Some(Typed::Text(text)) => text,
        _ => stated(loaded, ARRANGEMENT).unwrap_or_default(),
    }
}

/// A fan needs a flow; where nobody says one, it is that of the key's example.
fn needed_flow(values: &Values, loaded: &Loaded, all: &mut Vec<Change>) {
    let is_said = values.contains_key(FLOW) || stated(loaded, FLOW).is_some();
    if has_fan(kind(values, loaded))
        && !is_said
        && let Some(example) = example(FLOW)
    {
        all.push(set(FLOW, &example));
    }
}

/// A fan that is not there can't fail: what is asked of that is left away, the last first, so that the numbers of the
/// others stay.
fn failures_of_a_fan(values: &Values, loaded: &Loaded, all: &mut Vec<Change>) {
    let scheduled = loaded
        .run
        .schedule
        .iter()
        .any(|s| s.arrangement.kind.has_fan());
    if has_fan(kind(values, loaded)) || scheduled {
        return;
    }
    let failures = loaded.run.failures.iter().enumerate().rev();
    let of_fan = failures.filter(|(_, failure)| failure.kind == FailureKind::FanOff);
    all.extend(of_fan.map(|(k, _)| Change::Drop(format!("failure.{}", k + 1))));
}

fn has_sun(values: &Values, loaded: &Loaded) -> Result<bool, Refusal> {
    let Some(typed) = values.get(SUN) else {
        return Ok(loaded.run.sun.is_some());
    };
    match word(SUN, typed)? {
        "on" => Ok(true),
        "off" => Ok(false),
        other => Err(Refusal::values(format!(
            "`{SUN}` is \"on\" or \"off\", not {other:?}"
        ))),
    }
}

/// Sun where the run has none is that of the keys' examples, apart from what the knobs say.
fn sun(values: &Values, loaded: &Loaded, all: &mut Vec<Change>) -> Result<(), Refusal> {
    match (has_sun(values, loaded)?, loaded.run.sun.is_some()) {
        (true, false) => {
            for key in ["sun.area", "sun.from", "sun.to"] {
                if !values.contains_key(key)
                    && let Some(example) = example(key)
                {
                    all.push(set(key, &example));
                }
            }
        }
        (false, true) => all.push(Change::Drop(SUN.to_owned())),
        _ => {}
    }
    Ok(())
}

fn changes_of_spool(
    values: &Values,
    loaded: &Loaded,
    system: System,
    all: &mut Vec<Change>,
) -> Result<(), Refusal> {
    let there = spool_changes(loaded);
    let number = match values.get(CHANGES) {
        None => there,
        Some(Typed::Number(n)) if n.fract() == 0.0 && (0.0..=MOST_CHANGES as f64).contains(n) => {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "0 to 12"
            )]
            let number = *n as usize;
            number
        }
        Some(_) => {
            return Err(Refusal::values(format!(
                "`{CHANGES}` is a whole number from 0 to {MOST_CHANGES}"
            )));
        }
    };
    let lasts = values
        .get(CHANGE_LASTS)
        .map(|typed| text(CHANGE_LASTS, typed, system))
        .transpose()?;
    let door = values
        .get(CHANGE_DOOR)
        .map(|typed| word(CHANGE_DOOR, typed).map(str::to_owned))
        .transpose()?;
    if number == there {
        for k in 1..=there {
            if let Some(lasts) = &lasts {
                all.push(Change::Drop(format!("job.spool_change.{k}.until")));
                all.push(set(&format!("job.spool_change.{k}.duration"), lasts));
            }
            if let Some(door) = &door {
                all.push(set(&format!("job.spool_change.{k}.door"), door));
            }
        }
        return Ok(());
    }
    let said = |value: Option<String>, key: &str, stated_key: &str| {
        let or_stated = || stated(loaded, stated_key).map(str::to_owned);
        value
            .or_else(or_stated)
            .or_else(|| example(key))
            .unwrap_or_default()
    };
    let lasts = said(lasts, CHANGE_LASTS, "job.spool_change.1.duration");
    let door = said(door, CHANGE_DOOR, "job.spool_change.1.door");
    #[expect(clippy::cast_precision_loss, reason = "a handful")]
    let at = |k: usize| {
        let at_s = loaded.run.duration_s * k as f64 / (number + 1) as f64;
        // To a tenth of an hour: nobody plans a spool to the second.
        Quantity::Time.to_text((at_s / 360.0).round() * 360.0, "h")
    };
    if number == 0 {
        all.push(Change::Drop("job.spool_change".to_owned()));
        return Ok(());
    }
    let each: Vec<String> = (1..=number)
        .map(|k| {
            format!(
                "    {{ at = {}, duration = {}, door = {} }},\n",
                quoted(&at(k)),
                quoted(&lasts),
                quoted(&door)
            )
        })
        .collect();
    all.push(Change::Set(
        "job.spool_change".to_owned(),
        format!("[\n{}]", each.concat()),
    ));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::runfile::demo;

    fn of(pairs: &[(&str, Typed)]) -> Result<Vec<Change>, Refusal> {
        let values = pairs.iter().map(|(k, v)| ((*k).to_owned(), v.clone()));
        changes(&values.collect(), &demo(), System::Si)
    }

    fn word_of(text: &str) -> Typed {
        Typed::Text(text.to_owned())
    }

    #[test]
    fn a_fan_without_a_flow_gets_the_examples() {
        let found = of(&[("arrangement.kind", word_of("extracting"))]).unwrap();
        assert_eq!(
            found,
            [set(ARRANGEMENT, "extracting"), set(FLOW, "40 m3/h")]
        );
        // A flow that was turned while nothing runs waits.
        assert_eq!(of(&[(FLOW, Typed::Number(30.0))]).unwrap(), []);
    }

    #[test]
    fn what_is_no_knob_is_refused_by_name() {
        let told = of(&[("job.bd", Typed::Number(60.0))]).unwrap_err().message;
        assert!(
            told.contains("`job.bd`") && told.contains("`job.bed`"),
            "{told}"
        );
        let told = of(&[("part.mass", word_of("1 kg"))]).unwrap_err().message;
        assert!(told.contains("no control"), "{told}");
        assert!(of(&[(CHANGES, Typed::Number(1.5))]).is_err());
        assert!(of(&[(SUN, word_of("maybe"))]).is_err());
    }

    /// The demo takes 121 h: one change stands at 60.5 h, two at 40.3 and 80.7 h.
    #[test]
    fn spool_changes_are_spread_evenly() {
        let found = of(&[
            (CHANGES, Typed::Number(2.0)),
            (CHANGE_DOOR, word_of("open")),
        ])
        .unwrap();
        let Change::Set(key, text) = &found[0] else {
            panic!("{found:?}");
        };
        assert_eq!(key, "job.spool_change");
        assert!(
            text.contains("\"40.3 h\"") && text.contains("\"80.7 h\""),
            "{text}"
        );
        assert_eq!(text.matches("door = \"open\"").count(), 2, "{text}");
    }

    /// The demo of failures asks what happens if its fan stops: without a fan nothing stops.
    #[test]
    fn a_fan_that_is_not_there_does_not_fail() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/failures.toml");
        let loaded = crate::runfile::load(path.as_ref(), None).unwrap();
        let fan = loaded
            .run
            .failures
            .iter()
            .position(|f| f.kind == FailureKind::FanOff);
        let dropped = Change::Drop(format!("failure.{}", fan.unwrap() + 1));
        let with = |kind: &str| {
            let values = [(ARRANGEMENT.to_owned(), word_of(kind))]
                .into_iter()
                .collect();
            changes(&values, &loaded, System::Si).unwrap()
        };
        assert!(with("closed").contains(&dropped));
        assert!(!with("blowing in").contains(&dropped));
    }
}
