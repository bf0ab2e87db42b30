//! Rewrites a clone's sources so that every change is compiled in and waits for its number in the
//! environment.

use std::collections::{BTreeSet, HashMap};
use std::path::Path;
use std::process::Command;

use proc_macro2::LineColumn;
use quote::{ToTokens, quote};
use serde_json::Value;
use syn::spanned::Spanned;
use syn::visit_mut::{self, VisitMut};
use syn::{Attribute, BinOp, Block, Expr, Signature, UnOp, parse_quote};

use crate::{Failed, Mutant};

pub const VARIABLE: &str = "DOGDAYS_MUTANT";

/// The module that the clone gets. No lock and no `unsafe`: reading the variable twice does no harm.
const SWITCH: &str = r#"
use std::sync::atomic::{AtomicU32, Ordering};
static ON: AtomicU32 = AtomicU32::new(u32::MAX);
/// The change that is made in this process; none is zero.
pub(crate) fn on() -> u32 {
    let on = ON.load(Ordering::Relaxed);
    if on == u32::MAX { read() } else { on }
}
#[cold]
fn read() -> u32 {
    let on = std::env::var("DOGDAYS_MUTANT").map_or(0, |v| v.parse().expect("a number"));
    ON.store(on, Ordering::Relaxed);
    on
}
/// Whether it is one of a function's.
pub(crate) fn among(first: u32, last: u32) -> bool {
    (first..=last).contains(&on())
}
"#;

/// Writes the switched sources, leaving out what does not compile. Returns the numbers that can be
/// switched on.
pub fn build(copy: &Path, mutants: &[Mutant]) -> Result<BTreeSet<u32>, Failed> {
    let files: BTreeSet<&str> = mutants.iter().map(|m| m.file.as_str()).collect();
    let mut sources = HashMap::new();
    for file in files {
        sources.insert(file, std::fs::read_to_string(copy.join(file))?);
    }
    std::fs::write(copy.join("src/switched.rs"), SWITCH)?;
    let library = copy.join("src/lib.rs");
    let text = std::fs::read_to_string(&library)?;
    std::fs::write(&library, text + "\nmod switched;\n")?;

    let mut refused = BTreeSet::new();
    loop {
        let mut used = BTreeSet::new();
        for (file, source) in &sources {
            let wanted = |m: &&Mutant| m.file == *file && !refused.contains(&m.id);
            let mut switcher = Switcher::new(mutants.iter().filter(wanted));
            let mut parsed = syn::parse_file(source)?;
            switcher.visit_file_mut(&mut parsed);
            used.extend(switcher.used);
            std::fs::write(copy.join(file), prettyplease::unparse(&parsed))?;
        }
        let wrong = mistakes(copy)?;
        println!(
            "{} switched, {} of them do not compile",
            used.len(),
            wrong.len()
        );
        if wrong.is_empty() {
            return Ok(used);
        }
        refused.extend(wrong);
    }
}

/// The changes that the compiler objects to. It stops at the first kind of mistake, so that there may be
/// more behind them.
fn mistakes(copy: &Path) -> Result<BTreeSet<u32>, Failed> {
    let mut command = Command::new("cargo");
    command.args([
        "check",
        "--lib",
        "--profile",
        "mutants",
        "--message-format",
        "json",
    ]);
    let said = command.current_dir(copy).output()?;
    let (mut wrong, mut words) = (BTreeSet::new(), String::new());
    for line in String::from_utf8(said.stdout)?.lines() {
        let message = &serde_json::from_str::<Value>(line)?["message"];
        if message["level"] != "error" {
            continue;
        }
        words += message["rendered"].as_str().unwrap_or_default();
        let spans = message["spans"].as_array().into_iter().flatten();
        for span in spans.filter(|s| s["is_primary"] == true) {
            let number = |key| span[key].as_u64().unwrap_or_default() as usize;
            let file = copy.join(span["file_name"].as_str().unwrap_or_default());
            let text = std::fs::read_to_string(file)?;
            // An arm stands on the line of its number; what is returned, up to two lines below.
            let (first, last) = (number("line_start"), number("line_end"));
            let above = (0..3).map(|up| first.saturating_sub(up).max(1));
            let lines = |from: usize| text.lines().skip(from - 1).take(last + 1 - from);
            let found = above.map(|from| lines(from).flat_map(marks).collect::<Vec<_>>());
            wrong.extend(
                found
                    .into_iter()
                    .find(|f| !f.is_empty())
                    .unwrap_or_default(),
            );
        }
    }
    if !said.status.success() && wrong.is_empty() {
        return Err(format!(
            "no change to blame:\n{words}{}",
            String::from_utf8_lossy(&said.stderr)
        )
        .into());
    }
    Ok(wrong)
}

