//! Any bytes are a log, or a refusal.
#![no_main]

#[path = "../bodies.rs"]
mod bodies;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| bodies::log(bytes));
