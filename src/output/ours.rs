//! Which files are outputs of this program, so that a new one may take the place of yesterday's.

use super::{compare, network, season, signature, size_fan, table};

/// What is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A table, as CSV.
    Table,
    /// A picture, as SVG or PNG.
    Picture,
    /// A network, as JSON.
    Network,
    /// What is done of a season.
    SeasonState,
    /// A sheet for the shop's file, as a web page.
    Sheet,
    /// A run file or its schema: to be edited, so never replaced unasked.
    RunFile,
}

/// What the file begins with that keeps what is done of a season.
pub const SEASON_STATE: &str = "dogdays season, done so far:";

impl Kind {
    /// How much of a file [`Kind::begins`] wants to see, bytes.
    pub const HEAD: usize = 4_096;

    /// Whether a file that begins so is an output of this kind.
    #[must_use]
    pub fn begins(self, head: &[u8]) -> bool {
        let with = |beginning: &str| head.starts_with(beginning.as_bytes());
        match self {
            Self::Table => {
                with(table::BEGINNING)
                    || with(&compare::COLUMNS.join(","))
                    || with(&size_fan::COLUMNS.join(","))
                    || with(&season::COLUMNS.join(","))
            }
            Self::Picture => signature::is_picture(head),
            Self::Network => {
                let text = String::from_utf8_lossy(head);
                text.starts_with('{') && text.contains(network::LAWS)
            }
            Self::SeasonState => with(SEASON_STATE),
            Self::Sheet => signature::is_sheet(head),
            Self::RunFile => false,
        }
    }
}