/// Numbers written as `17u32`.
fn marks(line: &str) -> Vec<u32> {
    let ends = line.match_indices("u32").map(|(at, _)| at);
    ends.filter_map(|at| {
        let digits = line[..at]
            .chars()
            .rev()
            .take_while(char::is_ascii_digit)
            .count();
        line[at - digits..at].parse().ok()
    })
    .collect()
}

type Place = (usize, usize);

struct Switcher<'a> {
    /// Changes to operators and guards by where they begin.
    places: HashMap<Place, Vec<&'a Mutant>>,
    /// Values returned at once, by where the function ends.
    returns: HashMap<Place, Vec<&'a Mutant>>,
    used: BTreeSet<u32>,
}

fn place(at: LineColumn) -> Place {
    (at.line, at.column + 1)
}

fn parse(text: &str) -> Option<proc_macro2::TokenStream> {
    text.parse().ok()
}

impl<'a> Switcher<'a> {
    fn new(mutants: impl Iterator<Item = &'a Mutant>) -> Self {
        let (mut places, mut returns) = (HashMap::new(), HashMap::new());
        for m in mutants {
            let list: &mut Vec<_> = match (m.genre.as_str(), m.function_end) {
                ("FnValue", Some(end)) => returns.entry(end).or_default(),
                ("StructField" | "MatchArm", _) => continue,
                _ => places.entry(m.start).or_default(),
            };
            list.push(m);
        }
        Self {
            places,
            returns,
            used: BTreeSet::new(),
        }
    }

