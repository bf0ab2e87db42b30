//! The declared keys keep their own promises.

use crate::keys::fields::coefficients::COEFFICIENTS;
use crate::keys::fields::{RUN_FILE, table_of};
use crate::keys::kinds::Kind as EntryKind;
use crate::keys::schema::{Field, Kind, Need, Range, Spread, Table};
use crate::quantity::{Quantity, parse, unit_by_symbol};

/// Calls `visit` for every field of every file kind, with its path.
fn every_field(visit: &mut dyn FnMut(&str, &Field)) {
    fn walk(table: &'static Table, path: &str, visit: &mut dyn FnMut(&str, &Field)) {
        for field in table.fields {
            let path = format!("{path}.{}", field.key);
            visit(&path, field);
            if let Kind::Table(inner) | Kind::List(inner) | Kind::Panel(inner) = field.kind {
                walk(inner, &path, visit);
            }
        }
    }
    walk(&RUN_FILE, "run file", visit);
    for kind in EntryKind::ALL {
        walk(table_of(kind), kind.name(), visit);
    }
}

#[test]
fn limits_contain_the_usual_range_and_units_exist() {
    every_field(&mut |path, field| {
        let Kind::Quantity(range) = field.kind else {
            return;
        };
        assert!(
            unit_by_symbol(range.unit, range.quantity).is_some(),
            "{path}: unit {}",
            range.unit
        );
        let (hard, usual) = (range.hard, range.usual);
        assert!(hard.0 < hard.1 && usual.0 < usual.1, "{path}: empty range");
        assert!(
            hard.0 <= usual.0 && usual.1 <= hard.1,
            "{path}: usual values must be legal"
        );
    });
}

#[test]
fn examples_and_defaults_are_usual_values() {
    every_field(&mut |path, field| {
        let Kind::Quantity(range) = field.kind else {
            return;
        };
        let mut texts = vec![field.example.trim_matches('"')];
        if let Need::Default(text) | Need::Tacit(text, _) = field.need {
            texts.push(text);
        }
        for text in texts.into_iter().filter(|text| !text.is_empty()) {
            let si = parse(text, range.quantity).unwrap_or_else(|e| panic!("{path}: {text}: {e}"));
            let (low, high) = (range.si(range.usual.0), range.si(range.usual.1));
            assert!((low..=high).contains(&si), "{path}: {text} is not usual");
        }
        let has_quotes = field.example.starts_with('"');
        assert!(
            field.example.is_empty() || has_quotes != range.quantity.may_be_bare(),
            "{path}: {} is quoted if and only if it has a unit",
            field.example
        );
    });
}

#[test]
fn every_field_is_explained_in_a_sentence() {
    every_field(&mut |path, field| {
        assert!(field.doc.len() > 10, "{path} has no explanation");
        let is_coefficient = path.contains(".coefficients.");
        assert!(
            is_coefficient || field.doc.ends_with('.'),
            "{path}: {}",
            field.doc
        );
        let has_example = matches!(field.kind, Kind::Table(_) | Kind::List(_) | Kind::Sources)
            || is_coefficient
            || !field.example.is_empty();
        assert!(has_example, "{path} has no example");
    });
}

#[test]
fn no_key_is_declared_twice() {
    let mut seen = std::collections::HashSet::new();
    every_field(&mut |path, _| assert!(seen.insert(path.to_owned()), "{path}"));
}

/// What a coefficient is measured in, and that its default is read again as it is written.
#[test]
fn coefficients_are_declared_with_their_units() {
    for field in COEFFICIENTS.fields {
        let Kind::Quantity(range) = field.kind else {
            panic!("{}", field.key)
        };
        let is_plain = range.quantity == Quantity::Number;
        assert_eq!(is_plain, range.unit.is_empty(), "{}", field.key);
        let Need::Tacit(default, _) = field.need else {
            panic!("{} has no default", field.key)
        };
        let si = parse(default, range.quantity).expect("the default is a quantity");
        let text = range.quantity.to_text(si, range.unit);
        let again = parse(&text, range.quantity).expect("own text is read again");
        assert!((again - si).abs() <= 1e-9 * si, "{}: {text}", field.key);
    }
}

