//! `dogdays explain`.

use super::common::{Failure, Outcome, print};
use super::terminal;
use crate::keys::reference::{Found, find};
use crate::output::keys;

/// Options of `explain`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays explain                      the tables of a run file
  dogdays explain machine.bed          one table: every key, its values, an example
  dogdays explain bed                  the keys of that name, wherever they stand
  dogdays explain thermostat           whatever has to do with a word")]
pub struct ExplainOptions {
    /// A key, a table, a part of a name, or a word.
    #[arg(value_name = "KEY")]
    key: Vec<String>,
    /// One JSON object on standard output and nothing else.
    #[arg(long)]
    json: bool,
    /// The whole reference as a page in Markdown.
    #[arg(long, conflicts_with_all = ["json", "key"])]
    page: bool,
}

/// Says what keys mean.
pub fn run(o: &ExplainOptions) -> Result<Outcome, Failure> {
    let screen = terminal::screen();
    let asked = o.key.join(" ");
    let out = if o.page {
        keys::page()
    } else if asked.trim().is_empty() {
        if o.json {
            format!("{:#}\n", keys::json_of_all())
        } else {
            keys::overview(screen)
        }
    } else {
        let found = find(&asked);
        if let Found::Nothing(near) = &found {
            let help = near.clone().unwrap_or_else(|| {
                "`dogdays explain` lists the tables, and `dogdays explain --page` every key"
                    .to_owned()
            });
            return Err(Failure::Usage(format!(
                "no key has to do with \"{asked}\"; {help}"
            )));
        }
        if o.json {
            format!("{:#}\n", keys::json(&found))
        } else {
            keys::text(&found, screen)
        }
    };
    print(&out)?;
    Ok(Outcome { exit_code: 0 })
}