    fn at(&self, at: LineColumn, genre: &str) -> Vec<&'a Mutant> {
        let there = self.places.get(&place(at)).cloned().unwrap_or_default();
        there.into_iter().filter(|m| m.genre == genre).collect()
    }

    /// A function runs as written, at full speed, unless the change in question is one of its own.
    fn body(&mut self, attributes: &[Attribute], signature: &Signature, block: &mut Block) {
        let is_test = |a: &Attribute| a.path().is_ident("test") || a.path().is_ident("cfg");
        if signature.constness.is_some() || attributes.iter().any(is_test) {
            return;
        }
        let end = place(block.brace_token.span.close().end());
        let outer = std::mem::take(&mut self.used);
        let original = block.clone();
        visit_mut::visit_block_mut(self, block);
        for m in self.returns.get(&end).cloned().unwrap_or_default() {
            let Some(value) = parse(&m.replacement) else {
                continue;
            };
            let id = m.id;
            block.stmts.insert(
                0,
                parse_quote!(if crate::switched::on() == #id { return #value; }),
            );
            self.used.insert(id);
        }
        if let (Some(first), Some(last)) = (self.used.first(), self.used.last()) {
            // Two bodies cannot both be the one type behind an `impl`.
            let output = signature.output.to_token_stream().to_string();
            if !output.contains("impl ") {
                *block = parse_quote!({
                    if crate::switched::among(#first, #last) #block else #original
                });
            }
        }
        self.used.extend(outer);
    }

    fn operator(&mut self, mutants: &[&Mutant], e: &mut Expr) {
        let mut arms = quote!();
        let mut switched = quote!();
        match e {
            Expr::Binary(b) => {
                let (l, op, r) = (&b.left, &b.op, &b.right);
                for m in mutants {
                    let Some(other) = parse(&m.replacement) else {
                        continue;
                    };
                    let id = m.id;
                    arms.extend(match kind(op) {
                        Kind::Value => quote!(#id => l #other r,),
                        Kind::Comparison => quote!(#id => *l #other *r,),
                        Kind::Assignment => quote!(#id => #l #other __by,),
                        Kind::Lazy => quote!(#id => (#l) #other (#r),),
                    });
                    self.used.insert(id);
                }
                switched = match kind(op) {
                    // Both sides are evaluated once, in order, and what they borrow lives on.
                    Kind::Value => quote!(match (#l, #r) {
                        (l, r) => match crate::switched::on() { #arms _ => l #op r }
                    }),
                    Kind::Comparison => quote!(match (&(#l), &(#r)) {
                        (l, r) => match crate::switched::on() { #arms _ => *l #op *r }
                    }),
                    Kind::Assignment => quote!(match #r {
                        __by => match crate::switched::on() { #arms _ => #l #op __by }
                    }),
                    Kind::Lazy if holds_let(l) || holds_let(r) => {
                        for m in mutants {
                            self.used.remove(&m.id);
                        }
                        return;
                    }
                    Kind::Lazy => quote!(match crate::switched::on() { #arms _ => (#l) #op (#r) }),
                };
            }
            Expr::Unary(u) => {
                let (op, of) = (&u.op, &u.expr);
                for m in mutants {
                    let id = m.id;
                    arms.extend(quote!(#id => v,));
                    self.used.insert(id);
                }
                switched = quote!(match #of {
                    v => match crate::switched::on() { #arms _ => #op v }
                });
            }
            _ => {}
        }
        *e = parse_quote!((#switched));
    }
}

enum Kind {
    Value,
    Comparison,
    Assignment,
    Lazy,
}

fn kind(op: &BinOp) -> Kind {
    use BinOp::{And, Eq, Ge, Gt, Le, Lt, Ne, Or};
    match op {
        And(_) | Or(_) => Kind::Lazy,
        Eq(_) | Ne(_) | Lt(_) | Le(_) | Gt(_) | Ge(_) => Kind::Comparison,
        op if op.to_token_stream().to_string().ends_with('=') => Kind::Assignment,
        _ => Kind::Value,
    }
}

fn holds_let(e: &Expr) -> bool {
    match e {
        Expr::Let(_) => true,
        Expr::Binary(b) => holds_let(&b.left) || holds_let(&b.right),
        _ => false,
    }
}

impl VisitMut for Switcher<'_> {
    fn visit_item_mod_mut(&mut self, i: &mut syn::ItemMod) {
        if !i.attrs.iter().any(|a| a.path().is_ident("cfg")) {
            visit_mut::visit_item_mod_mut(self, i);
        }
    }

    fn visit_item_fn_mut(&mut self, i: &mut syn::ItemFn) {
        self.body(&i.attrs, &i.sig, &mut i.block);
    }

    fn visit_impl_item_fn_mut(&mut self, i: &mut syn::ImplItemFn) {
        self.body(&i.attrs, &i.sig, &mut i.block);
    }

    fn visit_trait_item_fn_mut(&mut self, i: &mut syn::TraitItemFn) {
        if let Some(block) = &mut i.default {
            self.body(&i.attrs, &i.sig, block);
        }
    }

    fn visit_arm_mut(&mut self, arm: &mut syn::Arm) {
        let guards = arm.guard.as_ref().map_or(Vec::new(), |(_, g)| {
            self.at(g.span().start(), "MatchArmGuard")
        });
        visit_mut::visit_arm_mut(self, arm);
        if let Some((_, guard)) = &mut arm.guard {
            for m in guards {
                let (id, value) = (m.id, parse(&m.replacement));
                **guard = parse_quote!(match crate::switched::on() { #id => #value, _ => #guard });
                self.used.insert(id);
            }
        }
    }

    fn visit_expr_mut(&mut self, e: &mut Expr) {
        let mutants = match e {
            Expr::Binary(b) => self.at(b.op.span().start(), "BinaryOperator"),
            Expr::Unary(u) if !matches!(u.op, UnOp::Deref(_)) => {
                self.at(u.op.span().start(), "UnaryOperator")
            }
            _ => Vec::new(),
        };
        visit_mut::visit_expr_mut(self, e);
        if !mutants.is_empty() {
            self.operator(&mutants, e);
        }
    }

    // What the compiler evaluates cannot be switched: constants, lengths, patterns, types.
    fn visit_item_const_mut(&mut self, _: &mut syn::ItemConst) {}
    fn visit_item_static_mut(&mut self, _: &mut syn::ItemStatic) {}
    fn visit_item_enum_mut(&mut self, _: &mut syn::ItemEnum) {}
    fn visit_impl_item_const_mut(&mut self, _: &mut syn::ImplItemConst) {}
    fn visit_trait_item_const_mut(&mut self, _: &mut syn::TraitItemConst) {}
    fn visit_expr_const_mut(&mut self, _: &mut syn::ExprConst) {}
    fn visit_pat_mut(&mut self, _: &mut syn::Pat) {}
    fn visit_type_mut(&mut self, _: &mut syn::Type) {}
    fn visit_generic_argument_mut(&mut self, _: &mut syn::GenericArgument) {}
    fn visit_expr_repeat_mut(&mut self, e: &mut syn::ExprRepeat) {
        self.visit_expr_mut(&mut e.expr);
    }
}
