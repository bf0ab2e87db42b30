//! Rows that stand in two logs: they would count twice.

use super::ReadLog;
use crate::keys::problem::Problem;
use crate::plain::plain;
use crate::run::LogColumn;

/// Two thermometers never show the same, digit by digit, in so large a share of the rows of the shorter column,
const SAME: f64 = 0.5;
/// of at least so many.
const ENOUGH: usize = 3;

/// An error for each pair of logs that share the rows of a place.
pub(super) fn same_rows(logs: &[ReadLog]) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (k, one) in logs.iter().enumerate() {
        for other in &logs[k + 1..] {
            let pairs = one.log.columns.iter().flat_map(|column| {
                let others = other.log.columns.iter();
                others.map(move |other| (column, other))
            });
            let shared = pairs.filter(|(a, b)| a.sensor == b.sensor);
            let Some((column, _)) = shared.into_iter().find(|(a, b)| is_same(a, b)) else {
                continue;
            };
            let message = format!(
                "rows of '{}' ({}) are in {} too: they would count twice",
                column.header, column.sensor, one.log.name
            );
            let help = "leave one of the two logs away, or cut the rows they share out of one";
            let name = plain(&other.log.name).into_owned();
            problems.push(Problem::in_file(name, message).help(help));
        }
    }
    problems
}

fn is_same(one: &LogColumn, other: &LogColumn) -> bool {
    let mut others = other.rows.iter().peekable();
    let same = one.rows.iter().filter(|(t_s, K)| {
        while others.next_if(|row| row.0 < *t_s).is_some() {}
        others
            .peek()
            .is_some_and(|row| row.0 == *t_s && row.1 == *K)
    });
    let same = same.count();
    let shorter = one.rows.len().min(other.rows.len());
    #[expect(clippy::cast_precision_loss, reason = "a count of rows")]
    let is_most = same as f64 >= SAME * shorter as f64;
    same >= ENOUGH && is_most
}
