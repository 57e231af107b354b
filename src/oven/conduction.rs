//! Conduction into a section whose properties change with temperature: an implicit finite-volume solver.
//!
//! Backward Euler in time, extrapolated from one step and its two halves (second order, and their difference rules the
//! step); cells of equal depth in space, solved on two grids, whose difference gives the extrapolated value its bound.

use super::material::HeatCapacity;
use super::radiation::coefficient;
use super::section::Part;

/// What a section stands in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bath {
    /// Convection, W/m²K.
    pub h_w_m2k: f64,
    /// Of the part, towards walls as warm as the air.
    pub emissivity: f64,
    /// Air and walls, °C.
    pub celsius: f64,
}

/// A section in cells from the middle outwards.
struct Cells {
    /// Depth of a cell, m.
    depth: f64,
    /// Area of the face outside each cell and volume of each cell, by the area of the skin.
    faces: Vec<f64>,
    volumes: Vec<f64>,
    capacity: HeatCapacity,
}

impl Cells {
    fn new(part: Part, count: usize, capacity: HeatCapacity) -> Self {
        let depth = part.depth_m() / count as f64;
        let round = matches!(part, Part::Round(_));
        let edge = |index: usize| index as f64 / count as f64;
        let face = |index: usize| if round { edge(index) } else { 1.0 };
        let volume = |index: usize| depth * 0.5 * (face(index) + face(index + 1));
        Self { depth, faces: (1..=count).map(face).collect(), volumes: (0..count).map(volume).collect(), capacity }
    }

    /// The temperatures after one backward step; coefficients are taken at the step's end by substitution.
    fn step(&self, before: &[f64], bath: Bath, seconds: f64) -> Vec<f64> {
        let n = before.len();
        let mut now = before.to_vec();
        for _ in 0..6 {
            let (mut below, mut diagonal, mut above, mut right) =
                (vec![0.0; n], vec![0.0; n], vec![0.0; n], vec![0.0; n]);
            for i in 0..n {
                let stored = self.volumes[i] * self.capacity.volumetric(0.5 * (before[i] + now[i])) / seconds;
                diagonal[i] += stored;
                right[i] += stored * before[i];
                if i + 1 < n {
                    let conductance =
                        self.faces[i] * self.capacity.conductivity(0.5 * (now[i] + now[i + 1])) / self.depth;
                    diagonal[i] += conductance;
                    above[i] -= conductance;
                    diagonal[i + 1] += conductance;
                    below[i + 1] -= conductance;
                } else {
                    let inner = 2.0 * self.capacity.conductivity(now[i]) / self.depth;
                    let outer = bath.h_w_m2k + coefficient(bath.celsius, self.skin(&now, bath), bath.emissivity);
                    let conductance = self.faces[i] * inner * outer / (inner + outer);
                    diagonal[i] += conductance;
                    right[i] += conductance * bath.celsius;
                }
            }
            let solved = tridiagonal(&below, &diagonal, &above, &right);
            let moved = solved.iter().zip(&now).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            now = solved;
            if moved < 1e-9 {
                break;
            }
        }
        now
    }

    /// The skin's temperature from the outermost cell's.
    fn skin(&self, celsius: &[f64], bath: Bath) -> f64 {
        let last = celsius.last().copied().unwrap_or(f64::NAN);
        let inner = 2.0 * self.capacity.conductivity(last) / self.depth;
        let mut skin = last;
        for _ in 0..3 {
            let outer = bath.h_w_m2k + coefficient(bath.celsius, skin, bath.emissivity);
            skin = (inner * last + outer * bath.celsius) / (inner + outer);
        }
        skin
    }
}

fn tridiagonal(below: &[f64], diagonal: &[f64], above: &[f64], right: &[f64]) -> Vec<f64> {
    let n = diagonal.len();
    let (mut factor, mut value) = (vec![0.0; n], vec![0.0; n]);
    let (mut before, mut value_before) = (0.0, 0.0);
    for i in 0..n {
        let pivot = diagonal[i] - below[i] * before;
        before = above[i] / pivot;
        value_before = (right[i] - below[i] * value_before) / pivot;
        (factor[i], value[i]) = (before, value_before);
    }
    for i in (0..n.saturating_sub(1)).rev() {
        value[i] -= factor[i] * value[i + 1];
    }
    value
}

/// The middle's temperature from the two innermost cells: even about the middle.
fn middle(celsius: &[f64]) -> f64 {
    match celsius {
        [first, second, ..] => (9.0 * first - second) / 8.0,
        _ => f64::NAN,
    }
}

/// Seconds until the core of a section is within `within_c` of a steady bath, and the bound of the solver's own error.
pub(super) fn time_to_within(
    part: Part,
    capacity: HeatCapacity,
    bath: Bath,
    start_c: f64,
    within_c: f64,
) -> (f64, f64) {
    let on = |count: usize| on_a_grid(&Cells::new(part, count, capacity), count, bath, start_c, within_c);
    let (coarse, fine) = (on(12), on(24));
    let bound = (fine - coarse).abs() / 3.0;
    (fine + (fine - coarse) / 3.0, bound)
}

/// A step may be wrong by this much, °C.
const STEP_ERROR_C: f64 = 2e-3;

fn on_a_grid(cells: &Cells, count: usize, bath: Bath, start_c: f64, within_c: f64) -> f64 {
    let mut celsius = vec![start_c; count];
    let volume: f64 = cells.volumes.iter().sum();
    let (mut time, mut dt) = (0.0, 1e-4 * volume * cells.capacity.volumetric(start_c) / bath.h_w_m2k);
    loop {
        let whole = cells.step(&celsius, bath, dt);
        let half = cells.step(&celsius, bath, 0.5 * dt);
        let halves = cells.step(&half, bath, 0.5 * dt);
        let error = halves.iter().zip(&whole).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        let factor = (0.9 * (STEP_ERROR_C / error.max(1e-12)).sqrt()).clamp(0.2, 2.0);
        if error > 2.0 * STEP_ERROR_C {
            dt *= factor;
            continue;
        }
        let made: Vec<f64> = halves.iter().zip(&whole).map(|(halves, whole)| 2.0 * halves - whole).collect();
        let (gap_before, gap) = (bath.celsius - middle(&celsius), bath.celsius - middle(&made));
        if gap <= within_c {
            // Near the end the gap fades like an exponential: even in its logarithm.
            return time + dt * (gap_before / within_c).ln() / (gap_before / gap.max(1e-300)).ln();
        }
        celsius = made;
        time += dt;
        dt *= factor;
    }
}
