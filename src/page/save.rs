//! "Save as run file": the text that was looked at, under a plain name in the run file's own folder.

use super::refusal::{Refusal, Why};
use super::shop::Shop;
use super::typed::Asked;
use crate::keys::write::quoted;
use crate::output::file::{Identity, Reason, Target, WriteError};
use crate::output::ours::Kind;
use crate::plain::plain;
use crate::runfile::DEMO_WEATHER;
use crate::runfile::edit::{Change, changed};
use crate::runfile::models::Found;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Longest name, bytes: what every file system takes, and a bit for temporary names.
const LONGEST_NAME: usize = 120;
/// What no file may be called on some system.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "conin$", "conout$"];

/// Writes the run file.
///
/// # Errors
/// When the name is no plain name of a run file, something is there that must stay, or the values are no run.
pub fn save(shop: &Shop, asked: &Asked) -> Result<Value, Refusal> {
    let name = plain_name(&asked.file)
        .map_err(|what| Refusal::values(format!("{:?}: {what}", shortened(&asked.file))))?;
    let folder = shop.original.folder().unwrap_or_else(|| Path::new(""));
    let path = folder.join(name);
    let looked = shop.look(&asked.values)?;
    let mut changes = Vec::new();
    let mut weather = None;
    if shop.original.folder().is_none() {
        // The demo's weather came with the program; its run file names a file, which so must be there.
        let beside = format!("{}-weather.csv", name.trim_end_matches(".toml"));
        changes.push(Change::Set("room.series".to_owned(), quoted(&beside)));
        weather = Some(folder.join(beside));
    }
    if let Some(used) = shop
        .original
        .loaded()
        .models
        .as_ref()
        .filter(|used| used.found == Found::Option)
    {
        let folder = std::path::absolute(&used.folder).unwrap_or_else(|_| used.folder.clone());
        let folder = quoted(&folder.display().to_string());
        changes.push(Change::Set("run.models".to_owned(), folder));
    }
    let text = changed(&looked.text, "the page", &changes)?;
    let text = commented(&text, shop.original.name(), asked);
    let run_file = target(shop, &path, asked.replace)?;
    if let Some(weather) = &weather {
        write(&target(shop, weather, asked.replace)?, DEMO_WEATHER)?;
    }
    write(&run_file, &text)?;
    let shown = plain(&path.display().to_string()).into_owned();
    Ok(json!({ "n": asked.n, "saved": shown, "next": format!("dogdays check {shown}") }))
}

fn write(target: &Target, text: &str) -> Result<(), Refusal> {
    target
        .write(|to| to.write_all(text.as_bytes()))
        .map_err(|e| refusal(&e))
}

/// Where a file goes; never over what the run is read from, nor through a link.
fn target(shop: &Shop, path: &Path, replace: bool) -> Result<Target, Refusal> {
    let shown = plain(&path.display().to_string()).into_owned();
    let is_link = path
        .symlink_metadata()
        .is_ok_and(|m| m.file_type().is_symlink());
    if is_link {
        return Err(Refusal::values(format!(
            "{shown} is a link to another place; choose another name"
        )));
    }
    let is_there = path.exists();
    let is_input = |input: &PathBuf| {
        Identity::of(input).is_some() && Identity::of(input) == Identity::of(path)
    };
    if is_there && shop.original.loaded().files.iter().any(is_input) {
        return Err(Refusal::values(format!(
            "this run is read from {shown}; choose another name"
        )));
    }
    if is_there && !path.is_file() {
        return Err(Refusal::values(format!(
            "{shown} is no file; choose another name"
        )));
    }
    Target::look(path, Kind::RunFile, replace).map_err(|e| refusal(&e))
}

fn refusal(e: &WriteError) -> Refusal {
    match &e.reason {
        Reason::Exists => {
            let path = plain(&e.path.display().to_string()).into_owned();
            Refusal::new(
                Why::Exists,
                format!("{path} is there already; choose another name, or tick “replace it”"),
            )
        }
        _ => Refusal::values(e.to_string()),
    }
}

