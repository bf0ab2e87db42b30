//! Starts as cells of days and hours: which cell is whose, which lie together, where borders run.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};

use super::calendar_data::{ComesTo, Starts, Zone};

const DAY_S: f64 = 86_400.0;
/// Heights of a row, s: the first that divides what lies between two starts.
const ROWS_S: [f64; 6] = [3600.0, 1800.0, 1200.0, 900.0, 600.0, 300.0];

/// The days that calendars have in common, and the height of their rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// The first day.
    pub first: Date,
    /// How many days.
    pub days: usize,
    /// Rows of a day.
    pub rows: usize,
}

impl Span {
    /// The span of all calendars; none without a start.
    pub fn of(panels: &[Starts]) -> Option<Span> {
        let starts = || panels.iter().flat_map(|p| p.starts.iter().map(|s| s.0));
        let (first, last) = (starts().min()?, starts().max()?);
        let divides = |row_s: f64| {
            let whole = |s: f64| (s / row_s).fract().min(1.0 - (s / row_s).fract()) < 1e-9;
            panels.iter().all(|p| {
                let begin = p.starts.first().map_or(0.0, |s| since_midnight_s(s.0));
                whole(p.every_s) && whole(begin)
            })
        };
        let row_s = ROWS_S.into_iter().find(|s| divides(*s)).unwrap_or(300.0);
        Some(Span {
            first: first.date(),
            days: days_between(first.date(), last.date()) + 1,
            rows: (DAY_S / row_s) as usize,
        })
    }
}

/// Days from one date to another that is no earlier.
pub fn days_between(from: Date, to: Date) -> usize {
    let days = from.until(to).map_or(0, |span| span.get_days());
    usize::try_from(days).unwrap_or(0)
}

fn since_midnight_s(at: DateTime) -> f64 {
    f64::from(at.hour()) * 3600.0 + f64::from(at.minute()) * 60.0 + f64::from(at.second())
}

/// The cells of one calendar.
pub struct Grid {
    span: Span,
    /// Day by day; none where no start is.
    cells: Vec<Option<ComesTo>>,
}

/// Cells that lie together: days and rows from, and the first that no longer belong to them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    pub days: (usize, usize),
    pub rows: (usize, usize),
}

/// A border between cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Border {
    /// Softens on one side.
    Softens,
    /// Holds on one side, is tight on the other.
    Holds,
}

/// A corner of cells: days and rows from the upper left.
pub type Corner = (usize, usize);

impl Grid {
    /// The cells of some starts. A start stands until the next one; where two share a cell the worse is shown.
    pub fn of(starts: &Starts, span: Span) -> Grid {
        let mut cells = vec![None; span.days * span.rows];
        let row_s = DAY_S / span.rows as f64;
        for (at, comes_to) in &starts.starts {
            let day_s = DAY_S * days_between(span.first, at.date()) as f64;
            let from_s = day_s + since_midnight_s(*at);
            let from = (from_s / row_s + 1e-9).floor() as usize;
            let to = ((from_s + starts.every_s) / row_s - 0.5).ceil() as usize;
            // The last start stands no longer than its day.
            let to = to.max(from + 1).min(cells.len());
            for cell in cells.iter_mut().take(to).skip(from) {
                *cell = Some(cell.map_or(*comes_to, |there| worse(there, *comes_to)));
            }
        }
        Grid { span, cells }
    }

    /// What stands on a day in a row.
    pub fn at(&self, day: usize, row: usize) -> Option<ComesTo> {
        self.cells.get(day * self.span.rows + row).copied()?
    }

    /// Blocks of cells of one key. Runs along the days grow downwards while the next row has the same run.
    pub fn blocks<K: Ord + Copy>(
        &self,
        key: impl Fn(ComesTo) -> Option<K>,
    ) -> BTreeMap<K, Vec<Block>> {
        let mut done: BTreeMap<K, Vec<Block>> = BTreeMap::new();
        let mut open: BTreeMap<((usize, usize), K), Block> = BTreeMap::new();
        for row in 0..self.span.rows {
            let mut next = BTreeMap::new();
            for (days, key) in self.runs(row, &key) {
                let mut block = open.remove(&(days, key)).unwrap_or(Block {
                    days,
                    rows: (row, row),
                });
                block.rows.1 = row + 1;
                next.insert((days, key), block);
            }
            for ((_, key), block) in std::mem::replace(&mut open, next) {
                done.entry(key).or_default().push(block);
            }
        }
        for ((_, key), block) in open {
            done.entry(key).or_default().push(block);
        }
        done
    }

    /// Days in a row that have one key.
    fn runs<K: Ord + Copy>(
        &self,
        row: usize,
        key: &impl Fn(ComesTo) -> Option<K>,
    ) -> Vec<((usize, usize), K)> {
        let mut runs: Vec<((usize, usize), K)> = Vec::new();
        for day in 0..self.span.days {
            let Some(key) = self.at(day, row).and_then(key) else {
                continue;
            };
            match runs.last_mut() {
                Some((days, last)) if *last == key && days.1 == day => days.1 = day + 1,
                _ => runs.push(((day, day + 1), key)),
            }
        }
        runs
    }

