//! Where a course can be begun anew.

use super::{Piece, Trajectory};
use std::cell::RefCell;

/// A place where a course can be begun anew.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Begin<'a> {
    /// When, s.
    pub at_s: f64,
    /// Name of the stretch, see [`super::System::stretch`].
    pub stretch: usize,
    /// The unknowns then.
    pub unknowns: &'a [f64],
}

/// The begins of a course's pieces: all it takes to run any part of it once more. They lie in one place, which is made
/// once and not for each piece.
#[derive(Debug, Clone, Default)]
pub struct Begins {
    spans: Vec<Span>,
    /// Those of each begin, one begin after the other.
    unknowns: Vec<f64>,
}

/// When a piece is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Begin, s.
    pub begin_s: f64,
    /// Length, s.
    pub length_s: f64,
    /// Name of the stretch, see [`super::System::stretch`].
    pub stretch: usize,
}

impl Span {
    /// That of a piece.
    #[must_use]
    pub fn of(piece: &Piece) -> Self {
        Self {
            begin_s: piece.begin_s,
            length_s: piece.length_s,
            stretch: piece.stretch,
        }
    }

    /// End, s.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.begin_s + self.length_s
    }
}

/// So many rooms a thread keeps for later, of so many numbers: more courses than that it does not follow at a time, and
/// longer ones are rare.
const MOST_KEPT: usize = 32;
const MOST_NUMBERS: usize = 1 << 17;

thread_local! {
    /// Rooms for unknowns that are not used any more. They are large: what is given back is got again page by page.
    static KEPT: RefCell<Vec<Vec<f64>>> = const { RefCell::new(Vec::new()) };
}

impl Drop for Begins {
    fn drop(&mut self) {
        let mut room = std::mem::take(&mut self.unknowns);
        room.clear();
        // A thread that ends keeps nothing.
        let _ = KEPT.try_with(|kept| {
            let mut kept = kept.borrow_mut();
            if (1..=MOST_NUMBERS).contains(&room.capacity()) && kept.len() < MOST_KEPT {
                kept.push(room);
            }
        });
    }
}

impl Begins {
    /// None yet, with room for so many of so many unknowns.
    #[must_use]
    pub fn with_room(pieces: usize, unknowns: usize) -> Self {
        let kept = KEPT.with_borrow_mut(Vec::pop);
        let mut begins = Self {
            spans: Vec::with_capacity(pieces),
            unknowns: kept.unwrap_or_default(),
        };
        begins.unknowns.reserve(pieces * unknowns);
        begins
    }

    /// Those of a whole course.
    #[must_use]
    pub fn of(course: &Trajectory) -> Self {
        let mut begins = Self::default();
        for piece in &course.pieces {
            begins.add(piece, course.unknowns);
        }
        begins
    }

    /// Adds that of the next piece, which has so many unknowns, as many as those before it.
    pub fn add(&mut self, piece: &Piece, unknowns: usize) {
        self.spans.push(Span::of(piece));
        self.unknowns
            .extend_from_slice(&piece.coefficients[..unknowns]);
    }

    /// When each piece is, in order.
    #[must_use]
    pub fn spans(&self) -> &[Span] {
        &self.spans
    }

    /// The begin of a piece.
    ///
    /// # Panics
    /// When there is no such piece.
    #[must_use]
    pub fn at(&self, piece: usize) -> Begin<'_> {
        let span = self.spans[piece];
        let n = self.unknowns.len() / self.spans.len();
        Begin {
            at_s: span.begin_s,
            stretch: span.stretch,
            unknowns: &self.unknowns[piece * n..(piece + 1) * n],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two pieces of two unknowns and a ledger, by hand: a course is begun anew from the unknowns alone.
    #[test]
    fn a_course_is_begun_anew_where_its_pieces_begin() {
        let piece = |begin_s: f64, stretch, y0: [f64; 3]| Piece {
            begin_s,
            length_s: 10.0,
            stretch,
            coefficients: [y0, [0.0; 3], [0.0; 3], [0.0; 3]].concat(),
        };
        let course = Trajectory {
            pieces: vec![
                piece(0.0, 3, [1.0, 2.0, 9.0]),
                piece(10.0, 4, [5.0, 6.0, 9.0]),
            ],
            unknowns: 2,
            totals: vec![0.0],
            effort: super::super::Effort::default(),
        };
        let begins = Begins::of(&course);
        let ends_s: Vec<f64> = begins.spans().iter().map(Span::end_s).collect();
        assert_eq!(ends_s, [10.0, 20.0]);
        let second = Begin {
            at_s: 10.0,
            stretch: 4,
            unknowns: &[5.0, 6.0],
        };
        assert_eq!(begins.at(1), second);
        // The room is kept, and what was in it is not.
        drop(begins);
        let mut begins = Begins::with_room(1, 2);
        assert!(begins.spans().is_empty() && begins.unknowns.capacity() >= 4);
        begins.add(&course.pieces[1], 2);
        assert_eq!(begins.at(0), second);
        begins = Begins::of(&course);
        assert_eq!(begins.at(0).unknowns, [1.0, 2.0]);
    }
}
