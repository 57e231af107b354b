//! A normal distribution of the weights, and what readings make of it.

use super::agreement::too_sure;
use super::basis::{FUNCTIONS, Functions};
use crate::error::Result;

/// The weights of one steel's functions: mean, covariance, and the factor a variance is read from.
#[derive(Debug, Clone)]
pub(super) struct Weights {
    mean: Functions,
    covariance: Vec<f64>,
    /// Rows of the factor that are not empty, one after another.
    factor: Vec<f64>,
    /// The function of each such row, and how far the row goes.
    rows: Vec<(usize, usize)>,
}

/// One reading as the weights see it.
pub(super) struct Row {
    pub functions: Functions,
    /// The reading less what the steel would read with all weights zero.
    pub above: f64,
    /// Variance of its own error.
    pub variance: f64,
}

impl Weights {
    pub fn new(mean: Functions, covariance: Vec<f64>) -> Self {
        let triangle = semidefinite_factor(&covariance);
        let (mut rows, mut factor) = (Vec::new(), Vec::new());
        for (function, row) in triangle.chunks_exact(FUNCTIONS).enumerate() {
            // What an element that is not there would add is certain: nothing.
            if row.iter().any(|&entry| entry != 0.0) {
                rows.push((function, function + 1));
                factor.extend_from_slice(row);
            }
        }
        Self { mean, covariance, factor, rows }
    }

    /// Half of what these weights are expected to exceed others by.
    pub fn half_above(&self, other: &Self) -> Functions {
        let mut made = self.mean;
        for (made, other) in made.iter_mut().zip(other.mean) {
            *made = 0.5 * (*made - other);
        }
        made
    }

    /// What the weights add to the mean.
    #[inline]
    pub fn mean(&self, functions: &Functions) -> f64 {
        dot(&self.mean, functions)
    }

    /// Variance of the sum that the functions make.
    #[inline]
    pub fn variance(&self, functions: &Functions) -> f64 {
        let mut along = [0.0; FUNCTIONS];
        for (&(function, length), row) in self.rows.iter().zip(self.factor.chunks_exact(FUNCTIONS)) {
            let value = functions[function];
            for (sum, entry) in along[..length].iter_mut().zip(row) {
                *sum += value * entry;
            }
        }
        dot(&along, &along)
    }

    /// The same for another heat of the steel, whose level differs by this variance.
    pub fn with_another_heat(mut self, variance: f64) -> Self {
        if let Some(level) = self.covariance.first_mut() {
            *level += variance;
        }
        Self::new(self.mean, self.covariance)
    }

    /// The variance that two readings would leave, whatever they read.
    pub fn variance_given_two(&self, functions: &Functions, rows: &[Row; 2]) -> f64 {
        let [a, b] = rows;
        let (with_a, with_b) = (self.times_covariance(&a.functions), self.times_covariance(&b.functions));
        let (aa, ab) = (dot(&with_a, &a.functions) + a.variance, dot(&with_a, &b.functions));
        let bb = dot(&with_b, &b.functions) + b.variance;
        let (x, y) = (dot(&with_a, functions), dot(&with_b, functions));
        let explained = (bb * x * x - 2.0 * ab * x * y + aa * y * y) / (aa * bb - ab * ab);
        (self.variance(functions) - explained).max(0.0)
    }

    fn times_covariance(&self, functions: &Functions) -> Functions {
        let mut made = [0.0; FUNCTIONS];
        for (sum, row) in made.iter_mut().zip(self.covariance.chunks_exact(FUNCTIONS)) {
            *sum = dot(row, functions);
        }
        made
    }

    /// Covariance of what the functions of several readings make, by rows.
    pub fn between(&self, rows: &[Row]) -> Vec<f64> {
        let against: Vec<Functions> = rows.iter().map(|row| self.times_covariance(&row.functions)).collect();
        rows.iter().flat_map(|row| against.iter().map(|other| dot(&row.functions, other))).collect()
    }

    /// The weights after readings, exactly. `shared` is the variance of an error that all readings have in common.
    ///
    /// # Errors
    /// [`Error::Refused`] if the readings' matrix is singular, which errors above zero exclude.
    pub fn given(&self, rows: &[Row], shared: f64) -> Result<Self> {
        let k = rows.len();
        let against: Vec<Functions> = rows.iter().map(|row| self.times_covariance(&row.functions)).collect();
        let mut matrix = vec![0.0; k * k];
        for (i, row) in rows.iter().enumerate() {
            for (j, other) in against.iter().enumerate() {
                matrix[i * k + j] = dot(&row.functions, other) + shared + if i == j { row.variance } else { 0.0 };
            }
        }
        let residual: Vec<f64> = rows.iter().map(|row| row.above - self.mean(&row.functions)).collect();
        let lower = cholesky(matrix, k).ok_or_else(too_sure)?;
        let solved = forward(&lower, k, residual);
        let mut mean = self.mean;
        let mut covariance = self.covariance.clone();
        // One column a function: the covariance of the readings with its weight, through the triangle.
        let through: Vec<Vec<f64>> =
            (0..FUNCTIONS).map(|f| forward(&lower, k, against.iter().map(|column| column[f]).collect())).collect();
        for (f, column) in through.iter().enumerate() {
            mean[f] += dot(column, &solved);
            for (g, other) in through.iter().enumerate() {
                covariance[f * FUNCTIONS + g] -= dot(column, other);
            }
        }
        Ok(Self::new(mean, covariance))
    }
}

#[inline]
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The lower triangle of a positive definite matrix; `None` for another.
pub(super) fn cholesky(mut matrix: Vec<f64>, k: usize) -> Option<Vec<f64>> {
    for i in 0..k {
        for j in 0..=i {
            let (row, other) = (&matrix[i * k..i * k + j], &matrix[j * k..j * k + j]);
            let rest = matrix[i * k + j] - dot(row, other);
            matrix[i * k + j] = if i == j {
                if rest <= 0.0 || !rest.is_finite() {
                    return None;
                }
                rest.sqrt()
            } else {
                rest / matrix[j * k + j]
            };
        }
    }
    Some(matrix)
}

/// Solves the lower triangle for one right-hand side.
pub(super) fn forward(lower: &[f64], k: usize, mut right: Vec<f64>) -> Vec<f64> {
    for i in 0..k {
        let rest = right[i] - dot(&lower[i * k..i * k + i], &right[..i]);
        right[i] = rest / lower[i * k + i];
    }
    right
}

/// The lower triangle of a covariance that may be singular: weights that are certain get a column of zeros.
fn semidefinite_factor(covariance: &[f64]) -> Vec<f64> {
    /// Of a variance, what rounding may leave.
    const NOTHING: f64 = 1e-13;
    let n = FUNCTIONS;
    let mut factor = vec![0.0; n * n];
    for j in 0..n {
        let pivot = covariance[j * n + j] - dot(&factor[j * n..j * n + j], &factor[j * n..j * n + j]);
        if pivot <= NOTHING * covariance[j * n + j] {
            continue;
        }
        let root = pivot.sqrt();
        factor[j * n + j] = root;
        for i in j + 1..n {
            let rest = covariance[i * n + j] - dot(&factor[i * n..i * n + j], &factor[j * n..j * n + j]);
            factor[i * n + j] = rest / root;
        }
    }
    factor
}
