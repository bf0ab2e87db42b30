//! What is left to do when the program is ended from outside: no temporary file stays.

use super::common::Failure;

/// From now on, an interrupt, a request to end and a closed terminal remove temporary files before they end
/// the program, which then ends as it would have without.
#[cfg(unix)]
pub fn clean_up() -> Result<(), Failure> {
    use std::sync::Once;

    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;

    static ONCE: Once = Once::new();
    let mut done = Ok(());
    ONCE.call_once(|| {
        let heard = [SIGINT, SIGTERM, SIGHUP];
        let heard = heard.into_iter().filter(|s| !is_ignored(*s));
        done = Signals::new(heard).and_then(|mut signals| {
            std::thread::Builder::new()
                .name("signals".to_owned())
                .spawn(move || {
                    for signal in signals.forever() {
                        let _no_more = crate::output::temporary::remove_all();
                        // Does not return but for signals that do not end a program.
                        let _ = emulate_default_handler(signal);
                    }
                })
                .map(drop)
        });
    });
    done.map_err(|e| Failure::Other(format!("cannot listen to signals: {e}")))
}

/// Elsewhere Ctrl-C is all there is.
#[cfg(not(unix))]
pub fn clean_up() -> Result<(), Failure> {
    /// As shells count it: 128 and the number of the interrupt.
    const INTERRUPTED: i32 = 130;
    let ended = || {
        let _no_more = crate::output::temporary::remove_all();
        std::process::exit(INTERRUPTED);
    };
    match ctrlc::set_handler(ended) {
        Ok(()) | Err(ctrlc::Error::MultipleHandlers) => Ok(()),
        Err(e) => Err(Failure::Other(format!("cannot listen to Ctrl-C: {e}"))),
    }
}

/// From when this is called on, an interrupt, a request to end and a closed terminal only end the waiting: for a
/// program that is meant to be ended so. Whoever awaits it ends the program in an orderly way.
#[cfg(unix)]
pub fn asked() -> std::io::Result<impl Future<Output = ()>> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use tokio::signal::unix::{Signal, SignalKind, signal};

    let listen = |number: i32| {
        let heard = !is_ignored(number);
        heard
            .then(|| signal(SignalKind::from_raw(number)))
            .transpose()
    };
    let mut heard = [listen(SIGINT)?, listen(SIGTERM)?, listen(SIGHUP)?];
    Ok(async move {
        let [a, b, c] = &mut heard;
        let next = async |signal: &mut Option<Signal>| match signal {
            Some(signal) => signal.recv().await,
            None => std::future::pending().await,
        };
        tokio::select! {
            _ = next(a) => {}
            _ = next(b) => {}
            _ = next(c) => {}
        }
    })
}

/// Elsewhere Ctrl-C is all there is.
#[cfg(not(unix))]
pub fn asked() -> std::io::Result<impl Future<Output = ()>> {
    Ok(async {
        // Where it can't be listened to, it ends the program as it always does.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    })
}

/// Removes temporary files; none is begun in what is left of the program's life.
pub fn tidy() {
    std::mem::forget(crate::output::temporary::remove_all());
}

/// Whether whoever started the program wants it to go on in spite of this signal, as `nohup` does.
#[cfg(unix)]
fn is_ignored(signal: i32) -> bool {
    // The one place that tells without unsafe code; elsewhere nothing counts as ignored.
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = status
        .lines()
        .find_map(|line| line.strip_prefix("SigIgn:"))
        .and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok());
    mask.is_some_and(|mask| mask >> (signal - 1) & 1 == 1)
}
