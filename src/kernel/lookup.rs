//! Piecewise polynomials found without a search: equal cells say which piece to begin with.

use super::{BLOCK, Lane, dispatched};
use crate::error::{Error, Result};

/// Cells of the index table at most; a table finer than this in places walks a few knots there.
const MOST_CELLS: usize = 4096;

/// A piecewise polynomial of `N` coefficients a piece, constant first, in x − (left knot). NaN outside its knots.
#[derive(Debug, Clone, PartialEq)]
pub struct Piecewise<const N: usize> {
    knots: Vec<f64>,
    /// Left knot and coefficients of a piece lie together, so that a look-up touches one or two cache lines.
    pieces: Vec<Piece<N>>,
    cells: Vec<Cell>,
    /// Whether no cell has more than one knot in it.
    single: bool,
    cells_per_unit: f64,
    last_cell: f64,
    first: f64,
    last: f64,
}

/// A piecewise cubic, as monotone interpolation gives it.
pub type PiecewiseCubic = Piecewise<4>;

/// Straight lines between table rows.
pub type PiecewiseLinear = Piecewise<2>;

/// The piece at a cell's left edge, and where it gives way to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cell {
    wall: f64,
    piece: usize,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece<const N: usize> {
    left: f64,
    /// Where it gives way to the next; NaN for the last, so that no number lies beyond it.
    right: f64,
    coefficients: [f64; N],
}

impl<const N: usize> Piecewise<N> {
    /// From knots, strictly rising, and one set of coefficients for each piece between them.
    ///
    /// # Errors
    /// [`Error::Refused`] for knots that do not rise or are not finite, or a number of pieces that does not fit.
    pub fn new(knots: Vec<f64>, coefficients: Vec<[f64; N]>) -> Result<Self> {
        let refuse = |why: &'static str| {
            Err(Error::Refused {
                what: "a piecewise polynomial".into(),
                why: why.into(),
                instead: "Give at least two rising knots and one piece between each pair".into(),
            })
        };
        if knots.len() < 2 || coefficients.len() + 1 != knots.len() {
            return refuse("the numbers of knots and pieces do not fit");
        }
        let pairs = || knots.iter().zip(knots.iter().skip(1));
        if !knots.iter().all(|knot| knot.is_finite()) || pairs().any(|(a, b)| a >= b) {
            return refuse("its knots do not rise");
        }
        let (Some(&first), Some(&last)) = (knots.first(), knots.last()) else { return refuse("it has no knots") };
        let pieces: Vec<Piece<N>> = pairs()
            .zip(&coefficients)
            .map(|((&left, &right), &coefficients)| Piece {
                left,
                right: if right == last { f64::NAN } else { right },
                coefficients,
            })
            .collect();
        // Cells less than half as wide as the narrowest piece have at most one knot, rounding included.
        let narrowest = pairs().map(|(a, b)| b - a).fold(f64::INFINITY, f64::min);
        let wanted = (2.1 * (last - first) / narrowest).ceil();
        let count = wanted.clamp(1.0, MOST_CELLS as f64);
        let cells_per_unit = count / (last - first);
        // A cell begins with the piece that holds its left edge, taken a hair early: rounding may only be too far left.
        let cells = (0..=count as usize)
            .map(|cell| {
                let edge = first + (cell as f64 - 1e-6) / cells_per_unit;
                let piece = knots.partition_point(|&knot| knot <= edge).saturating_sub(1).min(pieces.len() - 1);
                Cell { wall: pieces.get(piece).map_or(f64::NAN, |piece| piece.right), piece }
            })
            .collect();
        Ok(Self { knots, pieces, cells, single: count == wanted, cells_per_unit, last_cell: count, first, last })
    }

    /// The knots.
    #[must_use]
    pub fn knots(&self) -> &[f64] {
        &self.knots
    }

    /// The value in the piece that `cell` leads to; `SINGLE` where no cell has more than one knot.
    ///
    /// # Safety
    /// `cell` comes from [`cell_of`] for this table and this `x`.
    #[inline(always)]
    unsafe fn value<const SINGLE: bool>(&self, cell: i32, x: f64) -> f64 {
        // SAFETY: the cell is inside the table, cells hold indices of pieces, and there is a piece beyond every wall
        // that a number can be beyond.
        unsafe {
            let cell = self.cells.get_unchecked(cell as usize);
            let mut piece = self.pieces.get_unchecked(cell.piece + usize::from(x >= cell.wall));
            if !SINGLE {
                let mut index = cell.piece + usize::from(x >= cell.wall);
                while x >= piece.right {
                    index += 1;
                    piece = self.pieces.get_unchecked(index);
                }
            }
            piece.at(x)
        }
    }

    /// The value at `x`; NaN outside the knots. At a knot where one side is NaN, the value of the other side.
    #[inline]
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        if !(x >= self.first && x <= self.last) {
            return f64::NAN;
        }
        // SAFETY: the cell is that of `x`.
        let value = unsafe { self.value::<false>(cell_of(x, self.grid()), x) };
        if value.is_nan() { self.at_edge(x) } else { value }
    }

    fn grid(&self) -> (f64, f64, f64) {
        (self.first, self.cells_per_unit, self.last_cell)
    }

    /// The value at a knot from its left side, where the piece on its right has none.
    #[cold]
    fn at_edge(&self, x: f64) -> f64 {
        self.knots
            .iter()
            .skip(1)
            .zip(&self.pieces)
            .find(|(knot, _)| **knot == x)
            .map_or(f64::NAN, |(_, piece)| piece.at(x))
    }

    /// Evaluates every element.
    pub fn fill(&self, x: Lane<'_>, out: &mut [f64]) {
        match (x, self.single) {
            (Lane::One(value), _) => out.fill(self.at(value)),
            (Lane::Each(values), true) => self.fill_each::<true>(values, out),
            (Lane::Each(values), false) => self.fill_each::<false>(values, out),
        }
    }

    fn fill_each<const SINGLE: bool>(&self, values: &[f64], out: &mut [f64]) {
        let mut buffer = [0i32; BLOCK];
        for (out, values) in out.chunks_mut(BLOCK).zip(values.chunks(BLOCK)) {
            let cells = &mut buffer[..values.len()];
            cells_of(cells, values, self.grid());
            let mut inside_but_nan = false;
            for ((out, &x), &cell) in out.iter_mut().zip(values).zip(&*cells) {
                // SAFETY: the cell is that of `x`.
                let value = unsafe { self.value::<SINGLE>(cell, x) };
                let inside = (x >= self.first) & (x <= self.last);
                inside_but_nan |= inside & value.is_nan();
                *out = if inside { value } else { f64::NAN };
            }
            if inside_but_nan {
                for (out, &x) in out.iter_mut().zip(values) {
                    *out = self.at(x);
                }
            }
        }
    }
}

