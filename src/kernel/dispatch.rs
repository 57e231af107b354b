//! One body of arithmetic, compiled for the widest vectors the machine at hand has.

/// Whether the machine has AVX2; asked once, then a load.
#[cfg(target_arch = "x86_64")]
#[inline]
#[must_use]
pub fn has_avx2() -> bool {
    std::arch::is_x86_feature_detected!("avx2")
}

/// Defines a function twice, for the baseline and for AVX2, and calls the one that fits the machine.
///
/// Both are the same operations in the same order (the compiler never fuses a multiplication with an addition), so
/// the results are the same bits. What the body calls must be `#[inline(always)]` to be compiled along.
macro_rules! dispatched {
    ($(#[$meta:meta])* $vis:vis fn $name:ident $(<$($generic:ident: $bound:path),+>)? ($($arg:ident: $kind:ty),* $(,)?) $(-> $result:ty)? $body:block) => {
        $(#[$meta])*
        $vis fn $name $(<$($generic: $bound),+>)? ($($arg: $kind),*) $(-> $result)? {
            #[inline(always)]
            fn body $(<$($generic: $bound),+>)? ($($arg: $kind),*) $(-> $result)? $body

            #[cfg(target_arch = "x86_64")]
            {
                #[target_feature(enable = "avx2")]
                unsafe fn wide $(<$($generic: $bound),+>)? ($($arg: $kind),*) $(-> $result)? {
                    body($($arg),*)
                }
                if $crate::kernel::has_avx2() {
                    // SAFETY: the machine has AVX2.
                    return unsafe { wide($($arg),*) };
                }
            }
            body($($arg),*)
        }
    };
}

pub(crate) use dispatched;