/// So much of a name as one wants to read in a message.
fn shortened(name: &str) -> String {
    const MOST: usize = 60;
    match name.chars().count() {
        count if count > MOST => name.chars().take(MOST).chain(['…']).collect(),
        _ => name.to_owned(),
    }
}

/// A name that stands for a file in the folder, on whatever system.
fn plain_name(name: &str) -> Result<&str, &'static str> {
    let separates = |c: char| {
        matches!(c, '/' | '\\' | ':' | '<' | '>' | '"' | '|' | '?' | '*') || c.is_control()
    };
    if name.contains(separates) || name.contains("..") || plain(name) != name {
        return Err(
            "only a plain file name can be given here, without a folder: the file goes beside the run file",
        );
    }
    let Some(stem) = name.strip_suffix(".toml") else {
        return Err("a run file's name ends in .toml, for example \"my.toml\"");
    };
    if name.len() > LONGEST_NAME {
        return Err("this name is too long");
    }
    if stem.is_empty()
        || name.starts_with('.')
        || stem.ends_with(['.', ' '])
        || name.starts_with([' ', '-'])
    {
        return Err("a name begins with a letter or digit and has some before .toml");
    }
    let first = stem
        .split('.')
        .next()
        .unwrap_or(stem)
        .trim_end()
        .to_lowercase();
    let numbered = |word: &str| {
        let rest = first.strip_prefix(word);
        rest.is_some_and(|rest| rest.chars().count() == 1 && rest.chars().all(char::is_numeric))
    };
    if DEVICES.contains(&first.as_str()) || numbered("com") || numbered("lpt") {
        return Err("some systems keep this name for a device; choose another");
    }
    Ok(name)
}

/// The text with a line that says where it comes from; what editors want to see first stays first.
fn commented(text: &str, from: &str, asked: &Asked) -> String {
    let keys: Vec<&str> = asked.values.keys().map(String::as_str).collect();
    let what = if keys.is_empty() {
        "as it is".to_owned()
    } else {
        format!("with {} set", keys.join(", "))
    };
    let line = format!("# Saved from the live page: {} {what}.\n", plain(from));
    match text.split_once('\n') {
        Some((first, rest)) if first.starts_with("#:") => format!("{first}\n{line}{rest}"),
        _ => line + text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_names_are_taken() {
        for name in [
            "my.toml",
            "Tuesday 2.toml",
            "Gehäuse-ü.toml",
            "a.b.toml",
            "部品.toml",
        ] {
            assert_eq!(plain_name(name), Ok(name));
        }
        for name in [
            "",
            ".toml",
            "my",
            "my.TOML",
            "my.csv",
            "../x.toml",
            "/etc/x.toml",
            "a\\b.toml",
            ".hidden.toml",
            "con.toml",
            "CON.toml",
            "con.x.toml",
            "com1.toml",
            "LPT9.toml",
            "COM¹.toml",
            "nul .toml",
            "x.toml/../../y.toml",
            "a..b.toml",
            "c:x.toml",
            "x.toml\n",
            "a\u{0}b.toml",
            "a\u{202e}b.toml",
            "x .toml",
            "x..toml",
            "-x.toml",
            "my.toml ",
            "a\tb.toml",
            "a*.toml",
        ] {
            assert!(plain_name(name).is_err(), "{name:?}");
        }
        assert!(plain_name(&format!("{}.toml", "a".repeat(300))).is_err());
    }

    #[test]
    fn the_schema_line_stays_first() {
        let asked = Asked::default();
        let text = commented("#:schema ./s.json\n[run]\n", "a.toml", &asked);
        assert_eq!(
            text,
            "#:schema ./s.json\n# Saved from the live page: a.toml as it is.\n[run]\n"
        );
        let text = commented("[run]\n", "a\nb.toml", &asked);
        assert!(
            text.starts_with("# Saved from the live page: a b.toml"),
            "{text}"
        );
    }
}
