//! What a text is written on: so many columns, and in the reader's units.

use super::prose::{columns, wrap};
use crate::quantity::System;

/// The screen of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    /// Columns; texts hold widths from [`Screen::NARROWEST`] up.
    pub width: usize,
    /// Units.
    pub system: System,
}

impl Default for Screen {
    fn default() -> Self {
        Self::new(Self::USUAL, System::Si)
    }
}

impl Screen {
    /// Columns where nothing says how many there are.
    pub const USUAL: usize = 80;
    /// Narrower screens are written as if they had this many columns.
    pub const NARROWEST: usize = 40;
    /// Longer lines are hard to read.
    pub const WIDEST: usize = 100;

    /// A screen of about so many columns.
    #[must_use]
    pub fn new(width: usize, system: System) -> Self {
        Self {
            width: width.clamp(Self::NARROWEST, Self::WIDEST),
            system,
        }
    }

    /// Writes a paragraph.
    pub fn paragraph(self, o: &mut String, text: &str) {
        self.hanging(o, "", "", text);
    }

    /// Writes a point of a list.
    pub fn bullet(self, o: &mut String, text: &str) {
        self.hanging(o, "  - ", "    ", text);
    }

    /// Writes a text behind a name of up to 12 letters.
    pub fn entry(self, o: &mut String, name: &str, text: &str) {
        self.hanging(o, &format!("{name:<13}"), &" ".repeat(13), text);
    }

    /// Writes a text whose first line begins with one thing and the others with another.
    pub fn hanging(self, o: &mut String, first: &str, others: &str, text: &str) {
        let indent = columns(first).max(columns(others));
        let width = self.width.saturating_sub(indent);
        for (k, line) in wrap(text, width).iter().enumerate() {
            let begin = if k == 0 { first } else { others };
            o.push_str(format!("{begin}{line}").trim_end());
            o.push('\n');
        }
    }
}
