//! Reads the grids of reference values. `DOGDAYS_REFERENCE_DIR` names another folder: a fresh one.

use std::collections::HashMap;
use std::path::PathBuf;

/// A file of named columns.
pub struct Grid {
    columns: HashMap<String, Vec<f64>>,
    /// Fields of the column "label", if there is one.
    pub labels: Vec<String>,
    pub rows: usize,
}

impl Grid {
    /// Reads `reference/NAME`.
    pub fn read(name: &str) -> Self {
        let folder = std::env::var_os("DOGDAYS_REFERENCE_DIR").map_or_else(
            || {
                PathBuf::from(concat!(
                    env!("CARGO_MANIFEST_DIR"),
                    "/tests/evidence/reference"
                ))
            },
            PathBuf::from,
        );
        Self::read_path(&folder.join(name))
    }

    /// Reads `tests/data/NAME`.
    pub fn data(name: &str) -> Self {
        let folder = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data"));
        Self::read_path(&folder.join(name))
    }

    /// Reads a file.
    pub fn read_path(path: &std::path::Path) -> Self {
        let mut reader =
            csv::Reader::from_path(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let header: Vec<String> = reader
            .headers()
            .expect("a header")
            .iter()
            .map(str::to_owned)
            .collect();
        let mut columns: HashMap<String, Vec<f64>> =
            header.iter().map(|h| (h.clone(), Vec::new())).collect();
        let mut labels = Vec::new();
        let mut rows = 0;
        for record in reader.records() {
            let record = record.expect("a row as long as the header");
            for (h, field) in header.iter().zip(record.iter()) {
                if h == "label" {
                    labels.push(field.to_owned());
                    continue;
                }
                let value = field.parse().unwrap_or_else(|_| panic!("{h}: {field}"));
                columns.get_mut(h).expect("named in the header").push(value);
            }
            rows += 1;
        }
        assert!(rows > 0, "{} is empty", path.display());
        Self {
            columns,
            labels,
            rows,
        }
    }

    /// A column by name.
    pub fn column(&self, name: &str) -> &[f64] {
        self.columns
            .get(name)
            .unwrap_or_else(|| panic!("no column {name}"))
    }

    /// Pairs of a column's values and what `ours` gives for the same row.
    pub fn pairs(&self, name: &str, ours: impl Fn(usize) -> f64) -> Vec<(f64, f64)> {
        self.column(name)
            .iter()
            .enumerate()
            .map(|(i, theirs)| (*theirs, ours(i)))
            .collect()
    }
}
