//! Our own threads: a pool that a forked process does not inherit, and work cut so that results can't depend on it.

use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock};

use rayon::ThreadPool;

use crate::error::{Error, Result};

/// Work on fewer elements than this stays on the calling thread.
const ALONE_BELOW: usize = 1 << 16;

/// What [`set_threads`] asked for; 0 is nothing.
static WANTED: AtomicUsize = AtomicUsize::new(0);

/// The pool, the process that made it, and its size. The threads of a pool do not survive a fork, its locks do.
static POOL: Mutex<Option<(u32, usize, Arc<ThreadPool>)>> = Mutex::new(None);

/// More threads than this wait for each other, whatever the machine.
const MOST_THREADS: usize = 256;

/// Sets how many threads array calls use; 0 goes back to `OMP_NUM_THREADS` or, without it, one a processor.
///
/// # Errors
/// [`Error::OutOfRange`] for more than 256.
pub fn set_threads(count: usize) -> Result<()> {
    if count > MOST_THREADS {
        return Err(Error::outside(
            "set_threads",
            "count",
            (count as f64, String::new()),
            (0.0, MOST_THREADS as f64),
            "this library: more threads only wait for each other",
            "Give about as many as the machine has processors; 0 for just that",
        ));
    }
    WANTED.store(count, Ordering::Relaxed);
    Ok(())
}

/// How many threads array calls use.
#[must_use]
pub fn threads() -> usize {
    // Asked once: finding out how many processors there are reads files.
    static USUAL: OnceLock<usize> = OnceLock::new();
    match WANTED.load(Ordering::Relaxed) {
        0 => *USUAL.get_or_init(|| {
            std::env::var("OMP_NUM_THREADS")
                .ok()
                .and_then(|text| text.split(',').next().and_then(|first| first.trim().parse().ok()))
                .filter(|&count: &usize| count > 0)
                .unwrap_or_else(|| std::thread::available_parallelism().map_or(1, Into::into))
        }),
        count => count,
    }
}

/// The pool of this process, or none if another thread (perhaps one lost in a fork) is busy with it.
fn pool(workers: usize) -> Option<Arc<ThreadPool>> {
    let mut held = POOL.try_lock().ok()?;
    let process = std::process::id();
    if let Some((made_by, size, pool)) = held.as_ref() {
        if *made_by == process && *size == workers {
            return Some(Arc::clone(pool));
        }
    }
    let made = rayon::ThreadPoolBuilder::new()
        .num_threads(workers)
        .thread_name(|index| format!("afterquench-{index}"))
        .build()
        .ok()
        .map(Arc::new)?;
    if let Some((made_by, _, old)) = held.replace((process, workers, Arc::clone(&made))) {
        // Taking down a pool whose threads stayed in the parent would wait for them for ever.
        if made_by != process {
            std::mem::forget(old);
        }
    }
    Some(made)
}

/// Does `work` on the parts of `0..count`, on several threads where that pays, and hands back what each part gave, in
/// order. Parts start at multiples of `grain`.
pub fn in_parts<R: Send>(count: usize, grain: usize, work: impl Fn(Range<usize>) -> R + Sync) -> Vec<R> {
    if count < ALONE_BELOW {
        return vec![work(0..count)];
    }
    let hands = threads().min(count / (ALONE_BELOW / 2));
    let pool = if hands < 2 { None } else { pool(threads() - 1) };
    let Some(pool) = pool else { return vec![work(0..count)] };
    // More parts than hands, so that a thread that is held up does not hold up all.
    let parts = hands * 4;
    let size = count.div_ceil(parts).next_multiple_of(grain.max(1));
    let ranges: Vec<Range<usize>> =
        (0..count.div_ceil(size)).map(|part| part * size..((part + 1) * size).min(count)).collect();
    let mut results: Vec<Option<R>> = ranges.iter().map(|_| None).collect();
    let next = AtomicUsize::new(0);
    let slots: Vec<Mutex<&mut Option<R>>> = results.iter_mut().map(Mutex::new).collect();
    let take = || {
        while let (index, true) = {
            let index = next.fetch_add(1, Ordering::Relaxed);
            (index, index < ranges.len())
        } {
            if let (Some(range), Some(Ok(mut slot))) = (ranges.get(index), slots.get(index).map(Mutex::lock)) {
                **slot = Some(work(range.clone()));
            }
        }
    };
    pool.in_place_scope(|scope| {
        for _ in 1..hands {
            scope.spawn(|_| take());
        }
        take();
    });
    drop(slots);
    results.into_iter().flatten().collect()
}

/// Does `mine` here and `theirs` on up to `hands - 1` other threads, until all are done. What they share they take
/// turns at themselves.
pub fn beside(hands: usize, theirs: impl Fn() + Sync, mine: impl FnOnce()) {
    let hands = hands.min(threads());
    let pool = if hands < 2 { None } else { pool(threads() - 1) };
    let Some(pool) = pool else { return mine() };
    pool.in_place_scope(|scope| {
        for _ in 1..hands {
            scope.spawn(|_| theirs());
        }
        mine();
    });
}

/// Does two things, side by side where there are threads for it.
pub fn both<A: Send, B>(theirs: impl Fn() -> A + Sync, mine: impl FnOnce() -> B) -> (A, B) {
    let pool = if threads() < 2 { None } else { pool(threads() - 1) };
    let Some(pool) = pool else { return (theirs(), mine()) };
    let mut made = None;
    let own = pool.in_place_scope(|scope| {
        let (theirs, made) = (&theirs, &mut made);
        scope.spawn(move |_| *made = Some(theirs()));
        mine()
    });
    (made.unwrap_or_else(theirs), own)
}

#[cfg(test)]
mod tests {
    use super::{in_parts, set_threads};

    #[test]
    fn parts_cover_everything_once() {
        for hands in [1, 2, 3] {
            set_threads(hands).unwrap();
            for count in [0, 1, 1000, 70_000, 1_000_001] {
                let parts = in_parts(count, 256, |range| range);
                let mut next = 0;
                for part in parts {
                    assert_eq!(part.start, next);
                    next = part.end;
                }
                assert_eq!(next, count);
            }
        }
        set_threads(0).unwrap();
    }
}
