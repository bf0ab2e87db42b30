//! Changes to texts: what fingers, editors and programs do to a file, and what nobody would.

use fastrand::Rng;

use crate::words::{CSV_PIECES, NUMBERS, PIECES, UNITS, WORDS};

/// Longer files only make the rest slower.
const LONGEST: usize = 20_000;

/// One of a list.
pub fn pick<'a, T>(random: &mut Rng, list: &'a [T]) -> &'a T {
    &list[random.usize(..list.len())]
}

/// Whether something happens that happens so often.
pub fn chance(random: &mut Rng, share: f64) -> bool {
    random.f64() < share
}

/// A run file or an entry of the catalogue, changed once or a few times. Pieces may come from another.
pub fn toml(random: &mut Rng, text: &str, other: &str) -> String {
    let rounds = if chance(random, 0.6) {
        1
    } else {
        random.usize(1..7)
    };
    let mut text = text.to_owned();
    for _ in 0..rounds {
        text = once(random, &text, other);
        text.truncate(boundary(&text, LONGEST));
    }
    text
}

/// A table, changed.
pub fn csv(random: &mut Rng, text: &str) -> String {
    let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    for _ in 0..random.usize(1..5) {
        let at = random.usize(..lines.len());
        match random.u8(..9) {
            0 if lines.len() > 1 => drop(lines.remove(at)),
            1 => lines.insert(random.usize(..=lines.len()), lines[at].clone()),
            2 => {
                let other = random.usize(..lines.len());
                lines.swap(at, other);
            }
            3 => {
                let end = random.usize(1..=lines.len());
                lines.truncate(end);
            }
            4 => {
                let by = *pick(random, &[";", "\t", " ", ", ", "\",\"", ""]);
                let all = chance(random, 0.5);
                for line in lines.iter_mut().skip(if all { 0 } else { at }) {
                    *line = line.replace(',', by);
                }
            }
            5 => {
                let number = *pick(random, NUMBERS);
                if let Some((first, _)) = lines[at].split_once(',') {
                    lines[at] = format!("{first},{number}");
                }
            }
            6 => {
                let word = *pick(random, WORDS);
                if let Some((_, rest)) = lines[at].split_once(',') {
                    lines[at] = format!("{word},{rest}");
                }
            }
            7 => lines[at].push('\r'),
            _ => {
                let piece = *pick(random, CSV_PIECES);
                let place = boundary(&lines[at], random.usize(..=lines[at].len()));
                lines[at].insert_str(place, piece);
            }
        }
    }
    lines.join("\n")
}

/// Bytes that need not be text any more.
pub fn bytes(random: &mut Rng, text: &str) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    if chance(random, 0.1) {
        let little = text.encode_utf16().flat_map(u16::to_le_bytes);
        return [0xFF, 0xFE].into_iter().chain(little).collect();
    }
    for _ in 0..random.usize(1..9) {
        let at = random.usize(..=bytes.len());
        match random.u8(..3) {
            0 => bytes.insert(at, random.u8(..)),
            1 if at < bytes.len() => bytes[at] ^= 1 << random.u8(..8),
            _ => {
                let end = (at + random.usize(..30)).min(bytes.len());
                bytes.drain(at..end);
            }
        }
    }
    bytes
}

/// A quantity as somebody might type it.
pub fn quantity(random: &mut Rng) -> String {
    let mut text = format!("{} {}", pick(random, NUMBERS), pick(random, UNITS));
    if chance(random, 0.3) {
        text = format!("{text} {}{}", pick(random, NUMBERS), pick(random, UNITS));
    }
    if chance(random, 0.3) {
        text = once(random, &text, "5 h");
    }
    text
}

fn boundary(text: &str, mut at: usize) -> usize {
    at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

fn place(random: &mut Rng, text: &str) -> usize {
    boundary(text, random.usize(..=text.len()))
}

/// What stands in quotes in one line: from and to.
fn quoted(text: &str) -> Vec<(usize, usize)> {
    let marks: Vec<usize> = text.match_indices('"').map(|(at, _)| at).collect();
    let pairs = marks.chunks_exact(2).map(|pair| (pair[0] + 1, pair[1]));
    pairs
        .filter(|(from, to)| !text[*from..*to].contains('\n'))
        .collect()
}

fn once(random: &mut Rng, text: &str, other: &str) -> String {
    let values = quoted(text);
    let value = (!values.is_empty()).then(|| *pick(random, &values));
    let mut lines: Vec<&str> = text.split('\n').collect();
    let line = random.usize(..lines.len());
    let with = |at: (usize, usize), by: &str| format!("{}{by}{}", &text[..at.0], &text[at.1..]);
    let is_digit = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-');
    match (random.u8(..18), value) {
        (0..=3, Some((from, to))) => {
            let inner = &text[from..to];
            let end = from + inner.find(|c| !is_digit(c)).unwrap_or(inner.len());
            let number: f64 = text[from..end].parse().unwrap_or(1.0);
            let scaled = number * 10_f64.powf(6.0 * random.f64() - 3.0);
            let typed = if chance(random, 0.5) {
                (*pick(random, NUMBERS)).to_owned()
            } else {
                scaled.to_string()
            };
            with((from, end), &typed)
        }
        (4 | 5, Some((from, to))) => {
            let inner = &text[from..to];
            let begin = from + inner.find(|c| !is_digit(c)).unwrap_or(inner.len());
            with((begin, to), &format!(" {}", pick(random, UNITS)))
        }
        (6, Some(at)) => with(at, pick::<&str>(random, WORDS)),
        (7, Some((from, to))) => with((from - 1, to + 1), pick::<&str>(random, NUMBERS)),
        (8, _) if lines.len() > 1 => {
            lines.remove(line);
            lines.join("\n")
        }
        (9, _) => {
            lines.insert(random.usize(..=lines.len()), lines[line]);
            lines.join("\n")
        }
        (10, _) => {
            lines.swap(line, random.usize(..text.split('\n').count()));
            lines.join("\n")
        }
        (11, _) => {
            // What stands commented out is switched on.
            if let Some(on) = lines[line].strip_prefix("# ") {
                lines[line] = on;
            }
            lines.join("\n")
        }
        (12, _) => {
            let at = place(random, text);
            with((at, at), pick::<&str>(random, PIECES))
        }
        (13, _) => {
            let at = place(random, text);
            let c = random.char(..);
            with((at, at), c.encode_utf8(&mut [0; 4]))
        }
        (14, _) => {
            let at = place(random, text);
            let end = boundary(text, at + random.usize(..40));
            with((at, end.max(at)), "")
        }
        (15, _) => {
            let others: Vec<&str> = other.split('\n').collect();
            let from = random.usize(..others.len());
            let to = (from + random.usize(1..12)).min(others.len());
            let at = random.usize(..=lines.len());
            lines.splice(at..at, others[from..to].iter().copied());
            lines.join("\n")
        }
        (16, _) => text[..place(random, text)].to_owned(),
        _ => text.replace('\n', "\r\n"),
    }
}
