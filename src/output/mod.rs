//! Results in, bytes out: text for people, JSON and CSV for programs, charts. Nothing here
//! computes a temperature, and nothing writes a file except [`mod@file`].

pub mod brief;
pub mod calibrate;
pub mod catalogue;
pub mod certainty;
#[cfg(feature = "pictures")]
pub mod chart;
mod columns;
pub mod compare;
#[cfg(feature = "pictures")]
pub mod compare_picture;
mod csv_rows;
pub mod explain;
pub mod failures;
pub mod file;
pub mod follow;
#[cfg(feature = "pictures")]
mod font;
pub mod json;
mod json_number;
pub mod keys;
pub mod network;
pub mod ours;
pub mod plan;
mod prose;
pub mod remedies;
pub mod report;
mod room;
#[cfg(feature = "pictures")]
pub mod run_picture;
pub mod screen;
pub mod season;
pub mod sensitivity;
#[cfg(feature = "pictures")]
pub mod sheet;
mod shop;
mod signature;
pub mod size_fan;
pub mod table;
pub mod temporary;
pub mod weather_described;
pub mod words;
