//! The corpus that fuzzing left, replayed: no input of it may panic or hang.

#[path = "../fuzz/bodies.rs"]
mod bodies;

use std::fs;
use std::path::Path;

fn replay(target: &str, body: fn(&[u8])) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus").join(target);
    let mut count = 0;
    for entry in fs::read_dir(&folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display())) {
        body(&fs::read(entry.expect("a readable entry").path()).expect("a readable file"));
        count += 1;
    }
    assert!(count > 0, "{} holds nothing", folder.display());
}

#[test]
fn logs() {
    replay("log", bodies::log);
}

#[test]
fn cells() {
    replay("cells", bodies::cells);
}

#[test]
fn words() {
    replay("words", bodies::words);
}
