//! What is asked of a loaded run and what is answered, the same for whoever asks: the command line, a program that
//! uses the library, another language. Each file holds one question: what it does by default, and the one JSON object
//! in which its answer is handed on.

pub mod calibrate;
pub mod catalogue;
pub mod check;
pub mod compare;
mod error;
pub mod season;
pub mod size_fan;

pub use error::AnswerError;
