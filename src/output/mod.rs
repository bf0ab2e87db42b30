//! Results in, bytes out.
//!
//! The writers of this room turn finished results into charts. They compute no physics, read no
//! files and print nothing; whoever calls them decides where the bytes go.

pub mod chart;
mod font;
