//! `dogdays page`.

use std::io::Write;
use std::net::{IpAddr, Ipv4Addr};
use std::path::PathBuf;

use super::common::{Failure, Outcome, RunOptions};
use super::ended;
use super::season::weather::{ReadingOptions, years};
use super::sheet;
use super::terminal::{self, note};
use crate::page::{Listening, ServeError, Shop, Weather, serve};

/// Options of `page`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  dogdays page                        the built-in demo
  dogdays page my.toml                open the address that it prints
  dogdays page my.toml --port 8080
  dogdays page my.toml --weather 2025.csv    for the page's season sheet

The page is for this machine only; Ctrl-C ends it. It writes nothing but the run
files that somebody saves on it, beside RUN (or here, for the demo).

Exit codes: 0 ended by Ctrl-C; 2 wrong input or usage, 1 anything else.")]
pub struct PageOptions {
    #[command(flatten)]
    run: RunOptions,
    /// The port; without it, any free one. Fails if it is in use.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    port: Option<u16>,
    /// Listen on another address of this machine, so that others in the network reach the page. Whoever has its
    /// address may use it, and what is sent is not encrypted.
    #[arg(long, value_name = "ADDRESS", default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    listen: IpAddr,
    /// The weather of the season sheet: a file, several, or a folder, each a series as `[room]` takes one.
    #[arg(long, value_name = "FILE", num_args = 1..)]
    weather: Vec<PathBuf>,
    #[command(flatten)]
    reading: ReadingOptions,
}

/// Serves the page until Ctrl-C.
pub fn run(o: &PageOptions) -> Result<Outcome, Failure> {
    let original = o.run.load_original()?;
    let weather = if o.weather.is_empty() {
        Vec::new()
    } else {
        let years = years(&o.weather, &o.reading)?.series.into_iter();
        years
            .map(|year| Weather {
                name: year.name,
                series: year.series,
            })
            .collect()
    };
    if !o.listen.is_loopback() {
        terminal::error(&format!(
            "WARNING: --listen {}: everybody in the network who has the page's address may turn the knobs and save run files here, and can read along; end the program when you are done",
            o.listen
        ));
    }
    let shop = Shop::new(original, terminal::units(), weather, sheet::now);
    let listening = Listening {
        ip: o.listen,
        port: o.port,
    };
    let announce = |url: &str| {
        let mut out = std::io::stdout().lock();
        writeln!(out, "{url}")?;
        out.flush()?;
        note("open this address in a browser on this machine; Ctrl-C ends the page");
        Ok(())
    };
    let done = serve(shop, listening, announce, ended::asked);
    ended::tidy();
    done.map_err(|e| match e {
        ServeError::System(_) | ServeError::Random(_) => Failure::Other(e.to_string()),
        e => Failure::Usage(e.to_string()),
    })?;
    Ok(Outcome { exit_code: 0 })
}
