//! Carbon steel that follows its air: a lag that goes with the heat capacity.

use super::{BLOCK, Linear, SAME};
use crate::kernel::dispatched;
use crate::oven::material::{HEAT_CAPACITY_J_M3K, HeatCapacity};

/// A lag that goes with the part's temperature: the middle of the step rules it.
#[derive(Debug, Clone)]
pub(super) struct Growing {
    lag: f64,
    seconds: f64,
    /// By degrees over [`CELL_C`], from [`COLDEST_C`] on; made as they are asked for, for one step.
    cells: Vec<Option<Cell>>,
}

/// Degrees of a cell; in its polynomials a step may go as far from the cell's middle.
const CELL_C: f64 = 4.0;

/// Cells are made between these temperatures: below the first break of the heat capacity, at 600 °C.
const COLDEST_C: f64 = -100.0;
const HOTTEST_C: f64 = 592.0;

/// What half a step and a whole one do to a part whose lag is that of a temperature, as cubics of the degrees from the
/// middle of the cell. Interpolated in Chebyshev points, with an error below 10⁻¹¹.
#[derive(Debug, Clone, Copy)]
struct Cell {
    middle: f64,
    half: [[f64; 4]; 2],
    whole: [[f64; 4]; 2],
}

impl Growing {
    pub(super) const fn new(lag: f64) -> Self {
        Self { lag, seconds: 0.0, cells: Vec::new() }
    }

    /// The lag of a part at a temperature, and what a step does to it.
    fn at(&self, celsius: f64, seconds: f64) -> Linear {
        let mut made = Linear::new(self.lag * HeatCapacity::En1993.volumetric(celsius) / HEAT_CAPACITY_J_M3K);
        made.of(seconds);
        made
    }

    /// A step with its own exponentials.
    pub(super) fn careful(&self, part: f64, from: f64, to: f64, seconds: f64) -> f64 {
        let half = self.at(part, 0.5 * seconds).advance(part, from, 0.5 * (from + to));
        self.at(half, seconds).advance(part, from, to)
    }

    /// Equal steps.
    pub(super) fn along(
        &mut self,
        mut part: f64,
        mut from: f64,
        air: &[f64; BLOCK],
        seconds: f64,
        made: &mut [f64; BLOCK],
    ) {
        if (seconds - self.seconds).abs() > SAME * seconds {
            self.seconds = seconds;
            self.cells.clear();
        }
        let mut done = 0;
        while let (Some(next), Some(room)) = (air.get(done..), made.get_mut(done..)) {
            let Some(&to) = next.first() else { break };
            let steps = self.cell(part).map_or(0, |cell| within(&cell, part, from, next, room));
            if let (0, Some(first)) = (steps, room.first_mut()) {
                // It leads too far from the cell, or there is none.
                *first = self.careful(part, from, to, seconds);
            }
            let last = done + steps.max(1) - 1;
            (part, from) = (made[last], air[last]);
            done = last + 1;
        }
    }

    /// The cell of a temperature.
    fn cell(&mut self, celsius: f64) -> Option<Cell> {
        if !(COLDEST_C..HOTTEST_C).contains(&celsius) {
            return None;
        }
        let index = ((celsius - COLDEST_C) / CELL_C).floor();
        if self.cells.is_empty() {
            self.cells.resize(((HOTTEST_C - COLDEST_C) / CELL_C) as usize, None);
        }
        if let Some(Some(known)) = self.cells.get(index as usize) {
            return Some(*known);
        }
        let made = self.make(COLDEST_C + CELL_C * (index + 0.5));
        if let Some(slot) = self.cells.get_mut(index as usize) {
            *slot = Some(made);
        }
        Some(made)
    }

    fn make(&self, middle: f64) -> Cell {
        let points: [f64; 4] = [1.0, 3.0, 5.0, 7.0].map(|odd: f64| CELL_C * (odd * std::f64::consts::PI / 8.0).cos());
        let of = |seconds: f64| {
            let steps = points.map(|point| self.at(middle + point, seconds));
            [cubic(points, steps.map(|step| step.fade)), cubic(points, steps.map(|step| step.trail))]
        };
        Cell { middle, half: of(0.5 * self.seconds), whole: of(self.seconds) }
    }
}

dispatched! {
    /// Steps whose part, and the half of each, stay near the middle of a cell; how many that are.
    ///
    /// The part is counted from the middle, and what the air does is put into the coefficients, so that one step waits for
    /// the one before only through two short polynomials.
    fn within(cell: &Cell, part: f64, from: f64, air: &[f64], made: &mut [f64]) -> usize {
        let Cell { middle, half: [fade, trail], whole: [fade2, trail2] } = *cell;
        let (mut off, mut from, mut done) = (part - middle, from, 0);
        for (&to, made) in air.iter().zip(made) {
            if off.abs() > 0.5 * CELL_C {
                break;
            }
            // (off + below)·fade(off) − rise·trail(off), for half a step; its fourth power of off adds less than 10⁻⁹ °C.
            let (below, mean) = (middle - from, 0.5 * (from + to));
            let rise = mean - from;
            let first = (below * fade[0] - rise * trail[0]) + (mean - middle);
            let second = fade[0] + (below * fade[1] - rise * trail[1]);
            let third = fade[1] + (below * fade[2] - rise * trail[2]);
            let fourth = fade[2] + (below * fade[3] - rise * trail[3]);
            let square = off * off;
            let half = (first + second * off) + square * (third + fourth * off);
            if half.abs() > CELL_C {
                break;
            }
            let (behind, rise) = (off + below, to - from);
            let mut whole = [0.0; 4];
            for i in 0..4 {
                whole[i] = behind * fade2[i] - rise * trail2[i];
            }
            off = ((whole[0] + (to - middle)) + whole[1] * half) + (half * half) * (whole[2] + whole[3] * half);
            *made = middle + off;
            from = to;
            done += 1;
        }
        done
    }
}

/// The cubic through four points, by Newton's divided differences.
fn cubic(x: [f64; 4], y: [f64; 4]) -> [f64; 4] {
    let first = [0, 1, 2].map(|i| (y[i + 1] - y[i]) / (x[i + 1] - x[i]));
    let second = [0, 1].map(|i| (first[i + 1] - first[i]) / (x[i + 2] - x[i]));
    let d = (second[1] - second[0]) / (x[3] - x[0]);
    let c = second[0] - d * (x[0] + x[1] + x[2]);
    let b = first[0] - second[0] * (x[0] + x[1]) + d * (x[0] * x[1] + x[0] * x[2] + x[1] * x[2]);
    let a = y[0] - x[0] * (first[0] - x[1] * (second[0] - x[2] * d));
    [a, b, c, d]
}
