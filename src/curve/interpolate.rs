//! Monotone interpolation: a piecewise cubic that invents no hump between table points.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};

/// A monotone piecewise cubic through points, after Fritsch and Butland (1984): slopes are weighted harmonic means of
/// the neighbouring chords, zero at an extremum. Values are those of SciPy's `PchipInterpolator`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MonotoneCubic {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl MonotoneCubic {
    /// Through these points.
    ///
    /// # Errors
    /// [`Error::Refused`] unless there are two points or more, as many x as y, all finite, x strictly rising.
    pub fn through(x: Vec<f64>, y: Vec<f64>) -> Result<Self> {
        let refuse = |why: String| {
            Err(Error::Refused {
                what: "a table".into(),
                why: why.into(),
                instead: "Give at least two points, sorted by temperature, each temperature once".into(),
            })
        };
        if x.len() != y.len() || x.len() < 2 {
            return refuse(format!("it has {} temperatures and {} hardness values", x.len(), y.len()));
        }
        if let Some(bad) = x.iter().chain(&y).find(|value| !value.is_finite()) {
            return refuse(format!("{bad} is in it"));
        }
        if let Some(pair) = x.windows(2).find(|pair| pair[0] >= pair[1]) {
            return refuse(format!("{} does not come before {}", pair[0], pair[1]));
        }
        let slope = slopes(&x, &y);
        Ok(Self { x, y, slope })
    }

    /// The points' x.
    #[must_use]
    pub fn x(&self) -> &[f64] {
        &self.x
    }

    /// The points' y.
    #[must_use]
    pub fn y(&self) -> &[f64] {
        &self.y
    }

    /// First and last x.
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        (self.x.first().copied().unwrap_or(f64::NAN), self.x.last().copied().unwrap_or(f64::NAN))
    }

    /// The value at x; NaN outside the points.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.piece(x).map_or(f64::NAN, |piece| piece.at(x))
    }

    /// The slope at x; NaN outside the points.
    #[must_use]
    pub fn slope_at(&self, x: f64) -> f64 {
        self.piece(x).map_or(f64::NAN, |piece| piece.slope_at(x))
    }

    /// Every x with this value, rising; a flat piece at the value gives its middle.
    #[must_use]
    pub fn solve(&self, y: f64) -> Vec<f64> {
        let mut roots: Vec<f64> = Vec::new();
        for piece in (0..self.x.len() - 1).filter_map(|i| self.piece_number(i)) {
            let Some(root) = piece.solve(y) else { continue };
            if roots.last().is_none_or(|&last| root - last > 1e-9 * (1.0 + root.abs())) {
                roots.push(root);
            }
        }
        roots
    }

    fn piece(&self, x: f64) -> Option<Piece> {
        let (low, high) = self.ends();
        if !(low <= x && x <= high) {
            return None;
        }
        let above = self.x.partition_point(|&knot| knot <= x).clamp(1, self.x.len() - 1);
        self.piece_number(above - 1)
    }

    fn piece_number(&self, i: usize) -> Option<Piece> {
        Some(Piece {
            x: (*self.x.get(i)?, *self.x.get(i + 1)?),
            y: (*self.y.get(i)?, *self.y.get(i + 1)?),
            slope: (*self.slope.get(i)?, *self.slope.get(i + 1)?),
        })
    }
}

/// One cubic between two points, in Hermite form.
#[derive(Debug, Clone, Copy)]
struct Piece {
    x: (f64, f64),
    y: (f64, f64),
    slope: (f64, f64),
}

impl Piece {
    fn at(&self, x: f64) -> f64 {
        let h = self.x.1 - self.x.0;
        let s = x - self.x.0;
        let chord = (self.y.1 - self.y.0) / h;
        let c = (3.0 * chord - 2.0 * self.slope.0 - self.slope.1) / h;
        let b = (self.slope.0 + self.slope.1 - 2.0 * chord) / (h * h);
        self.y.0 + s * (self.slope.0 + s * (c + s * b))
    }

