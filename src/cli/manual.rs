//! `dogdays manual` and `dogdays completions`: made from the same declarations as the help.

use super::common::{Failure, Outcome, print};
use crate::output::keys;

/// Options of `completions`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays completions bash > ~/.local/share/bash-completion/completions/dogdays
  dogdays completions fish > ~/.config/fish/completions/dogdays.fish
  dogdays completions zsh > _dogdays     in a folder of zsh's fpath")]
pub struct CompletionOptions {
    /// The shell.
    #[arg(value_enum, value_name = "SHELL")]
    shell: clap_complete::Shell,
}

/// Options of `manual`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays manual | man -l -
  dogdays manual > ~/.local/share/man/man1/dogdays.1")]
pub struct ManualOptions {}

/// Prints the completions of a shell.
pub fn completions(o: &CompletionOptions, mut program: clap::Command) -> Result<Outcome, Failure> {
    let mut bytes = Vec::new();
    clap_complete::generate(o.shell, &mut program, "dogdays", &mut bytes);
    finish(&bytes)
}

/// Prints the manual page, every subcommand in it.
pub fn manual(program: clap::Command) -> Result<Outcome, Failure> {
    let mut bytes = Vec::new();
    write_manual(program, &mut bytes).map_err(|e| Failure::Other(e.to_string()))?;
    finish(&bytes)
}

fn write_manual(mut program: clap::Command, out: &mut Vec<u8>) -> std::io::Result<()> {
    program.build();
    // The options that hold everywhere are told once.
    let once = |arg: clap::Arg| {
        let hide = arg.is_global_set() || arg.get_id() == "help";
        arg.hide(hide)
    };
    let subcommands: Vec<_> = program
        .get_subcommands()
        .filter(|subcommand| subcommand.get_name() != "help")
        .map(|subcommand| subcommand.clone().mut_args(once))
        .collect();
    let page = clap_mangen::Man::new(program);
    page.render_title(out)?;
    page.render_name_section(out)?;
    page.render_synopsis_section(out)?;
    page.render_description_section(out)?;
    page.render_options_section(out)?;
    let mut extra = Vec::new();
    page.render_extra_section(&mut extra)?;
    let extra = String::from_utf8_lossy(&extra).replace(".SH EXTRA", ".SH \"EXIT STATUS\"");
    out.extend_from_slice(extra.as_bytes());
    for subcommand in subcommands {
        let name = subcommand.get_name().to_uppercase();
        let part = clap_mangen::Man::new(subcommand);
        let mut text = Vec::new();
        part.render_synopsis_section(&mut text)?;
        part.render_description_section(&mut text)?;
        part.render_options_section(&mut text)?;
        part.render_extra_section(&mut text)?;
        // One section a subcommand: its own sections become subsections.
        let text = String::from_utf8_lossy(&text).replace("\n.SH ", "\n.SS ");
        let text = text
            .strip_prefix(".SH ")
            .map_or(text.clone(), |t| format!(".SS {t}"));
        out.extend_from_slice(format!(".SH \"{name}\"\n{text}").as_bytes());
    }
    out.extend_from_slice(keys::manual().as_bytes());
    Ok(())
}

fn finish(bytes: &[u8]) -> Result<Outcome, Failure> {
    print(&String::from_utf8_lossy(bytes))?;
    Ok(Outcome { exit_code: 0 })
}
