//! `dogdays catalogue`.

use std::path::Path;

use super::common::{Failure, ModelOptions, Outcome, print, print_file};
use super::terminal;
use crate::answer::catalogue::entries_of;
use crate::catalogue::Entry;
use crate::output::catalogue as text;

/// Options of `catalogue`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays catalogue                    everything there is, by kind
  dogdays catalogue pla                one entry: values, meaning, sources
  dogdays catalogue bench-60 --file    its file, to copy and change

Your own machines, materials and so on are files of the same form, in folders machines/,
materials/, panels/ and fans/ of a folder my-models, which is found beside the run file (here:
in the current folder), named there with models = \"...\" under [run], or given with --models.
A file with the name of an entry replaces it.")]
pub struct CatalogueOptions {
    /// Show this entry instead of the list.
    #[arg(value_name = "NAME")]
    name: Option<String>,
    /// Print the entry's file as it stands, comments and all.
    #[arg(long, requires = "name", conflicts_with = "json")]
    file: bool,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    models: ModelOptions,
}

/// Lists the catalogue, or shows one entry.
pub fn run(o: &CatalogueOptions) -> Result<Outcome, Failure> {
    let here = Path::new("");
    let catalogue = if o.file {
        o.models.catalogue_untold(here)?
    } else {
        o.models.catalogue_in(here)?
    };
    let out = match &o.name {
        None if o.json => format!("{:#}\n", text::list_json(&catalogue)),
        None => text::list(&catalogue, terminal::screen()),
        Some(name) => {
            let entries = entries_of(&catalogue, name)?;
            if o.json {
                format!("{:#}\n", text::show_json(&entries))
            } else if o.file {
                print_file(&joined(&entries, |entry| entry.text().to_owned()))?;
                return Ok(Outcome { exit_code: 0 });
            } else {
                joined(&entries, |entry| text::show(entry, terminal::screen()))
            }
        }
    };
    print(&out)?;
    Ok(Outcome { exit_code: 0 })
}

fn joined(entries: &[&Entry], text: impl Fn(&Entry) -> String) -> String {
    entries
        .iter()
        .map(|entry| text(entry))
        .collect::<Vec<_>>()
        .join("\n")
}
