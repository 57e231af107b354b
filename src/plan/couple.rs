//! A thermocouple of one type on a controller set for another.

use crate::error::{Error, Result};

/// °C, mV of type J, mV of type K: rows of the reference tables after ITS-90 (IEC 60584-1, NIST Monograph 175), from
/// memory; straight lines between them are within 0.5 °C.
const ROWS: [(f64, f64, f64); 13] = [
    (0.0, 0.0, 0.0),
    (25.0, 1.277, 1.000),
    (50.0, 2.585, 2.023),
    (100.0, 5.269, 4.096),
    (150.0, 8.010, 6.138),
    (200.0, 10.779, 8.138),
    (250.0, 13.555, 10.153),
    (300.0, 16.327, 12.209),
    (350.0, 19.090, 14.293),
    (400.0, 21.848, 16.397),
    (500.0, 27.393, 20.644),
    (600.0, 33.102, 24.905),
    (700.0, 39.132, 29.129),
];

/// The straight line between rows at `x`, from one column to another; the last piece goes on.
fn read(x: f64, from: impl Fn(&(f64, f64, f64)) -> f64, to: impl Fn(&(f64, f64, f64)) -> f64) -> f64 {
    let above = ROWS.partition_point(|row| from(row) < x).clamp(1, ROWS.len() - 1);
    let (a, b) = (&ROWS[above - 1], &ROWS[above]);
    to(a) + (to(b) - to(a)) * (x - from(a)) / (from(b) - from(a))
}

/// How far an oven is hotter than a controller shows that is set for one type while another is wired: the least and the
/// most for terminals between two temperatures that the controller compensates.
///
/// # Errors
/// [`Error::OutOfRange`] beyond 0 to 600 °C shown.
pub(super) fn wrong_type_delta_c(wired: &str, shown_c: f64, terminals_c: (f64, f64)) -> Result<(f64, f64)> {
    if !(0.0..=600.0).contains(&shown_c) {
        return Err(Error::OutOfRange {
            model: super::explain::CAUSES.id.into(),
            argument: "temperature_c".into(),
            value: shown_c,
            unit: "°C".into(),
            low: 0.0,
            high: 600.0,
            stated_by: "the rows of the thermocouple tables kept here".into(),
            failed: 1,
            of: 1,
            hint: "Ask for a plan within it".into(),
        });
    }
    let (celsius, j, k) = (|row: &(f64, f64, f64)| row.0, |row: &(f64, f64, f64)| row.1, |row: &(f64, f64, f64)| row.2);
    let off = |terminals: f64| {
        if wired == "K" {
            let mv = read(shown_c, celsius, j) - read(terminals, celsius, j) + read(terminals, celsius, k);
            read(mv, k, celsius) - shown_c
        } else {
            let mv = read(shown_c, celsius, k) - read(terminals, celsius, k) + read(terminals, celsius, j);
            read(mv, j, celsius) - shown_c
        }
    };
    let (a, b) = (off(terminals_c.0), off(terminals_c.1));
    Ok((a.min(b), a.max(b)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 200 °C shown by a controller set for J with K wired: 265.3 °C with the terminals at 0 °C, 258.5 °C at 25 °C; from
    /// the ITS-90 polynomials outside this project.
    #[test]
    fn as_the_polynomials_say() {
        let (low, high) = wrong_type_delta_c("K", 200.0, (0.0, 25.0)).unwrap();
        assert!((low - 58.5).abs() < 0.5 && (high - 65.3).abs() < 0.5, "{low} {high}");
        assert!(wrong_type_delta_c("J", 200.0, (0.0, 25.0)).unwrap().1 < -30.0);
    }
}
