//! The front end's files, embedded, under a folder that is named by what they hold: a browser may keep them for ever.

use crate::output::sheet::frame::LETTERS;
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::sync::OnceLock;

/// A file of the front end.
#[derive(Debug, Clone, Copy)]
pub struct Asset {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub content_type: &'static str,
    /// What it holds.
    pub bytes: &'static [u8],
}

const CSS: &str = "text/css; charset=utf-8";
const JS: &str = "text/javascript; charset=utf-8";
const TTF: &str = "font/ttf";

macro_rules! asset {
    ($name:literal, $type:expr) => {
        Asset {
            name: $name,
            content_type: $type,
            bytes: include_bytes!(concat!("front-end/", $name)),
        }
    };
}

/// All of them; styles in the order in which they are linked.
pub const ASSETS: &[Asset] = &[
    asset!("tokens.css", CSS),
    asset!("general.css", CSS),
    asset!("sheet.css", CSS),
    asset!("controls.css", CSS),
    asset!("print.css", CSS),
    asset!("main.js", JS),
    asset!("asking.js", JS),
    asset!("controls.js", JS),
    asset!("morph.js", JS),
    asset!("state.js", JS),
    asset!("tabs.js", JS),
    Asset {
        name: "letters-400.ttf",
        content_type: TTF,
        bytes: LETTERS[0],
    },
    Asset {
        name: "letters-600.ttf",
        content_type: TTF,
        bytes: LETTERS[1],
    },
];

/// The name of their folder: eight hexadecimal digits of their SHA-256.
pub fn folder() -> &'static str {
    static FOLDER: OnceLock<String> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let mut all = Sha256::new();
        for asset in ASSETS {
            all.update(asset.name.as_bytes());
            all.update(asset.bytes);
        }
        all.finalize()
            .iter()
            .take(4)
            .fold(String::new(), |mut hex, byte| {
                // Writing to a string cannot fail.
                let _ = write!(hex, "{byte:02x}");
                hex
            })
    })
}

/// The file of that name in that folder.
pub fn find(in_folder: &str, name: &str) -> Option<&'static Asset> {
    let mut all = ASSETS.iter();
    all.find(|asset| in_folder == folder() && asset.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A module that is imported but not embedded would only be missed in a browser.
    #[test]
    fn everything_that_is_imported_is_embedded() {
        for asset in ASSETS.iter().filter(|a| a.content_type == JS) {
            let text = std::str::from_utf8(asset.bytes).unwrap();
            for line in text.lines().filter(|line| line.contains(" from \"")) {
                let name = line
                    .split(" from \"./")
                    .nth(1)
                    .and_then(|rest| rest.split('"').next());
                let name = name.unwrap_or_else(|| panic!("{}: {line}", asset.name));
                assert!(find(folder(), name).is_some(), "{}: {name}", asset.name);
            }
        }
    }

    #[test]
    fn the_folder_is_eight_digits_and_no_other_is_answered() {
        assert!(folder().len() == 8 && folder().chars().all(|c| c.is_ascii_hexdigit()));
        assert!(find("00000000", "main.js").is_none());
        assert!(find(folder(), "../main.js").is_none());
    }

    /// What is fetched from elsewhere would fail offline, and tell others who looks.
    #[test]
    fn nothing_comes_from_elsewhere() {
        for asset in ASSETS.iter().filter(|a| a.content_type != TTF) {
            let text = std::str::from_utf8(asset.bytes).unwrap();
            assert!(
                !text.contains("//cdn") && !text.contains("https://"),
                "{}",
                asset.name
            );
        }
    }

    /// The colour of a token in a block, as relative luminance (WCAG 2.2, its definition).
    fn luminance(block: &str, token: &str) -> f64 {
        let hex = block
            .split(&format!("--{token}: #"))
            .nth(1)
            .unwrap_or_else(|| panic!("{token}"));
        let linear = |at: usize| {
            let share = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
            if share <= 0.04045 {
                share / 12.92
            } else {
                ((share + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(0) + 0.7152 * linear(2) + 0.0722 * linear(4)
    }

    /// WCAG 2.2 asks 4.5 of text (1.4.3) and 3 of what shows where a control is (1.4.11).
    #[test]
    fn colours_stand_out_of_the_paper_by_day_and_by_night() {
        let tokens = find(folder(), "tokens.css").unwrap().bytes;
        let (light, dark) = std::str::from_utf8(tokens)
            .unwrap()
            .split_once("@media")
            .unwrap();
        for block in [light, dark] {
            let contrast = |one: &str, other: &str| {
                let (a, b) = (luminance(block, one) + 0.05, luminance(block, other) + 0.05);
                a.max(b) / a.min(b)
            };
            for ground in ["paper", "desk", "stale"] {
                for token in ["ink", "quiet", "accent", "holds", "tight", "softens"] {
                    assert!(contrast(token, ground) >= 4.5, "{token} on {ground}");
                }
            }
            assert!(contrast("on-accent", "accent") >= 4.5);
            assert!(contrast("rule", "paper") >= 3.0);
        }
    }
}
