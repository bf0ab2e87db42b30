//! Where calls compute: threads of this process. A call waits for them, lets other Python threads run meanwhile, and
//! comes back when the user interrupts it.
//!
//! The library's own pool would not survive a fork: a child has none of its parent's threads. So there is one a process.

use crate::failed;
use pyo3::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

struct Threads {
    process: u32,
    count: usize,
    pool: Arc<ThreadPool>,
}

static THREADS: Mutex<Option<Threads>> = Mutex::new(None);
static COUNT: Mutex<usize> = Mutex::new(0);

/// How often it is looked whether the user wants to stop.
const LOOK: Duration = Duration::from_millis(50);

/// How many threads calls from now on may use; 0: one a core, or `RAYON_NUM_THREADS`.
pub fn set_count(count: usize) {
    *COUNT.lock().unwrap_or_else(PoisonError::into_inner) = count;
}

fn pool() -> PyResult<Arc<ThreadPool>> {
    let count = *COUNT.lock().unwrap_or_else(PoisonError::into_inner);
    let mut threads = THREADS.lock().unwrap_or_else(PoisonError::into_inner);
    let process = std::process::id();
    if let Some(t) = &*threads
        && t.process == process
        && t.count == count
    {
        return Ok(Arc::clone(&t.pool));
    }
    let pool = ThreadPoolBuilder::new()
        .num_threads(count)
        .build()
        .map_err(|e| failed::asked(format!("no threads can be started: {e}")))?;
    let pool = Arc::new(pool);
    let before = threads.replace(Threads {
        process,
        count,
        pool: Arc::clone(&pool),
    });
    // A parent's pool has no threads here: to end it would be to wait for them for ever.
    if let Some(before) = before.filter(|before| before.process != process) {
        std::mem::forget(before);
    }
    Ok(pool)
}

/// Whether a call was given up by the one who made it.
#[derive(Debug, Clone, Default)]
pub struct GivenUp(Arc<AtomicBool>);

/// What is thrown through the library to end a call that was given up. No fault of anything.
struct Stopped;

impl GivenUp {
    /// Ends the computation if nobody waits for it any more.
    pub fn look(&self) {
        if self.0.load(Ordering::Relaxed) {
            resume_unwind(Box::new(Stopped));
        }
    }

    /// From now on nobody waits.
    pub fn give_up(&self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// What `work` computes, on the threads of this process, the interpreter's lock released.
///
/// # Errors
/// What `work` returns, and what a signal raises, such as `KeyboardInterrupt`: what is under way is then given up where it
/// looks at [`GivenUp`], and elsewhere ends by itself unheard.
pub fn computed<T: Send + 'static>(
    py: Python<'_>,
    work: impl FnOnce(&GivenUp) -> PyResult<T> + Send + 'static,
) -> PyResult<T> {
    let given_up = GivenUp::default();
    let (send, mut receive) = channel::<Result<PyResult<T>, Box<dyn Any + Send>>>();
    let mine = given_up.clone();
    pool()?.spawn(move || {
        // Nothing is shared with what a panic left half done.
        let done = catch_unwind(AssertUnwindSafe(|| work(&mine)));
        // Nobody may wait any more.
        let _ = send.send(done);
    });
    loop {
        let (got, back) = py.detach(move || (receive.recv_timeout(LOOK), receive));
        receive = back;
        match got {
            Ok(Ok(found)) => return found,
            Ok(Err(panic)) if panic.is::<Stopped>() => {
                return Err(failed::asked("the call was given up"));
            }
            Ok(Err(panic)) => resume_unwind(panic),
            Err(RecvTimeoutError::Timeout) => {
                if let Err(e) = py.check_signals() {
                    given_up.give_up();
                    return Err(e);
                }
            }
            Err(RecvTimeoutError::Disconnected) => {
                return Err(failed::asked("the threads of this process have ended"));
            }
        }
    }
}
