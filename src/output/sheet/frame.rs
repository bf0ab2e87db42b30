//! The page around a sheet: head, title block, how to rerun it, a line to sign.

use std::io;
use std::path::PathBuf;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD as BASE64;
use jiff::civil::DateTime;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use super::prose;
use crate::output::font::{Weight, file};
use crate::output::signature::SHEET as MARK;
use crate::output::words::moment;
use crate::plain::{plain, plain_lines};
use crate::study::Verdict;
use crate::study::cautions::Caution;

/// The heading of what is handed out as a sheet of its own: it begins on a page of its own.
pub const LOG_SHEET: &str = "Log sheet";

const TOKENS: &str = include_str!("front-end/tokens.css");
const SHEET: &str = include_str!("front-end/sheet.css");
const PRINT: &str = include_str!("front-end/print.css");

/// A file that a run was read from, and what tells its content from any other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// As it was named.
    pub name: String,
    /// SHA-256 of its bytes (FIPS 180-4), in hexadecimal digits.
    pub sha256: String,
}

impl Source {
    /// A file of these bytes.
    #[must_use]
    pub fn new(name: &str, bytes: &[u8]) -> Self {
        let digest = Sha256::digest(bytes);
        let digits: Vec<String> = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        Self {
            name: name.to_owned(),
            sha256: digits.concat(),
        }
    }
}

/// Those files as they are now.
///
/// # Errors
/// When one can't be read.
pub fn sources_of(files: &[PathBuf]) -> io::Result<Vec<Source>> {
    let each = files.iter().map(|path| {
        let bytes = std::fs::read(path)?;
        Ok(Source::new(&path.display().to_string(), &bytes))
    });
    each.collect()
}

/// Where a sheet comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Origin {
    /// Values that were set beside what was read: keys and texts.
    pub set: Vec<(String, String)>,
    /// The command that makes it again.
    pub command: String,
    /// Files that the run was read from.
    pub sources: Vec<Source>,
    /// When it was made, local time.
    pub made_at: Option<DateTime>,
}

/// What stands on a sheet.
#[derive(Debug)]
pub struct Content {
    /// Name of the run, as the user wrote it.
    pub name: String,
    /// What kind of question it answers, in a few words.
    pub kind: &'static str,
    /// Names and values of the title block.
    pub block: Vec<(&'static str, String)>,
    /// The word for the answer, which decides the mark beside it; none for an answer that is no verdict.
    pub verdict: Option<Verdict>,
    /// Whether something else speaks against what the word says: it is marked as less than sure then.
    pub is_qualified: bool,
    /// Whether it is about starting a job as described.
    pub is_about_start: bool,
    /// The answer in sentences.
    pub answer: Vec<String>,
    /// Headings and what stands below them.
    pub sections: Vec<(&'static str, Markup)>,
    /// What the reader must mind.
    pub cautions: Vec<Caution>,
    /// Behind the line to sign: headings and tables to look things up in.
    pub appendix: Vec<(&'static str, Markup)>,
}

/// The whole page.
#[must_use]
pub fn page(content: &Content, origin: &Origin) -> String {
    let style = style(content, origin);
    let digest = BASE64.encode(Sha256::digest(style.as_bytes()));
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{digest}'; font-src data:; base-uri 'none'; form-action 'none'"
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                (PreEscaped(MARK))
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="referrer" content="no-referrer";
                title { (content.name) " - " (content.kind) }
                style { (PreEscaped(&style)) }
            }
            body {
                main {
                    (title_block(content, origin))
                    (answer(content))
                    @for (heading, body) in &content.sections {
                        section class=[(*heading == LOG_SHEET).then_some("page")] {
                            h2 { (heading) }
                            (body)
                        }
                    }
                    @if !content.cautions.is_empty() {
                        section {
                            h2 { "Cautions" }
                            (prose::list(content.cautions.iter().map(|c| c.text())))
                        }
                    }
                    section {
                        h2 { "How to make this sheet again" }
                        (again(origin))
                        (sign(content.is_about_start))
                    }
                    @for (k, (heading, body)) in content.appendix.iter().enumerate() {
                        section class=[(k == 0).then_some("page")] {
                            h2 { (heading) }
                            (body)
                        }
                    }
                }
            }
        }
    };
    // Signs that turn the direction of reading would act on what stands around them.
    plain_lines(&page.into_string()).into_owned()
}

/// The letters of the drawings, TrueType: regular and semibold.
pub const LETTERS: [&[u8]; 2] = [file(Weight::Regular), file(Weight::Semibold)];

