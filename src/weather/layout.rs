//! Where in a weather series the table is, and which of its columns say when and how warm.

use super::asked::Asked;
use super::frame::{Frame, framed};
use super::temperature::{Temperature, temperature};
use crate::table::{Mistakes, Table};

/// Where the table is, and what its columns are.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub frame: Frame,
    pub temperature: Temperature,
    /// Whether the file is laid out as the program's own examples are.
    pub is_plain: bool,
}

/// Looks at a table's first lines.
pub(super) fn layout(
    plain: Table,
    asked: &Asked,
    mistakes: &mut Mistakes,
) -> Option<(Table, Layout)> {
    let (table, frame, (temperature, is_plain)) =
        framed(plain, asked, mistakes, |head, mistakes| {
            let temperature = temperature(head, asked, mistakes)?;
            Some((temperature, head.is_plain && temperature.is_named_so))
        })?;
    let layout = Layout {
        frame,
        temperature,
        is_plain,
    };
    Some((table, layout))
}
