//! Keys of `[shop]`.

use super::super::schema::{Kind, Need::Optional, Table, field};

/// `[shop]`.
pub static SHOP: Table = Table {
    doc: "The shop that the machine stands in.",
    fields: &[field(
        "hours",
        Kind::Text,
        Optional("nothing is said of who is there"),
        "\"Mon-Fri 08:00-18:00, Sat 09:00-13:00\"",
        "When somebody is there: days and times of day, as many as needed, past midnight too (\"Mon-Fri 22:00-06:00\"). Times without days hold for the days before them, or else for every day.",
    )],
};
