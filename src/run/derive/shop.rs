//! From `[shop]` to the hours in which somebody is there.

use super::notes::Notes;
use crate::keys::hours::{HOW, Hours};
use crate::keys::section::Section;

/// The staffed hours, where the run says them; `None` when they make no sense, which then has been reported.
pub(super) fn hours(root: &Section, notes: &mut Notes<'_>) -> Option<Option<Hours>> {
    let shop = root.section("shop");
    if root.is_bad("shop") || shop.is_some_and(|shop| shop.is_bad("hours")) {
        return None;
    }
    let Some((shop, text)) = shop.and_then(|shop| Some((shop, shop.text("hours")?))) else {
        return Some(None);
    };
    match Hours::parse(text) {
        Ok(hours) => Some(Some(hours)),
        Err(error) => {
            notes.error(shop.mark_of("hours"), error.to_string(), HOW);
            None
        }
    }
}
