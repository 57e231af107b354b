//! Loops over lanes without a question inside: what is one value is hoisted, what is many is a slice.

use super::Lane;

/// Elements handled at a time by a model: its buffers live on the stack and in the first-level cache.
pub const BLOCK: usize = 256;

/// An argument inside a loop: `f64` is the same value for all, `&[f64]` one each.
pub trait Column: Copy {
    /// The value of element `index`.
    ///
    /// # Safety
    /// `index` lies inside the slice.
    unsafe fn at(self, index: usize) -> f64;

    /// Elements there are; many for a single value.
    fn count(self) -> usize;
}

impl Column for f64 {
    #[inline(always)]
    unsafe fn at(self, _: usize) -> f64 {
        self
    }

    #[inline(always)]
    fn count(self) -> usize {
        usize::MAX
    }
}

impl Column for &[f64] {
    #[inline(always)]
    unsafe fn at(self, index: usize) -> f64 {
        // SAFETY: the caller's.
        unsafe { *self.get_unchecked(index) }
    }

    #[inline(always)]
    fn count(self) -> usize {
        <[f64]>::len(self)
    }
}

/// `out[i] = function([a[i], b[i], …])` for as many elements as the shortest column has.
macro_rules! map_columns {
    ($name:ident, $($column:ident: $kind:ident),+) => {
        /// `out[i] = function(a[i], b[i], …)` for as many elements as all columns have.
        #[inline(always)]
        pub fn $name<$($kind: Column),+>(
            out: &mut [f64], $($column: $kind,)+ function: impl Fn($(map_columns!(@number $column)),+) -> f64,
        ) {
            let length = out.len()$(.min($column.count()))+;
            for (index, out) in out.iter_mut().take(length).enumerate() {
                // SAFETY: `index` is below the length of every column.
                *out = unsafe { function($($column.at(index)),+) };
            }
        }
    };
    (@number $column:ident) => { f64 };
}

map_columns!(map1, a: A);
map_columns!(map2, a: A, b: B);
map_columns!(map3, a: A, b: B, c: C);
map_columns!(map4, a: A, b: B, c: C, d: D);

/// A lane as a slice: a single value is written out into the buffer.
pub fn spread<'a>(lane: Lane<'a>, buffer: &'a mut [f64; BLOCK], length: usize) -> &'a [f64] {
    match lane {
        Lane::Each(values) => values,
        Lane::One(value) => {
            let part = &mut buffer[..length.min(BLOCK)];
            part.fill(value);
            part
        }
    }
}