    /// The borders as lines through corners, straight parts in one.
    pub fn borders(&self) -> BTreeMap<Border, Vec<Vec<Corner>>> {
        let mut edges: BTreeMap<Border, Vec<[Corner; 2]>> = BTreeMap::new();
        for day in 0..self.span.days {
            for row in 0..self.span.rows {
                let here = self.at(day, row);
                let mut meet = |other, edge| {
                    if let Some(border) = border(here, other) {
                        edges.entry(border).or_default().push(edge);
                    }
                };
                if day + 1 < self.span.days {
                    let edge = [(day + 1, row), (day + 1, row + 1)];
                    meet(self.at(day + 1, row), edge);
                }
                if row + 1 < self.span.rows {
                    let edge = [(day, row + 1), (day + 1, row + 1)];
                    meet(self.at(day, row + 1), edge);
                }
            }
        }
        edges
            .into_iter()
            .map(|(border, edges)| (border, chained(&edges)))
            .collect()
    }
}

fn worse(one: ComesTo, other: ComesTo) -> ComesTo {
    // What is not known hides nothing that is.
    let rank = |c: ComesTo| match c {
        ComesTo::CannotRun => 0,
        ComesTo::Margin(_, Zone::Softens) => 1,
        ComesTo::Margin(_, Zone::Tight) => 2,
        ComesTo::Margin(_, Zone::Holds) => 3,
        ComesTo::Outlasts => 4,
    };
    let is_worse = match (one, other) {
        (ComesTo::Margin(a, x), ComesTo::Margin(b, y)) if x == y => a <= b,
        _ => rank(one) <= rank(other),
    };
    if is_worse { one } else { other }
}

/// The border between two cells, if there is one. What can't be started is told from its neighbours by its look.
fn border(one: Option<ComesTo>, other: Option<ComesTo>) -> Option<Border> {
    let (Some(ComesTo::Margin(_, one)), Some(ComesTo::Margin(_, other))) = (one, other) else {
        return None;
    };
    if one == other {
        None
    } else if one.min(other) == Zone::Softens {
        Some(Border::Softens)
    } else {
        Some(Border::Holds)
    }
}

/// Edges put end to end.
fn chained(edges: &[[Corner; 2]]) -> Vec<Vec<Corner>> {
    let mut at: BTreeMap<Corner, Vec<usize>> = BTreeMap::new();
    for (number, ends) in edges.iter().enumerate() {
        for end in ends {
            at.entry(*end).or_default().push(number);
        }
    }
    // Open lines begin where an odd number of edges meets; what is left are rings.
    let odd = at.iter().filter(|(_, list)| list.len() % 2 == 1);
    let begins: Vec<Corner> = odd.map(|(corner, _)| *corner).collect();
    let all: Vec<Corner> = at.keys().copied().collect();
    let mut used = vec![false; edges.len()];
    let mut lines = Vec::new();
    for begin in begins.into_iter().chain(all) {
        loop {
            let mut line = vec![begin];
            let mut corner = begin;
            while let Some(number) = free(&at, corner, &mut used) {
                let [a, b] = edges[number];
                corner = if a == corner { b } else { a };
                push(&mut line, corner);
            }
            if line.len() < 2 {
                break;
            }
            lines.push(line);
        }
    }
    lines
}

/// An edge at a corner that nobody has taken yet.
fn free(at: &BTreeMap<Corner, Vec<usize>>, corner: Corner, used: &mut [bool]) -> Option<usize> {
    let list = at.get(&corner)?;
    let number = list.iter().copied().find(|number| !used[*number])?;
    used[number] = true;
    Some(number)
}

