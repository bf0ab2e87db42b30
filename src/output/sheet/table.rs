//! Tables of a page, from the ones of a screen.

use maud::{Markup, html};

use crate::output::columns::{Columns, Side};

/// The table; `caption` says what it holds.
pub(in crate::output) fn table(columns: &Columns, caption: &str) -> Markup {
    let groups = columns.columns.iter().any(|c| !c.group.is_empty());
    html! {
        div.scroll tabindex="0" role="group" aria-label=(caption) {
            table {
                caption { (caption) }
                thead {
                    @if groups {
                        tr {
                            td {}
                            @for (group, span) in spans(columns) {
                                @if group.is_empty() {
                                    td colspan=(span) {}
                                } @else {
                                    th scope="colgroup" colspan=(span) { (group) }
                                }
                            }
                        }
                    }
                    tr {
                        @if columns.head.trim().is_empty() { td {} } @else { th scope="col" { (columns.head) } }
                        @for column in &columns.columns {
                            @if column.head.iter().all(|line| line.trim().is_empty()) {
                                td {}
                            } @else {
                                th scope="col" class=[class(column.side)] {
                                    @for (k, line) in column.head.iter().enumerate() {
                                        @if k > 0 { br; }
                                        (line)
                                    }
                                }
                            }
                        }
                    }
                }
                tbody {
                    @for (row, name) in columns.names.iter().enumerate() {
                        tr class=[chosen(name)] {
                            th scope="row" { (name.trim()) }
                            @for column in &columns.columns {
                                td class=[class(column.side)] { (column.cells.get(row).map_or("", String::as_str).trim()) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The row that a screen marks with an arrow.
fn chosen(name: &str) -> Option<&'static str> {
    name.starts_with("> ").then_some("chosen")
}

const fn class(side: Side) -> Option<&'static str> {
    match side {
        Side::Left => None,
        Side::Right => Some("number"),
    }
}

/// Neighbours of one group, and how many they are.
fn spans(columns: &Columns) -> Vec<(&'static str, usize)> {
    let mut found: Vec<(&'static str, usize)> = Vec::new();
    for column in &columns.columns {
        match found.last_mut() {
            Some((group, span)) if *group == column.group => *span += 1,
            _ => found.push((column.group, 1)),
        }
    }
    found
}
