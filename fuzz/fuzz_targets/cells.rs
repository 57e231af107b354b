//! Any text as clock and as reading, in a log that is sound otherwise.
#![no_main]

#[path = "../bodies.rs"]
mod bodies;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| bodies::cells(bytes));
