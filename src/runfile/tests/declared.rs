//! The declared keys keep their own promises.

use crate::keys::fields::RUN_FILE;
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
        walk(kind.table(), kind.name(), visit);
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
        if let Need::Default(text) = field.need {
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

/// A coefficient set to one of its own unit is one, whatever that unit's size in SI.
#[test]
fn coefficients_are_declared_with_the_units_of_their_list() {
    for coefficient in crate::coefficients::Coefficient::ALL {
        let known = coefficient.describe();
        let field = crate::keys::fields::COEFFICIENTS
            .field(known.name)
            .expect("declared");
        let Kind::Quantity(range) = field.kind else {
            panic!("{}", known.name)
        };
        assert_eq!(range.unit, known.unit);
        assert_eq!(
            range.quantity == Quantity::Number,
            known.unit.is_empty(),
            "{}",
            known.name
        );
        let text = range.quantity.to_text(range.si(known.default), range.unit);
        let si = parse(&text, range.quantity).expect("own text is read again");
        assert!(
            (si / range.si(1.0) - known.default).abs() < 1e-9,
            "{}: {text}",
            known.name
        );
    }
}