/// The cell of the index table that `x` falls into; the first or last one outside, and for NaN the first.
#[inline(always)]
fn cell_of(x: f64, (first, per_unit, last): (f64, f64, f64)) -> i32 {
    let place = (x - first) * per_unit;
    let place = if place > 0.0 { place } else { 0.0 };
    let place = if place < last { place } else { last };
    // SAFETY: `place` lies between 0 and the number of cells, at most 4096.
    unsafe { place.to_int_unchecked() }
}

dispatched! {
    fn cells_of(cells: &mut [i32], values: &[f64], grid: (f64, f64, f64)) {
        for (cell, &x) in cells.iter_mut().zip(values) {
            *cell = cell_of(x, grid);
        }
    }
}

impl<const N: usize> Piece<N> {
    #[inline(always)]
    fn at(&self, x: f64) -> f64 {
        let d = x - self.left;
        let mut sum = 0.0;
        for (index, coefficient) in self.coefficients.iter().rev().enumerate() {
            sum = if index == 0 { *coefficient } else { sum * d + coefficient };
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_piece_on_any_spacing() {
        let knots = vec![-3.0, -2.999_999, 0.0, 0.5, 400.0, 400.25, 1e6];
        let pieces: Vec<[f64; 2]> = (0..6).map(|i| [f64::from(i), 0.0]).collect();
        let table = Piecewise::new(knots.clone(), pieces).unwrap();
        for (index, pair) in knots.windows(2).enumerate() {
            for share in [0.0, 1e-9, 0.3, 0.999_999] {
                assert_eq!(table.at(pair[0] + share * (pair[1] - pair[0])), index as f64);
            }
        }
        assert_eq!(table.at(1e6), 5.0);
        for outside in [-3.1, 1.1e6, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(table.at(outside).is_nan());
        }
    }

    #[test]
    fn a_blank_piece_leaves_its_edges() {
        let table =
            PiecewiseLinear::new(vec![0.0, 1.0, 2.0, 3.0], vec![[5.0, 1.0], [f64::NAN; 2], [9.0, -1.0]]).unwrap();
        assert_eq!((table.at(1.0), table.at(2.0)), (6.0, 9.0));
        assert!(table.at(1.5).is_nan());
    }
}
