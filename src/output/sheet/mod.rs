//! The calculation sheet: one page for the shop's file, readable without a script and without a network.
//!
//! Made of the same parts as the live page: drawings from scenes ([`section`], [`heat_flow`], the charts), tables and
//! sentences from findings. Nothing here computes a temperature. Everything a user wrote goes through the template's
//! escaping; what goes in unescaped is the program's own style sheet and the mark in [`frame`], nothing else.

pub mod calibrate;
pub mod check;
pub mod compare;
pub mod figure;
pub mod frame;
pub mod heat_flow;
mod inputs;
mod log_sheet;
pub mod prose;
mod remedies;
pub mod season;
pub mod section;
pub mod size_fan;
pub mod table;
