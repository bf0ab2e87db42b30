//! Tells which input was at work when something went wrong, and notices one that never ends.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// No input here takes a second; on a busy machine a run may take some. What takes this long hangs.
const TOO_LONG: Duration = Duration::from_secs(180);

#[derive(Debug)]
struct Now {
    input: Mutex<(String, Instant)>,
    number: AtomicU64,
    ended: AtomicBool,
}

/// One for each test.
#[derive(Debug)]
pub struct Watch {
    what: String,
    seed: u64,
    now: Arc<Now>,
    guard: Option<JoinHandle<()>>,
}

impl Watch {
    pub fn start(what: &str, seed: u64) -> Self {
        let now = Arc::new(Now {
            input: Mutex::new((String::new(), Instant::now())),
            number: AtomicU64::new(0),
            ended: AtomicBool::new(false),
        });
        let (seen, named) = (Arc::clone(&now), what.to_owned());
        let guard = std::thread::spawn(move || {
            while !seen.ended.load(Ordering::Relaxed) {
                std::thread::park_timeout(Duration::from_secs(1));
                let (input, since) = &*lock(&seen.input);
                if since.elapsed() > TOO_LONG {
                    let number = seen.number.load(Ordering::Relaxed);
                    eprintln!("{named} {number} of seed {seed} never ends:\n{input}");
                    std::process::exit(101);
                }
            }
        });
        Self {
            what: what.to_owned(),
            seed,
            now,
            guard: Some(guard),
        }
    }

    /// The next input begins.
    pub fn begin(&self, number: u64) {
        /// Told where it stands after so many.
        const OFTEN: u64 = 10_000;
        self.now.number.store(number, Ordering::Relaxed);
        if number > 0 && number.is_multiple_of(OFTEN) {
            eprintln!("{} {number} of seed {}", self.what, self.seed);
        }
    }

    /// Does something with an input. A panic goes on, with the input that caused it.
    pub fn with<T>(&self, input: &str, attempt: impl FnOnce() -> T) -> T {
        *lock(&self.now.input) = (input.to_owned(), Instant::now());
        match catch_unwind(AssertUnwindSafe(attempt)) {
            Ok(done) => done,
            Err(panic) => {
                let number = self.now.number.load(Ordering::Relaxed);
                eprintln!(
                    "{} {number} of seed {} (DOGDAYS_FUZZ_SEED={} DOGDAYS_FUZZ_FIRST={number}):\n{input}\n",
                    self.what, self.seed, self.seed
                );
                resume_unwind(panic);
            }
        }
    }

    pub fn end(mut self) {
        self.now.ended.store(true, Ordering::Relaxed);
        if let Some(guard) = self.guard.take() {
            guard.thread().unpark();
            guard.join().expect("the watch ends");
        }
    }
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
