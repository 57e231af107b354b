//! Monotone cubic interpolation: no hump between table points that the table does not have.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, Text};

/// A piecewise cubic through points, monotone between neighbours (Fritsch and Carlson 1980, slopes by Fritsch and
/// Butland 1984: the weighted harmonic mean; one-sided three-point slopes at the ends).
///
/// ```
/// use afterquench::curve::MonotoneCubic;
/// let cubic = MonotoneCubic::new(&[150.0, 175.0, 200.0], &[62.6, 61.6, 60.4]).unwrap();
/// assert_eq!(cubic.at(175.0), 61.6);
/// assert!(cubic.at(149.0).is_nan());
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MonotoneCubic {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

/// Where a curve takes a value, and how it goes there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// The abscissa.
    pub x: f64,
    /// Whether the curve falls there (or leaves the value downwards), as against rising.
    pub falls: bool,
}

impl MonotoneCubic {
    /// Through points with strictly increasing abscissae; two points give a straight line.
    ///
    /// # Errors
    /// [`Error::Refused`] for unequal lengths, fewer than two points, values that are not finite, abscissae that do not
    /// increase.
    pub fn new(x: &[f64], y: &[f64]) -> Result<Self> {
        if x.len() != y.len() || x.len() < 2 {
            return Err(bad_table(format!("it has {} abscissae and {} values", x.len(), y.len())));
        }
        if let Some(value) = x.iter().chain(y).find(|value| !value.is_finite()) {
            return Err(bad_table(format!("{value} is not a finite number")));
        }
        let widths: Vec<f64> = differences(x);
        if let Some(at) = widths.iter().position(|&width| width <= 0.0) {
            let before = x.get(at).copied().unwrap_or(f64::NAN);
            let here = x.get(at + 1).copied().unwrap_or(f64::NAN);
            return Err(bad_table(format!("{here} comes after {before} and does not increase on it")));
        }
        let chords: Vec<f64> = differences(y).iter().zip(&widths).map(|(rise, width)| rise / width).collect();
        Ok(Self { slope: slopes(&widths, &chords), x: x.to_vec(), y: y.to_vec() })
    }

    /// The first and the last abscissa.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        (self.x.first().copied().unwrap_or(f64::NAN), self.x.last().copied().unwrap_or(f64::NAN))
    }

    /// The points it goes through.
    pub fn points(&self) -> impl DoubleEndedIterator<Item = (f64, f64)> + Clone + '_ {
        self.x.iter().copied().zip(self.y.iter().copied())
    }

    /// The value; NaN outside the points.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.piece(x).map_or(f64::NAN, |piece| piece.value(x))
    }

    /// The derivative; NaN outside the points.
    #[must_use]
    pub fn slope_at(&self, x: f64) -> f64 {
        self.piece(x).map_or(f64::NAN, |piece| piece.derivative(x))
    }

    /// Every place where the curve takes `y`, from left to right; of a level stretch, both ends.
    #[must_use]
    pub fn crossings(&self, y: f64) -> Vec<Crossing> {
        let mut found: Vec<Crossing> = Vec::new();
        let count = self.x.len();
        for (index, (knot, value)) in self.points().enumerate() {
            if value == y {
                let after = self.y.get(index + 1).copied();
                let before = index.checked_sub(1).and_then(|i| self.y.get(i)).copied();
                let falls = match (before, after) {
                    (_, Some(after)) if after != y => after < y,
                    (Some(before), _) => before >= y,
                    _ => false,
                };
                found.push(Crossing { x: knot, falls });
            }
            if index + 1 == count {
                break;
            }
            let Some(piece) = self.piece_number(index) else { break };
            if (piece.y0 - y) * (piece.y1 - y) < 0.0 {
                found.push(Crossing { x: piece.inverse(y), falls: piece.y1 < piece.y0 });
            }
        }
        found
    }

    fn piece(&self, x: f64) -> Option<Piece> {
        let (low, high) = self.range();
        if !(low <= x && x <= high) {
            return None;
        }
        let above = self.x.partition_point(|&knot| knot <= x);
        self.piece_number(above.clamp(1, self.x.len() - 1) - 1)
    }

    fn piece_number(&self, index: usize) -> Option<Piece> {
        let pair = |values: &[f64]| Some((*values.get(index)?, *values.get(index + 1)?));
        let ((x0, x1), (y0, y1), (d0, d1)) = (pair(&self.x)?, pair(&self.y)?, pair(&self.slope)?);
        Some(Piece { x0, x1, y0, y1, d0, d1 })
    }
}

