//! Weighted least squares in a few unknowns, with what the rows weigh in it.

/// Rows of a system and their right-hand sides; a row may have up to [`MOST`] entries.
pub(super) struct System {
    rows: Vec<[f64; MOST]>,
    right: Vec<f64>,
    width: usize,
}

/// Unknowns there can be: three of a parabola, and C.
pub(super) const MOST: usize = 4;

/// What a system says: its solution and the inverse of the normal matrix.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    pub(super) solution: [f64; MOST],
    pub(super) covariance: [[f64; MOST]; MOST],
    /// The leverage of each row.
    pub(super) leverage: Vec<f64>,
    /// ln of the determinant of the normal matrix.
    pub(super) log_determinant: f64,
}

impl System {
    pub(super) fn new(width: usize, rows: usize) -> Self {
        Self { rows: Vec::with_capacity(rows), right: Vec::with_capacity(rows), width: width.min(MOST) }
    }

    pub(super) fn push(&mut self, row: [f64; MOST], right: f64) {
        self.rows.push(row);
        self.right.push(right);
    }

    /// The least-squares solution; nothing where the columns, each scaled to length one, are not independent.
    #[allow(clippy::needless_range_loop, reason = "rows and columns of triangles")]
    pub(super) fn solve(&self, with_covariance: bool) -> Option<Solved> {
        let width = self.width;
        if self.rows.len() < width || self.right.iter().any(|value| !value.is_finite()) {
            return None;
        }
        // Orthogonal columns by the modified Gram-Schmidt method, twice, which is as stable as Householder's.
        let mut q = self.rows.clone();
        let mut r = [[0.0; MOST]; MOST];
        let mut solution = [0.0; MOST];
        for k in 0..width {
            let own: f64 = q.iter().map(|row| row[k] * row[k]).sum::<f64>().sqrt();
            for _ in 0..2 {
                for j in 0..k {
                    let dot: f64 = q.iter().map(|row| row[j] * row[k]).sum();
                    r[j][k] += dot;
                    for row in &mut q {
                        row[k] -= dot * row[j];
                    }
                }
            }
            let left: f64 = q.iter().map(|row| row[k] * row[k]).sum::<f64>().sqrt();
            if left.is_nan() || left <= DEPENDENT * own {
                return None;
            }
            r[k][k] = left;
            for row in &mut q {
                row[k] /= left;
            }
        }
        for k in (0..width).rev() {
            let dot: f64 = q.iter().zip(&self.right).map(|(row, right)| row[k] * right).sum();
            let above: f64 = (k + 1..width).map(|j| r[k][j] * solution[j]).sum();
            solution[k] = (dot - above) / r[k][k];
        }
        let log_determinant = 2.0 * (0..width).map(|k| r[k][k].ln()).sum::<f64>();
        if !with_covariance {
            return Some(Solved { solution, covariance: [[0.0; MOST]; MOST], leverage: Vec::new(), log_determinant });
        }
        let mut inverse = [[0.0; MOST]; MOST];
        for column in 0..width {
            for row in (0..=column).rev() {
                let unit = if row == column { 1.0 } else { 0.0 };
                let above: f64 = (row + 1..=column).map(|j| r[row][j] * inverse[j][column]).sum();
                inverse[row][column] = (unit - above) / r[row][row];
            }
        }
        let mut covariance = [[0.0; MOST]; MOST];
        for i in 0..width {
            for j in 0..width {
                covariance[i][j] = (0..width).map(|k| inverse[i][k] * inverse[j][k]).sum();
            }
        }
        let leverage = q.iter().map(|row| row.iter().take(width).map(|entry| entry * entry).sum()).collect();
        Some(Solved { solution, covariance, leverage, log_determinant })
    }
}

/// A column whose part independent of the others is smaller than this share of it says nothing of its own.
const DEPENDENT: f64 = 1e-9;

/// gᵀ Σ g.
pub(super) fn quadratic(gradient: &[f64; MOST], covariance: &[[f64; MOST]; MOST]) -> f64 {
    let mut sum = 0.0;
    for (i, row) in covariance.iter().enumerate() {
        for (j, entry) in row.iter().enumerate() {
            sum += gradient[i] * entry * gradient[j];
        }
    }
    sum.max(0.0)
}