    fn slope_at(&self, x: f64) -> f64 {
        let h = self.x.1 - self.x.0;
        let s = x - self.x.0;
        let chord = (self.y.1 - self.y.0) / h;
        let c = (3.0 * chord - 2.0 * self.slope.0 - self.slope.1) / h;
        let b = (self.slope.0 + self.slope.1 - 2.0 * chord) / (h * h);
        self.slope.0 + s * (2.0 * c + 3.0 * s * b)
    }

    /// The x of a value between the end values, by bisection: the piece is monotone, so there is one.
    fn solve(&self, y: f64) -> Option<f64> {
        let (y0, y1) = self.y;
        if y0 == y1 {
            return (y == y0).then_some(0.5 * (self.x.0 + self.x.1));
        }
        if !(y0.min(y1) <= y && y <= y0.max(y1)) {
            return None;
        }
        if y == y0 || y == y1 {
            return Some(if y == y0 { self.x.0 } else { self.x.1 });
        }
        let (mut low, mut high) = self.x;
        for _ in 0..100 {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            if (self.at(middle) < y) == (y0 < y1) { low = middle } else { high = middle }
        }
        Some(0.5 * (low + high))
    }
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let step: Vec<f64> = x.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let chord: Vec<f64> = y.windows(2).zip(&step).map(|(pair, step)| (pair[1] - pair[0]) / step).collect();
    if let &[only] = chord.as_slice() {
        return vec![only, only];
    }
    let mut made = vec![end_slope(step[0], step[1], chord[0], chord[1])];
    for (h, m) in step.windows(2).zip(chord.windows(2)) {
        made.push(if m[0] * m[1] <= 0.0 {
            0.0
        } else {
            let (near, far) = (2.0 * h[1] + h[0], h[1] + 2.0 * h[0]);
            (near + far) / (near / m[0] + far / m[1])
        });
    }
    let n = step.len();
    made.push(end_slope(step[n - 1], step[n - 2], chord[n - 1], chord[n - 2]));
    made
}

/// The one-sided three-point slope at an end, kept from overshooting.
fn end_slope(near_step: f64, far_step: f64, near: f64, far: f64) -> f64 {
    let slope = ((2.0 * near_step + far_step) * near - near_step * far) / (near_step + far_step);
    if slope * near <= 0.0 {
        0.0
    } else if near * far < 0.0 && slope.abs() > 3.0 * near.abs() {
        3.0 * near
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::MonotoneCubic;

    /// Values of SciPy 1.16's PchipInterpolator on the same points (independent code).
    #[test]
    fn as_scipy() {
        let curve = MonotoneCubic::through(
            vec![150.0, 175.0, 200.0, 225.0, 250.0, 275.0, 300.0, 350.0, 400.0],
            vec![62.6, 61.6, 60.4, 59.1, 57.8, 56.6, 55.5, 53.0, 50.2],
        )
        .unwrap();
        assert!((curve.at(212.0) - 59.782_749_184).abs() < 1e-9);
        assert!((curve.slope_at(200.0) + 0.049_92).abs() < 1e-9);
        assert!((curve.solve(62.0)[0] - 165.554_441_340_628_33).abs() < 1e-7);
        assert!((curve.solve(60.5)[0] - 197.997_848_208_827_55).abs() < 1e-7);
        let hump = MonotoneCubic::through(
            vec![150.0, 200.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0, 525.0, 550.0, 575.0, 600.0],
            vec![61.5, 60.0, 58.8, 58.2, 58.0, 58.3, 59.2, 60.4, 60.6, 58.9, 55.6, 51.5],
        )
        .unwrap();
        let roots = hump.solve(59.0);
        for (root, scipy) in roots.iter().zip([239.257_928_36, 440.508_717_33, 548.898_061_69]) {
            assert!((root - scipy).abs() < 1e-7, "{root}");
        }
        assert_eq!(roots.len(), 3);
    }
}
