//! The live page: a shop's knobs on one page in a browser, and verdict, drawing and plot that follow while they turn.
//!
//! A small server on the loopback address hands out one page and answers its questions. A question carries every
//! value that was changed; the server keeps none of them. It lays them over the run file's own text (`changes`),
//! reads the text as `check` would, runs it and answers with finished pieces of HTML and SVG (`fragments`). So the
//! page can't show another number than `check` does, and "save as" writes just the text that was looked at
//! (`save`). Nothing else is ever written.
//!
//! Who may ask is decided in `guard`: whoever knows the random token in the address, from this machine's own page.
//! The front end is plain files in `front-end/`, embedded by `assets`.

mod assets;
mod changes;
mod controls;
mod fragments;
mod guard;
mod look;
mod refusal;
mod routes;
mod save;
mod server;
mod sheet;
mod shop;
mod studies;
mod typed;

pub use server::{Listening, ServeError, serve};
pub use shop::{Shop, Weather};
