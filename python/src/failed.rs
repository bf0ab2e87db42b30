//! One exception for all that can go wrong, with the program's own words.

use dogdays::Error;
use dogdays::answer::AnswerError;
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;

pyo3::create_exception!(
    dogdays._native,
    DogdaysError,
    PyValueError,
    "A run, or a file that it names, is wrong, or can't be computed."
);

/// The exception of a failure; `problems` holds each mistake: file, line, column, what is wrong, what helps.
pub fn from(e: Error) -> PyErr {
    let (text, problems) = match &e {
        Error::Input(problems) => {
            let each = problems.as_slice().iter().filter(|p| p.is_error());
            let each: Vec<_> = each
                .map(|p| {
                    (
                        p.file.clone(),
                        p.line,
                        p.column,
                        p.message.clone(),
                        p.help.clone(),
                    )
                })
                .collect();
            (problems.render(false), each)
        }
        e => (e.to_string(), Vec::new()),
    };
    let made = DogdaysError::new_err(text);
    Python::attach(|py| {
        // An attribute on an exception of our own can always be set.
        let _ = made.value(py).setattr("_problems", problems);
    });
    made
}

/// The exception of a question without an answer.
pub fn unanswered(e: AnswerError) -> PyErr {
    from(e.into())
}

/// The exception of something that can't be asked so.
pub fn asked(told: impl Into<String>) -> PyErr {
    from(Error::Asked(told.into()))
}