/// Goes on to a corner; a corner in the middle of a straight part is none.
fn push(line: &mut Vec<Corner>, corner: Corner) {
    if let [.., before, last] = line.as_slice() {
        let is_straight = (before.0 == last.0 && last.0 == corner.0)
            || (before.1 == last.1 && last.1 == corner.1);
        if is_straight {
            line.pop();
        }
    }
    line.push(corner);
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn starts(every_s: f64, zones: &str) -> Starts {
        let first = date(2026, 7, 13).at(0, 0, 0, 0);
        let at = |k: usize| {
            let s = (every_s * k as f64) as i64;
            first.saturating_add(jiff::SignedDuration::from_secs(s))
        };
        let comes_to = |letter| match letter {
            's' => ComesTo::Margin(-1.0, Zone::Softens),
            't' => ComesTo::Margin(1.0, Zone::Tight),
            'h' => ComesTo::Margin(5.0, Zone::Holds),
            'x' => ComesTo::CannotRun,
            _ => ComesTo::Outlasts,
        };
        let starts = zones.chars().enumerate();
        Starts {
            name: String::new(),
            tail: String::new(),
            every_s,
            starts: starts.map(|(k, c)| (at(k), comes_to(c))).collect(),
        }
    }

    fn grid(starts: &Starts) -> (Span, Grid) {
        let span = Span::of(std::slice::from_ref(starts)).expect("starts");
        (span, Grid::of(starts, span))
    }

    /// Six hours apart: three days of four starts, each six rows high.
    #[test]
    fn a_start_stands_until_the_next() {
        let (span, grid) = grid(&starts(6.0 * 3600.0, "hhhhhtthhssh"));
        assert_eq!((span.days, span.rows), (3, 24));
        let zone = |day, row| match grid.at(day, row) {
            Some(ComesTo::Margin(_, zone)) => zone,
            other => panic!("{other:?}"),
        };
        assert_eq!(zone(1, 5), Zone::Holds);
        assert_eq!(zone(1, 6), Zone::Tight);
        assert_eq!(zone(1, 17), Zone::Tight);
        assert_eq!(zone(1, 18), Zone::Holds);
        assert_eq!(zone(2, 6), Zone::Softens);
        assert_eq!(zone(2, 23), Zone::Holds);
        // By hand: round what is tight, but where it meets what softens; round that, up to the last day's end.
        let borders = grid.borders();
        assert_eq!(
            borders[&Border::Holds],
            [[(2, 6), (1, 6), (1, 18), (2, 18)]]
        );
        assert_eq!(
            borders[&Border::Softens],
            [[(3, 6), (2, 6), (2, 18), (3, 18)]]
        );
    }

    /// Every cell lies in one block of its own key, and the blocks are few.
    #[test]
    fn blocks_cover_every_cell_once() {
        let pattern = "hhhhttssssssssssttthhhhh".repeat(5) + "ooooooooxxxx";
        let (span, grid) = grid(&starts(3600.0, &pattern));
        let key = |c: ComesTo| match c {
            ComesTo::Margin(_, zone) => Some(zone as i32),
            ComesTo::CannotRun => Some(-1),
            ComesTo::Outlasts => None,
        };
        let blocks = grid.blocks(key);
        let mut seen = BTreeMap::new();
        for (k, list) in &blocks {
            for block in list {
                for day in block.days.0..block.days.1 {
                    for row in block.rows.0..block.rows.1 {
                        assert_eq!(grid.at(day, row).and_then(key), Some(*k));
                        assert!(seen.insert((day, row), ()).is_none(), "{day} {row}");
                    }
                }
            }
        }
        assert_eq!(seen.len(), 5 * 24 + 4);
        assert_eq!(span.days, 6);
        // Five bands over five days, and the block of what cannot run.
        let count: usize = blocks.values().map(Vec::len).sum();
        assert_eq!(count, 6);
    }

    /// More starts than rows: none that softens may vanish behind one that holds.
    #[test]
    fn the_worse_of_two_in_a_cell_is_shown() {
        let minute = starts(60.0, &("hhhhs".repeat(12) + &"hthhh".repeat(12)));
        let (span, grid) = grid(&minute);
        assert_eq!(span.rows, 288);
        for row in 0..12 {
            assert_eq!(
                grid.at(0, row),
                Some(ComesTo::Margin(-1.0, Zone::Softens)),
                "{row}"
            );
            assert_eq!(
                grid.at(0, row + 12),
                Some(ComesTo::Margin(1.0, Zone::Tight))
            );
        }
        assert_eq!(grid.at(0, 24), None);
    }

    /// Steps that fit into no day: rows of an hour, the cells go on over midnight.
    #[test]
    fn starts_need_not_divide_the_day() {
        let (span, grid) = grid(&starts(7.0 * 3600.0, "hsts"));
        assert_eq!((span.days, span.rows), (1, 24));
        assert_eq!(grid.at(0, 13), Some(ComesTo::Margin(-1.0, Zone::Softens)));
        assert_eq!(grid.at(0, 14), Some(ComesTo::Margin(1.0, Zone::Tight)));
        assert_eq!(grid.at(0, 23), Some(ComesTo::Margin(-1.0, Zone::Softens)));
        let (span, _) = self::grid(&starts(7.0 * 60.0, "hs"));
        assert_eq!(span.rows, 288, "no row divides seven minutes");
    }

    /// A ring round a cell is one closed line of five corners; without a border there is none.
    #[test]
    fn borders_are_few_lines() {
        let pattern = "h".repeat(24) + &("h".repeat(11) + "s" + &"h".repeat(12)) + &"h".repeat(24);
        let (_, grid) = grid(&starts(3600.0, &pattern));
        let lines = &grid.borders()[&Border::Softens];
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].len(), 5);
        assert_eq!(lines[0].first(), lines[0].last());
        let (_, none) = self::grid(&starts(3600.0, &"s".repeat(240)));
        assert!(none.borders().is_empty());
    }
}
