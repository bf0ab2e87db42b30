//! What is kept of a season that may be interrupted.

use super::start::Start;

/// Keeps starts that are done, block by block.
pub trait Kept: Sync {
    /// The starts of a block that is there already.
    fn block(&self, number: usize) -> Option<Vec<Start>>;
    /// Keeps a block that has been computed.
    fn keep(&self, number: usize, starts: &[Start]);
}

/// Keeps nothing.
#[derive(Debug, Clone, Copy, Default)]
pub struct Nothing;

impl Kept for Nothing {
    fn block(&self, _: usize) -> Option<Vec<Start>> {
        None
    }

    fn keep(&self, _: usize, _: &[Start]) {}
}
