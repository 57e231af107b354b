//! Any bytes are a table of corrections, a hardness scale, a guard band, a steel's name, or a refusal.
#![no_main]

#[path = "../bodies.rs"]
mod bodies;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| bodies::words(bytes));
