//! Exports a small linear network as a circuit for a general-purpose circuit simulator, or prints
//! our temperatures of it, to compare with what the simulator finds.
//!
//! ```sh
//! cargo run --example reference_values -- --netlist > network.cir
//! cargo run --example reference_values -- --temperatures
//! ```

#![allow(non_snake_case)]

#[path = "../tests/evidence/plain.rs"]
#[allow(dead_code)]
mod plain;
#[path = "../tests/evidence/reference_networks.rs"]
#[allow(dead_code)]
mod reference_networks;

use reference_networks::{LINEAR_END_S, START_K, linear, netlist};
use std::process::ExitCode;

fn main() -> ExitCode {
    match std::env::args().nth(1).as_deref() {
        Some("--netlist") => print!("{}", netlist()),
        Some("--temperatures") => {
            let course = linear().run(true, LINEAR_END_S, &[START_K; 5], 1e-6);
            println!("time_s,T0_K,T1_K,T2_K,T3_K,T4_K");
            let mut y = [0.0; 5];
            for k in 0..=48 {
                let t_s = LINEAR_END_S * f64::from(k) / 48.0;
                course.at(t_s, &mut y);
                println!("{t_s},{}", y.map(|v| format!("{v:.6}")).join(","));
            }
        }
        _ => {
            eprintln!("usage: reference_values --netlist | --temperatures");
            return ExitCode::from(2);
        }
    }
    ExitCode::SUCCESS
}