/// Every quantity says how far off it may be, and the usual value with its spread stays within the limits.
#[test]
fn every_quantity_has_a_spread_within_its_limits() {
    let mut uncertain = 0;
    every_field(&mut |path, field| {
        let Kind::Quantity(range) = field.kind else {
            assert!(field.spread.is_none(), "{path} is no quantity");
            return;
        };
        let spread = field
            .spread
            .unwrap_or_else(|| panic!("{path} has no spread"));
        let wide = match spread {
            Spread::Exact => false,
            Spread::Factor(factor) => {
                assert!(factor > 1.0 && factor < 10.0, "{path}");
                true
            }
            Spread::PlusMinus(by) => {
                assert!(by > 0.0, "{path}");
                true
            }
            Spread::Between(low, high) => {
                assert!(
                    range.hard.0 <= low && low < high && high <= range.hard.1,
                    "{path}"
                );
                true
            }
            Spread::In(key) => {
                assert!(counted(key), "{path}: {key} carries no doubt");
                false
            }
        };
        uncertain += usize::from(wide);
        let mut texts = vec![field.example.trim_matches('"')];
        if let Need::Default(text) | Need::Tacit(text, _) = field.need {
            texts.push(text);
        }
        for text in texts.into_iter().filter(|text| !text.is_empty()) {
            let si = parse(text, range.quantity).unwrap_or_else(|e| panic!("{path}: {text}: {e}"));
            let (low, high) = range.plausible(si, spread);
            let limits = (range.si(range.hard.0), range.si(range.hard.1));
            assert!(limits.0 <= low && high <= limits.1, "{path}");
            assert!(
                low <= si && si <= high,
                "{path}: {text} is not in {low} to {high}"
            );
            // Nothing would be left of it where it is no bigger than a factor of the value.
            assert!(!wide || si == 0.0 || high - low < 30.0 * si.abs(), "{path}");
            assert!(!wide || si == 0.0 || low < high, "{path}");
        }
    });
    assert!(uncertain > 100, "{uncertain}");
}

/// Whether a key of the run file is a quantity with a spread of its own.
fn counted(key: &str) -> bool {
    let mut found = false;
    every_field(&mut |path, field| {
        let own = !matches!(field.spread, None | Some(Spread::Exact | Spread::In(_)));
        found |= own && path == format!("run file.{key}");
    });
    found
}

/// By hand: 2 kg times and over 1.25; 60 degC and 3 K; a fraction of 0.95 and 0.1 that can't pass 1.
#[test]
fn a_spread_is_taken_about_the_value_and_stops_at_the_limits() {
    let range = |measures, unit, hard| Range {
        quantity: measures,
        unit,
        hard,
        usual: hard,
    };
    let near = |got: (f64, f64), want: (f64, f64)| {
        assert!(
            (got.0 - want.0).abs() < 1e-9 && (got.1 - want.1).abs() < 1e-9,
            "{got:?}"
        );
    };
    let mass = range(Quantity::Mass, "g", (1.0, 1e6));
    near(mass.plausible(2.0, Spread::Factor(1.25)), (1.6, 2.5));
    near(
        mass.plausible(2.0, Spread::Between(1500.0, 2200.0)),
        (1.5, 2.2),
    );
    near(mass.plausible(2.0, Spread::Exact), (2.0, 2.0));
    let bed = range(Quantity::Temperature, "degC", (0.0, 250.0));
    near(
        bed.plausible(333.15, Spread::PlusMinus(3.0)),
        (330.15, 336.15),
    );
    near(
        bed.plausible(274.15, Spread::PlusMinus(3.0)),
        (273.15, 277.15),
    );
    let share = range(Quantity::Fraction, "", (0.0, 1.0));
    near(share.plausible(0.95, Spread::PlusMinus(0.1)), (0.85, 1.0));
}
