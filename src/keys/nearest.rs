//! Which known names are nearest to what was typed.

use std::fmt::Display;

/// No name of ours is nearly so long; what is longer is no slip of one, and comparing it would take time.
const LONGEST: usize = 80;
/// Of names that are equally near, more than these would be a list and no hint.
const MOST: usize = 3;

/// The name among `known` that is nearest to what was typed, if it is near enough to be a slip.
#[must_use]
pub fn nearest<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    all_nearest(typed, known).first().copied()
}

/// "did you mean `bed`?", or both where two names are equally near, each written by `shown`; none where
/// nothing is near enough to be a slip.
#[must_use]
pub fn did_you_mean<'a, D: Display>(
    typed: &str,
    known: impl IntoIterator<Item = &'a str>,
    shown: impl Fn(&'a str) -> D,
) -> Option<String> {
    let near = all_nearest(typed, known);
    let texts: Vec<String> = near
        .into_iter()
        .map(|name| shown(name).to_string())
        .collect();
    let (last, rest) = texts.split_last()?;
    Some(if rest.is_empty() {
        format!("did you mean {last}?")
    } else {
        format!("did you mean {} or {last}?", rest.join(", "))
    })
}

/// The names that are nearest, if they are near enough to be slips. Separators and capitals don't count;
/// of those as near, the ones with the same digits are taken: `bench-220` for `bench221` or `bench 220x`,
/// never the other size.
fn all_nearest<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let typed = folded(typed);
    let length = typed.chars().count();
    if length == 0 || length > LONGEST {
        return Vec::new();
    }
    let mut best = usize::MAX;
    let mut found: Vec<(&str, bool)> = Vec::new();
    for name in known {
        let name_folded = folded(name);
        let name_length = name_folded.chars().count();
        let most = (name_length.max(length) / 3).max(1);
        // "power" for "max_power" is far by letters and near by meaning.
        let part =
            length >= 3 && (name_folded.starts_with(&typed) || name_folded.ends_with(&typed));
        if !part && name_length.abs_diff(length) > most {
            continue;
        }
        let distance = strsim::damerau_levenshtein(&typed, &name_folded);
        let distance = if part { distance.min(1) } else { distance };
        if distance > most || distance > best {
            continue;
        }
        if distance < best {
            best = distance;
            found.clear();
        }
        // The same name may be known from several places.
        if found.iter().all(|(other, _)| *other != name) {
            found.push((name, digits(&name_folded) == digits(&typed)));
        }
    }
    if found.iter().any(|(_, same_digits)| *same_digits) {
        found.retain(|(_, same_digits)| *same_digits);
    }
    found.into_iter().map(|(name, _)| name).take(MOST).collect()
}

fn folded(text: &str) -> String {
    text.to_lowercase().replace(['-', ' ', '_'], "")
}

fn digits(text: &str) -> String {
    text.chars().filter(char::is_ascii_digit).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_forgives_slips_but_not_strangers() {
        let known = ["duration", "max_power", "petg", "pla"];
        assert_eq!(nearest("durration", known), Some("duration"));
        assert_eq!(nearest("Max-Power", known), Some("max_power"));
        assert_eq!(nearest("power", known), Some("max_power"));
        assert_eq!(nearest("elephant", known), None);
        assert_eq!(nearest("", known), None);
    }

    #[test]
    fn sizes_are_not_swapped_and_ties_are_named() {
        let known = ["bench-110", "bench-20", "bench-220", "bench-60"];
        assert_eq!(nearest("bench220", known), Some("bench-220"));
        assert_eq!(nearest("bensh-20", known), Some("bench-20"));
        let said = |typed| did_you_mean(typed, known, |name| format!("\"{name}\""));
        assert_eq!(
            said("bench-120").as_deref(),
            Some("did you mean \"bench-110\", \"bench-20\" or \"bench-220\"?")
        );
        assert_eq!(
            said("bench_220").as_deref(),
            Some("did you mean \"bench-220\"?")
        );
        assert_eq!(said("hall"), None);
    }

    /// A key as long as a book is compared with nothing.
    #[test]
    fn long_texts_are_no_slips() {
        let long = "duration".repeat(1_000_000);
        assert_eq!(nearest(&long, ["duration"; 1_000]), None);
    }
}