/// One cubic between two neighbouring points.
struct Piece {
    x0: f64,
    x1: f64,
    y0: f64,
    y1: f64,
    d0: f64,
    d1: f64,
}

impl Piece {
    /// Coefficients of (x - x0)² and (x - x0)³.
    fn curvature(&self) -> (f64, f64) {
        let width = self.x1 - self.x0;
        let chord = (self.y1 - self.y0) / width;
        let cubic = (self.d0 + self.d1 - 2.0 * chord) / width;
        ((chord - self.d0) / width - cubic, cubic / width)
    }

    fn value(&self, x: f64) -> f64 {
        if x == self.x1 {
            return self.y1;
        }
        let (c2, c3) = self.curvature();
        let s = x - self.x0;
        self.y0 + s * (self.d0 + s * (c2 + s * c3))
    }

    fn derivative(&self, x: f64) -> f64 {
        let (c2, c3) = self.curvature();
        let s = x - self.x0;
        self.d0 + s * (2.0 * c2 + 3.0 * s * c3)
    }

    /// Bisection to the last bit: the piece is monotone, so there is one place.
    fn inverse(&self, y: f64) -> f64 {
        let (mut low, mut high) = (self.x0, self.x1);
        let rises = self.y1 > self.y0;
        loop {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                return middle;
            }
            if (self.value(middle) < y) == rises { low = middle } else { high = middle }
        }
    }
}

fn differences(values: &[f64]) -> Vec<f64> {
    values.windows(2).map(|pair| pair.last().unwrap_or(&f64::NAN) - pair.first().unwrap_or(&f64::NAN)).collect()
}

fn slopes(widths: &[f64], chords: &[f64]) -> Vec<f64> {
    let (Some(&first), Some(&last)) = (chords.first(), chords.last()) else { return Vec::new() };
    if chords.len() == 1 {
        return vec![first, first];
    }
    let inner = widths.windows(2).zip(chords.windows(2)).map(|(h, m)| match (h, m) {
        (&[h0, h1], &[m0, m1]) if m0 * m1 > 0.0 => {
            let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
            (w0 + w1) / (w0 / m0 + w1 / m1)
        }
        _ => 0.0,
    });
    let pair = |values: &[f64], i: usize, j: usize| {
        (values.get(i).copied().unwrap_or(f64::NAN), values.get(j).copied().unwrap_or(f64::NAN))
    };
    let n = chords.len();
    let start = end_slope(pair(widths, 0, 1), (first, pair(chords, 0, 1).1));
    let end = end_slope(pair(widths, n - 1, n - 2), (last, pair(chords, n - 1, n - 2).1));
    std::iter::once(start).chain(inner).chain(std::iter::once(end)).collect()
}

/// The three-point slope at an end, kept monotone: zero where it would turn, at most three chords where the next turns.
fn end_slope((h0, h1): (f64, f64), (m0, m1): (f64, f64)) -> f64 {
    let slope = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1);
    if slope * m0 <= 0.0 {
        0.0
    } else if m0 * m1 <= 0.0 && slope.abs() > 3.0 * m0.abs() {
        3.0 * m0
    } else {
        slope
    }
}

fn bad_table(why: impl Into<Text>) -> Error {
    Error::Refused {
        what: "a table of points".into(),
        why: why.into(),
        instead: "Give at least two points, as many values as abscissae, sorted and without repeats".into(),
    }
}
