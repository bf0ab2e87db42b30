//! The table of remedies on a page.

use crate::output::columns::{Column, Columns};
use crate::output::remedies::{MOST_SHOWN, in_full, numbers};
use crate::quantity::System;
use crate::study::remedies::Remedy;

/// Remedies as a table; the text of each says what speaks against it too.
pub(super) fn columns(remedies: &[Remedy], system: System) -> Columns {
    let unit = system.difference_unit();
    let shown = || remedies.iter().take(MOST_SHOWN);
    let each = shown().map(|r| numbers(r, system));
    let (gains, margins) = each.unzip();
    Columns {
        head: "change".to_owned(),
        names: shown().map(|r| in_full(r, system)).collect(),
        columns: vec![
            Column::numbers(&["gain", unit], 0, gains),
            Column::numbers(&["margin", unit], 0, margins),
        ],
    }
}
