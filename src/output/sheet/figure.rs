//! Drawings of a page: one for a screen and paper, one for a phone.

use maud::{Markup, html};

use crate::output::chart::{ChartError, Size};

/// A drawing in both sizes, with words below; `draw` gets a size and an id that no other drawing of the page has.
///
/// # Errors
/// What `draw` says.
pub fn figure(
    id: &str,
    (wide, narrow): (Size, Size),
    caption: &str,
    draw: impl Fn(Size, &str) -> Result<Markup, ChartError>,
) -> Result<Markup, ChartError> {
    let (on_paper, on_phone) = (draw(wide, id)?, draw(narrow, &format!("{id}-phone"))?);
    Ok(html! {
        figure {
            div.wide { (on_paper) }
            div.narrow { (on_phone) }
            @if !caption.is_empty() { figcaption { (caption) } }
        }
    })
}

/// Width and height, px.
pub const fn size(width: u32, height: u32) -> Size {
    Size { width, height }
}
