//! A part that is judged.

use afterquench::hardness::{Readings, Spot, Tester};

/// Three readings on a tester that was checked on a block.
pub fn readings() -> Readings {
    let tester = Tester::from_block(&[59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5).unwrap();
    Readings::new(&[58.7, 58.9, 59.3], "HRC", Spot::default(), Some(tester)).unwrap()
}
