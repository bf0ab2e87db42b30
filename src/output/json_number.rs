//! Numbers of JSON outputs.

use serde_json::{Value, json};

/// A temperature given in K.
pub(super) fn degC(K: f64) -> Value {
    rounded(K - 273.15, 4)
}

/// A number to a fixed number of decimals, so that output is the same on every machine. What rounds to
/// nothing has no sign.
pub(crate) fn rounded(v: f64, decimals: i32) -> Value {
    let f = 10f64.powi(decimals);
    json!((v * f).round() / f + 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_rounds_to_nothing_has_no_sign() {
        for (v, text) in [
            (-0.04, "0.0"),
            (-0.0, "0.0"),
            (0.04, "0.0"),
            (-0.06, "-0.1"),
        ] {
            assert_eq!(rounded(v, 1).to_string(), text);
        }
    }
}
