//! A run's machine as a file of the catalogue.

use super::inputs::{Input, Inputs};
use crate::keys::fields::machine::MACHINE;
use crate::keys::section::{Data, Origin, Section, Value};
use crate::keys::write;
use std::sync::Arc;

/// A value that is known better than its key says.
#[derive(Debug, Clone)]
pub struct Known {
    /// Which.
    pub input: Input,
    /// Its value, in SI.
    pub si: f64,
    /// To within how much it is known, in SI.
    pub within: f64,
    /// How it hangs together with each of the others in their order, itself included: correlations.
    pub together: Vec<f64>,
}

impl Inputs {
    /// The machine of these inputs as a file of the catalogue: what the catalogue and the run file say of it, the
    /// coefficients that were set, and over all of them what is known now. Values that are not the machine's stay
    /// out.
    #[must_use]
    pub fn machine_file(&self, known: &[Known], notes: &str) -> String {
        let mut inputs = self.clone();
        for k in known {
            let key = k.input.field().key;
            let Some(table) = inputs.table_mut(&k.input) else {
                continue;
            };
            let mark = table.entries.get(key).and_then(|value| value.mark.clone());
            let value = Value {
                data: Data::Number(k.si),
                mark,
                origin: Origin::Typed,
                within: Some(k.within),
            };
            table.entries.insert(key, value);
        }
        let take = |key: &str| inputs.root.section(key).cloned().unwrap_or_default();
        let (mut machine, coefficients) = (take("machine"), take("coefficients"));
        let text = |text: String| value(Data::Text(text));
        let title = machine.text("title").unwrap_or("a machine of your own");
        if !title.ends_with(", calibrated") {
            let title = format!("{title}, calibrated");
            machine.entries.insert("title", text(title));
        }
        machine.entries.insert("notes", text(notes.to_owned()));
        machine.entries.remove("correlation");
        let together = correlations(known);
        if !together.is_empty() {
            let together = value(Data::List(together));
            machine.entries.insert("correlation", together);
        }
        let is_set = |value: &Value| value.origin != Origin::Default;
        if coefficients.entries.values().any(is_set) {
            let data = Data::Section(Arc::new(coefficients));
            machine.entries.insert("coefficients", value(data));
        }
        written(&machine)
    }
}

/// Every pair once. Those that hang together by less than a hundredth don't.
fn correlations(known: &[Known]) -> Vec<Section> {
    let mut found = Vec::new();
    for (k, one) in known.iter().enumerate() {
        for (other, is) in known.iter().zip(&one.together).skip(k + 1) {
            let is = (is * 1e3).round() / 1e3;
            if is.abs() < 0.01 {
                continue;
            }
            let mut pair = Section::default();
            let text = |key: &str| value(Data::Text(key.to_owned()));
            pair.entries.insert("of", text(one.input.key()));
            pair.entries.insert("with", text(other.input.key()));
            pair.entries.insert("is", value(Data::Number(is)));
            found.push(pair);
        }
    }
    found
}

fn written(machine: &Section) -> String {
    let mut out = String::new();
    write::table(machine, "", &MACHINE, &mut out);
    out
}

const fn value(data: Data) -> Value {
    Value {
        data,
        mark: None,
        origin: Origin::Typed,
        within: None,
    }
}