/// Everything that the page's one style element holds: it needs no other file.
fn style(content: &Content, origin: &Origin) -> String {
    let face = |weight: Weight, number: u32| {
        let data = BASE64.encode(file(weight));
        format!(
            "@font-face{{font-family:\"Dogdays Chart\";font-weight:{number};src:url(data:font/ttf;base64,{data}) format(\"truetype\")}}\n"
        )
    };
    [
        face(Weight::Regular, 400),
        face(Weight::Semibold, 600),
        TOKENS.to_owned(),
        SHEET.to_owned(),
        PRINT.to_owned(),
        running_head(content, origin),
    ]
    .concat()
}

/// Above every printed page: of which run it is, and when and from what it was made, so that a loose one can be put
/// back.
fn running_head(content: &Content, origin: &Origin) -> String {
    const LONGEST: usize = 60;
    let mut name: String = plain(&content.name).chars().take(LONGEST).collect();
    if name.chars().count() < content.name.chars().count() {
        name.push('…');
    }
    let mut parts = vec![name];
    parts.extend(
        origin
            .made_at
            .map(|at| at.strftime("%-d %b %Y %H:%M UTC").to_string()),
    );
    let digest = origin
        .sources
        .last()
        .map(|s| s.sha256.chars().take(8).collect::<String>());
    parts.extend(digest);
    let text = parts.join(" \u{b7} ");
    // As CSS escapes: no sign of a name ends the text or the style.
    let escaped: String = text
        .chars()
        .map(|c| match c.is_ascii_alphanumeric() || c == ' ' {
            true => c.to_string(),
            false => format!("\\{:x} ", u32::from(c)),
        })
        .collect();
    format!("@page {{ @top-left {{ content: \"{escaped}\"; font-size: 8pt; color: #555; }} }}\n")
}

fn title_block(content: &Content, origin: &Origin) -> Markup {
    html! {
        header.block {
            dl {
                div.name { dt { "Run" } dd { h1 { (content.name) } } }
                div { dt { "Question" } dd { (content.kind) } }
                @for (name, value) in &content.block {
                    div { dt { (name) } dd { (value) } }
                }
                @if let Some(made_at) = origin.made_at {
                    div { dt { "Made" } dd { (made_at.strftime("%a %-d %b %Y %H:%M")) " UTC" } }
                }
                div { dt { "Program" } dd { "dogdays " (env!("CARGO_PKG_VERSION")) } }
            }
        }
    }
}

fn answer(content: &Content) -> Markup {
    let class = content.verdict.map_or("", |verdict| match verdict {
        Verdict::Holds if content.is_qualified => "tight",
        Verdict::Holds => "holds",
        Verdict::Tight => "tight",
        Verdict::Softens => "softens",
        Verdict::CannotRun => "cannot-run",
    });
    html! {
        div class=(format!("answer {class}")) {
            @for (k, sentence) in content.answer.iter().enumerate() {
                p {
                    @match (k, content.verdict, sentence.split_once(':')) {
                        (0, Some(_), Some((word, rest))) => { strong { (word) ":" } (prose::words(rest)) }
                        _ => (prose::words(sentence))
                    }
                }
            }
        }
    }
}

fn again(origin: &Origin) -> Markup {
    html! {
        p { "With dogdays " (env!("CARGO_PKG_VERSION")) ", in the folder in which it was typed:" }
        p { code { (origin.command) } }
        @if !origin.set.is_empty() {
            p { "Then, on the page, these values; or write them into the run file:" }
            (prose::facts(&origin.set))
        }
        @if !origin.sources.is_empty() {
            div.scroll tabindex="0" role="group" aria-label="What it was read from" {
                table {
                    caption { "What it was read from, each with the SHA-256 of its content" }
                    thead { tr { th scope="col" { "file" } th scope="col" { "SHA-256" } } }
                    tbody {
                        @for source in &origin.sources {
                            tr { th scope="row" { (source.name) } td { code { (source.sha256) } } }
                        }
                    }
                }
            }
        }
    }
}

/// Who decided what.
fn sign(about_start: bool) -> Markup {
    html! {
        div.decision {
            h3 { "Decision" }
            @if about_start {
                ul.boxes {
                    li { span.box {} "start as described" }
                    li { span.box {} "start with changes, written here:" }
                    li { span.box {} "do not start" }
                }
            } @else {
                p { "Decided, and why:" }
            }
            div.sign {
                div { "name" }
                div { "date and time" }
                div { "signature" }
            }
        }
    }
}

/// The moment a run starts, as a title block has it.
pub(super) fn starts(start: DateTime) -> String {
    moment(start, 0.0)
        .strftime("%a %-d %b %Y %H:%M")
        .to_string()
}
