//! The declared keys keep their own promises.

use crate::keys::fields::coefficients::COEFFICIENTS;
use crate::keys::fields::{RUN_FILE, table_of};
use crate::keys::kinds::Kind as EntryKind;
use crate::keys::schema::{Field, Kind, Need, Table};
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
