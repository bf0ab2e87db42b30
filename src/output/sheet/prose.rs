//! Sentences, points and facts as parts of a page, and texts made for a screen turned into them.

use maud::{Markup, html};

use crate::output::screen::Screen;
use crate::quantity::System;

/// A screen on which no line is broken: what is written on it can be turned into a page.
pub const fn endless(system: System) -> Screen {
    Screen {
        width: 100_000,
        system,
    }
}

/// A sentence; what stands between backquotes is a key or a command.
pub fn words(text: &str) -> Markup {
    html! {
        @for (k, piece) in text.split('`').enumerate() {
            @if k % 2 == 1 { code { (piece) } } @else { (piece) }
        }
    }
}

/// Points of a list.
pub fn list(points: impl Iterator<Item = impl AsRef<str>>) -> Markup {
    let points: Vec<String> = points.map(|p| capital(p.as_ref())).collect();
    html! {
        @if !points.is_empty() {
            ul { @for point in &points { li { (words(point)) } } }
        }
    }
}

/// Names and what they stand for.
pub fn facts(facts: &[(impl AsRef<str>, String)]) -> Markup {
    html! {
        @if !facts.is_empty() {
            dl.facts {
                @for (name, value) in facts {
                    dt { (name.as_ref()) }
                    dd { (words(value)) }
                }
            }
        }
    }
}

/// A part of a text as it is written on a screen.
enum Part {
    Paragraph(String),
    Point(String),
    Fact(String, String),
    /// What goes on below a fact.
    More(String),
}

/// Where what is said begins behind a name, letters: as [`Screen::entry`] writes it.
const FACT_AT: usize = 13;

/// A text that was written on an [`endless`] screen, without tables.
pub fn text(text: &str) -> Markup {
    let parts: Vec<Part> = text.lines().filter_map(part).collect();
    let (mut points, mut named): (Vec<String>, Vec<(String, String)>) = (Vec::new(), Vec::new());
    let mut done: Vec<Markup> = Vec::new();
    let close =
        |points: &mut Vec<String>, named: &mut Vec<(String, String)>, done: &mut Vec<Markup>| {
            if !points.is_empty() {
                done.push(list(points.drain(..)));
            }
            if !named.is_empty() {
                done.push(facts(named));
                named.clear();
            }
        };
    for part in parts {
        match part {
            Part::Point(text) => {
                if !named.is_empty() {
                    close(&mut points, &mut named, &mut done);
                }
                points.push(text);
            }
            Part::More(text) => match named.last_mut() {
                Some((_, value)) => *value = format!("{value}; {text}"),
                None => done.push(html! { p { (words(&text)) } }),
            },
            Part::Fact(name, value) => {
                if !points.is_empty() {
                    close(&mut points, &mut named, &mut done);
                }
                named.push((name, value));
            }
            Part::Paragraph(text) => {
                close(&mut points, &mut named, &mut done);
                done.push(html! { p { (words(&text)) } });
            }
        }
    }
    close(&mut points, &mut named, &mut done);
    html! { @for part in &done { (part) } }
}

fn part(line: &str) -> Option<Part> {
    let trimmed = line.trim();
    if trimmed.is_empty() {
        return None;
    }
    if let Some(point) = line
        .strip_prefix("  - ")
        .or_else(|| line.strip_prefix("  ! "))
    {
        return Some(Part::Point(point.trim().to_owned()));
    }
    if line.len() > FACT_AT && line.starts_with(&" ".repeat(FACT_AT)) {
        return Some(Part::More(trimmed.to_owned()));
    }
    let name: String = line.chars().take(FACT_AT).collect();
    let value: String = line.chars().skip(FACT_AT).collect();
    let is_fact = name.chars().count() == FACT_AT && name.ends_with(' ') && !value.starts_with(' ');
    // A name of some words would be a sentence: behind a fact's name stand two spaces, or it is as long as may be.
    let padded = name.ends_with("  ") || name.trim_end().chars().count() == FACT_AT - 1;
    if is_fact && padded && !value.is_empty() && !line.starts_with("  ") {
        return Some(Part::Fact(name.trim().to_owned(), value));
    }
    Some(Part::Paragraph(trimmed.to_owned()))
}

/// With a capital at its begin.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_for_the_screen_becomes_a_part_of_a_page() {
        let screen = endless(System::Si);
        let mut out = String::new();
        screen.paragraph(&mut out, "All holds, <b>says</b> somebody.");
        screen.entry(&mut out, "Run", "a & b");
        screen.entry(&mut out, "", "and `c`");
        screen.entry(&mut out, "Longest time", "three days");
        out.push('\n');
        screen.bullet(&mut out, "mind the gap");
        screen.bullet(&mut out, "and the step");
        assert_eq!(
            text(&out).into_string(),
            "<p>All holds, &lt;b&gt;says&lt;/b&gt; somebody.</p>\
             <dl class=\"facts\"><dt>Run</dt><dd>a &amp; b; and <code>c</code></dd><dt>Longest time</dt><dd>three days</dd></dl>\
             <ul><li>Mind the gap</li><li>And the step</li></ul>"
        );
    }
}
