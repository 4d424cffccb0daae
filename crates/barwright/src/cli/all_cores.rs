//! Work on a list, side by side on all processor cores.
use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Does `job` for every task, each by whichever core is free; the answers are in the order of the tasks.
pub fn on_all_cores<T: Sync, R: Send>(tasks: &[T], job: &(dyn Fn(&T) -> R + Sync)) -> Vec<R> {
    let cores = std::thread::available_parallelism().map_or(1, NonZero::get).min(tasks.len().max(1));
    let next = AtomicUsize::new(0);
    // What is said about a task is said in the language of who asked.
    let language = words::language();
    let work = &|| {
        let mut done = Vec::new();
        loop {
            let i = next.fetch_add(1, Ordering::Relaxed);
            let Some(task) = tasks.get(i) else { return done };
            done.push((i, job(task)));
        }
    };
    let mut all: Vec<(usize, R)> = std::thread::scope(|scope| {
        let hands: Vec<_> = (0..cores).map(|_| scope.spawn(move || words::in_language(language, work))).collect();
        // A panic in a thread is a fault of the program: it goes on up.
        hands
            .into_iter()
            .flat_map(|hand| hand.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
            .collect()
    });
    all.sort_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, answer)| answer).collect()
}
