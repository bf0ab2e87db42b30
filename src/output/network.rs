//! JSON of a chamber's network: what a person needs to rebuild its equations elsewhere.

use serde::Serialize;

use super::json::SCHEMA;
use super::words::{iso, moment};
use crate::chamber::description::Description;
use crate::run::Run;

/// How what a file says of its laws, near the top, begins: any edition's file is known by it.
pub const LAWS: &str = "each link names its law";
/// What comes after it.
const WHERE: &str =
    "what the laws say stands in docs/network.md, what may stand here in docs/network.schema.json";

/// What stands at the top of the file.
#[derive(Serialize)]
struct Document<'a> {
    schema: u32,
    run: &'a str,
    machine: &'a str,
    material: &'a str,
    start: String,
    laws: String,
    #[serde(flatten)]
    description: &'a Description,
}

/// The network of a run, one JSON object.
///
/// # Errors
/// When the JSON writer fails, which it does only for lack of memory.
pub fn network(run: &Run, description: &Description) -> Result<Vec<u8>, serde_json::Error> {
    let document = Document {
        schema: SCHEMA,
        run: &run.name,
        machine: &run.machine.name,
        material: &run.material.name,
        start: iso(moment(run.start, 0.0)),
        laws: format!("{LAWS}; {WHERE}"),
        description,
    };
    let mut bytes = serde_json::to_vec_pretty(&document)?;
    bytes.push(b'\n');
    Ok(bytes)
}
