//! The hardness room: laws of conversion, and Monte Carlo beside the GUM.

use afterquench::Estimate;
use afterquench::estimate::Draws;
use afterquench::hardness::{Bracketed, Conversion, conversion_tables};
use proptest::prelude::*;

/// Every pair of every table returns its printed rows both ways, to rounding of the last bits.
#[test]
fn every_pair_meets_its_rows() {
    for table in conversion_tables() {
        for from in table.columns() {
            for to in table.columns() {
                let common = from.cells.iter().zip(&to.cells).filter(|(x, y)| x.value.and(y.value).is_some()).count();
                let link = Conversion::new(from.scale.name(), to.scale.name(), &table.id, Bracketed::Use);
                assert_eq!(link.is_ok(), common > 1, "{} {:?} to {:?}", table.id, from.scale, to.scale);
                let Ok(link) = link else { continue };
                for (x, y) in from.cells.iter().zip(&to.cells) {
                    let (Some(x), Some(y)) = (x.value, y.value) else { continue };
                    let tied = from.cells.iter().filter(|cell| cell.value == Some(x)).count() > 1;
                    let got = link.convert(x).unwrap();
                    assert!(
                        got == y || tied,
                        "{} {:?} {x} to {:?}: {got}, printed {y}",
                        table.id,
                        from.scale,
                        to.scale
                    );
                }
            }
        }
    }
}

proptest! {
    /// There and back is where you were, on a table without ties and blanks.
    #[test]
    fn there_and_back(hrc in 20.0..68.0f64) {
        for scale in ["HV", "HRA", "HRD", "HR15N", "HR30N", "HR45N", "HK"] {
            let there = Conversion::new("HRC", scale, "astm-e140-1", Bracketed::Use).unwrap();
            let back = Conversion::new(scale, "HRC", "astm-e140-1", Bracketed::Use).unwrap();
            prop_assert!((back.convert(there.convert(hrc).unwrap()).unwrap() - hrc).abs() < 1e-9);
        }
    }

    /// Harder on one scale is harder on the other.
    #[test]
    fn order_is_kept(a in 238.0..940.0f64, b in 238.0..940.0f64) {
        let link = Conversion::new("HV", "HRC", "astm-e140-1", Bracketed::Use).unwrap();
        let (x, y) = (link.convert(a).unwrap(), link.convert(b).unwrap());
        prop_assert!((a < b) == (x < y) || a == b);
    }
}

/// A Monte Carlo run through the table gives the uncertainty that the slope gives (JCGM 101 beside JCGM 100).
#[test]
fn monte_carlo_agrees_with_the_slope() {
    let link = Conversion::new("HV10", "HRC", "astm-e140-1", Bracketed::Use).unwrap();
    let made = link.estimate(&Estimate::new(690.0, "HV10").with("reading", 7.5), Some(0.5)).unwrap();
    let (reading, conversion) = (Draws::new(3, 0), Draws::new(3, 1));
    let n = 100_000u64;
    let drawn: Vec<f64> =
        (0..n).map(|i| link.convert(690.0 + 7.5 * reading.normal(i)).unwrap() + 0.5 * conversion.normal(i)).collect();
    let mean = drawn.iter().sum::<f64>() / n as f64;
    let sd = (drawn.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1) as f64).sqrt();
    assert!((mean - made.value()).abs() < 0.01, "{mean}");
    assert!((sd - made.u()).abs() < 0.01, "{sd} and {}", made.u());
}
