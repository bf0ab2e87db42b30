//! A table that fits its screen: columns as wide as what stands in them, the least important left out where the
//! screen is too narrow for all.

use super::prose::{columns, padded};

/// Which side of its column a cell stands at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A column besides the names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// What stands above it and its neighbours of the same group; may be empty.
    pub group: &'static str,
    /// Lines of its head.
    pub head: Vec<String>,
    /// One cell a row.
    pub cells: Vec<String>,
    /// Where cells and head stand.
    pub side: Side,
    /// 0 is always shown; columns of the highest rank go first, together, where the screen is narrow.
    pub rank: u8,
}

impl Column {
    /// A column of numbers.
    #[must_use]
    pub fn numbers(head: &[&str], rank: u8, cells: Vec<String>) -> Self {
        Self::new(head, rank, cells, Side::Right)
    }

    /// A column of words.
    #[must_use]
    pub fn words(head: &[&str], rank: u8, cells: Vec<String>) -> Self {
        Self::new(head, rank, cells, Side::Left)
    }

    fn new(head: &[&str], rank: u8, cells: Vec<String>, side: Side) -> Self {
        Self {
            group: "",
            head: head.iter().map(ToString::to_string).collect(),
            cells,
            side,
            rank,
        }
    }

    /// The same under a common head.
    #[must_use]
    pub fn under(self, group: &'static str) -> Self {
        Self { group, ..self }
    }

    fn width(&self) -> usize {
        let cells = self.cells.iter().chain(&self.head);
        cells.map(|c| columns(c)).max().unwrap_or(0)
    }

    fn cell(&self, text: &str) -> String {
        let space = " ".repeat(self.width().saturating_sub(columns(text)));
        match self.side {
            Side::Left => format!("{text}{space}"),
            Side::Right => format!("{space}{text}"),
        }
    }
}

/// Names of rows and the columns beside them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Columns {
    /// Head of the names.
    pub head: String,
    /// Name of each row. One that is much longer than others stands on a line of its own.
    pub names: Vec<String>,
    /// The rest.
    pub columns: Vec<Column>,
}

impl Columns {
    /// The table, its lines at most `width` columns wide wherever names and the most important columns allow.
    #[must_use]
    pub fn text(&self, width: usize) -> String {
        // Names get what they need up to a third of the screen; a longer one costs a line and no column.
        let all = self.names.iter().chain([&self.head]);
        let longest = all.map(|n| columns(n)).max().unwrap_or(0);
        let wanted = longest.min((width / 3).max(columns(&self.head)));
        let mut shown: Vec<&Column> = self.columns.iter().collect();
        let taken = |shown: &[&Column], gap: usize| -> usize {
            shown.iter().map(|c| gap + c.width()).sum()
        };
        while wanted + taken(&shown, 1) > width {
            let highest = shown.iter().map(|c| c.rank).max().unwrap_or(0);
            if highest == 0 {
                break;
            }
            shown.retain(|c| c.rank < highest);
        }
        let is_loose = wanted + taken(&shown, 2) <= width;
        let gap = if is_loose { 2 } else { 1 };
        // Room that is left belongs to the names.
        let name = longest.min(width.saturating_sub(taken(&shown, gap)).max(wanted));
        let mut lines = heads(&self.head, &shown, name, gap);
        for (row, text) in self.names.iter().enumerate() {
            let fits = columns(text) <= name;
            if !fits {
                lines.push(text.clone());
            }
            let mut line = padded(if fits { text } else { "" }, name);
            for column in &shown {
                line.push_str(&" ".repeat(gap));
                line.push_str(&column.cell(column.cells.get(row).map_or("", String::as_str)));
            }
            lines.push(line);
        }
        lines
            .iter()
            .map(|l| format!("{}\n", l.trim_end()))
            .collect()
    }
}

/// The groups, where there are any, and the heads of the columns.
fn heads(name_head: &str, shown: &[&Column], name: usize, gap: usize) -> Vec<String> {
    let mut lines = Vec::new();
    if shown.iter().any(|c| !c.group.is_empty()) {
        let mut line = String::new();
        let (mut at, mut before) = (name, "");
        for column in shown {
            if !column.group.is_empty() && column.group != before {
                // A name longer than its group pushes the next one on.
                let pushed = if line.is_empty() {
                    0
                } else {
                    columns(&line) + 1
                };
                line = padded(&line, (at + gap).max(pushed));
                line.push_str(column.group);
            }
            before = column.group;
            at += gap + column.width();
        }
        lines.push(line);
    }
    let rows = shown.iter().map(|c| c.head.len()).max().unwrap_or(0);
    let rows = rows.max(usize::from(!name_head.is_empty()));
    for row in 0..rows {
        let mut line = padded(if row == 0 { name_head } else { "" }, name);
        for column in shown {
            line.push_str(&" ".repeat(gap));
            line.push_str(&column.cell(column.head.get(row).map_or("", String::as_str)));
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Columns {
        let cells = |texts: &[&str]| texts.iter().map(ToString::to_string).collect::<Vec<_>>();
        Columns {
            head: "Filament, °C".to_owned(),
            names: cells(&["  spool", "  a name that takes far more room"]),
            columns: vec![
                Column::numbers(&["moving"], 2, cells(&["35.0", "47.7"])).under("feed"),
                Column::numbers(&["margin", "K"], 0, cells(&["10.0", "-4.3"])).under("feed"),
                Column::words(&["hottest at"], 1, cells(&["Wed 15 Jul 16:00", "Wed"])),
            ],
        }
    }

    #[test]
    fn all_columns_stand_where_there_is_room() {
        insta::assert_snapshot!(table().text(80), @r"
                                           feed
        Filament, °C                       moving  margin  hottest at
                                                        K
          spool                              35.0    10.0  Wed 15 Jul 16:00
          a name that takes far more room    47.7    -4.3  Wed
        ");
    }

    #[test]
    fn the_least_important_columns_go_first_and_a_long_name_takes_a_line() {
        insta::assert_snapshot!(table().text(40), @r"
                        feed
        Filament, °C    margin  hottest at
                             K
          spool           10.0  Wed 15 Jul 16:00
          a name that takes far more room
                          -4.3  Wed
        ");
        insta::assert_snapshot!(table().text(24), @r"
                          feed
        Filament, °C      margin
                               K
          spool             10.0
          a name that takes far more room
                            -4.3
        ");
    }
}
