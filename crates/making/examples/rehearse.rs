//! Tunes invented bars on the virtual bench over the whole compass, the planner and plain greedy advice side by side:
//! `cargo run --release -p making --example rehearse -- PER_OCTAVE [FIRST_SEED] [planner|greedy|both]`.
//!
//! Prints a table per octave. `LINES=1` prints a line for each bar, `TRAIL=1` the trail of every bar that did not end
//! within tolerance, `TRAIL=all` of every bar; `SEEDS=7,9` keeps only these seeds.
use making::MakingError;
use making::virtual_bench::{Adviser, Run, Tally, Task, compass, rehearse};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::Instant;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize, otherwise: u64| arguments.get(i).and_then(|a| a.parse().ok()).unwrap_or(otherwise);
    let (per_octave, first) = (number(0, 4) as u32, number(1, 0));
    let advisers: &[Adviser] = match arguments.get(2).map_or("planner", String::as_str) {
        "greedy" => &[Adviser::Greedy],
        "both" => &[Adviser::Planner, Adviser::Greedy],
        _ => &[Adviser::Planner],
    };
    for adviser in advisers {
        let mut tasks = compass(per_octave, first, *adviser);
        if let Ok(only) = std::env::var("SEEDS") {
            let wanted: Vec<u64> = only.split(',').filter_map(|s| s.parse().ok()).collect();
            tasks.retain(|t| wanted.contains(&t.seed));
        }
        let clock = Instant::now();
        let mut tallies = vec![Tally::default(); 6];
        let mut busy_s = 0.0;
        run_all(&tasks, |task, run, seconds| {
            tallies[task.octave() as usize - 2].add(run);
            tallies[5].add(run);
            busy_s += seconds;
            tell(task, run, seconds);
        });
        println!("{adviser:?}, {} bars, seeds from {first}", tasks.len());
        print_table(&tallies);
        println!(
            "{:.0} s, {:.2} s of one core's time a bar",
            clock.elapsed().as_secs_f64(),
            busy_s / tasks.len() as f64
        );
    }
}

/// Runs the tasks on all cores; `each` hears of them as they end.
fn run_all(tasks: &[Task], mut each: impl FnMut(&Task, &Result<Run, MakingError>, f64)) {
    let next = AtomicUsize::new(0);
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZeroUsize::get);
    let (send, receive) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..cores {
            let (send, next) = (send.clone(), &next);
            scope.spawn(move || {
                while let Some(task) = tasks.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let clock = Instant::now();
                    let run = rehearse(task.seed, task.note_hz(), task.adviser);
                    if send.send((*task, run, clock.elapsed().as_secs_f64())).is_err() {
                        return;
                    }
                }
            });
        }
        drop(send);
        for (task, run, seconds) in receive {
            each(&task, &run, seconds);
        }
    });
}

fn tell(task: &Task, run: &Result<Run, MakingError>, seconds: f64) {
    let asked = |name: &str, value: &str| std::env::var(name).is_ok_and(|v| v == value);
    let run = match run {
        Ok(run) => run,
        Err(error) => {
            println!("seed {} step {} refused: {error} ({})", task.seed, task.step, error.hint);
            return;
        }
    };
    let listed = |cents: &[f64]| cents.iter().map(|c| format!("{c:+.1}")).collect::<Vec<_>>().join(" ");
    if asked("LINES", "1") || !run.within() || run.bouts > 8 {
        println!(
            "seed {} step {} {:.0} Hz [{}] → [{}] {} bouts {:?}{} {seconds:.1} s",
            task.seed,
            task.step,
            run.note_hz,
            listed(&run.start_cents),
            listed(&run.end_cents),
            run.bouts,
            run.decision,
            if run.within() { "" } else { " OUTSIDE" },
        );
    }
    if asked("TRAIL", "all") || asked("TRAIL", "1") && (!run.within() || run.bouts > 8) {
        for step in &run.trail {
            let outlook: Vec<String> = step
                .outlook
                .iter()
                .map(|o| {
                    let (now, then) = (o.now_cents, o.expected_cents);
                    format!("{now:+.1}±{:.1}→{then:+.1}±{:.1}", o.now_sigma_cents, o.expected_sigma_cents)
                })
                .collect();
            let bands: Vec<String> = step
                .bands
                .iter()
                .map(|b| format!("{:.0}–{:.0}:{:.2}", b.from_m * 1e3, b.to_m * 1e3, b.depth_m * 1e3))
                .collect();
            println!(
                "    {:?} true [{}] {} | {}",
                step.decision,
                listed(&step.true_cents),
                outlook.join(" "),
                bands.join(" ")
            );
        }
        println!("    {}", run.said);
    }
}

fn print_table(tallies: &[Tally]) {
    println!(
        "octave  bars  within     flat  lost  wait  outside  refused  saved  bouts 50/90/98 %  ≤8 bouts  surprise now/after (beyond 3 σ)"
    );
    for (i, t) in tallies.iter().enumerate() {
        let name = ["C2–B2", "C3–B3", "C4–B4", "C5–B5", "C6–C7", "all"][i];
        let percent = |n: usize| 100.0 * n as f64 / t.bars.max(1) as f64;
        let bouts = |share| t.bouts(share).map_or("–".to_owned(), |b| b.to_string());
        let (now, after) = (t.surprise_now(), t.surprise_after());
        println!(
            "{name:6} {:5}  {:5.1} %  {:5}  {:4}  {:4}  {:7}  {:7}  {:5}  {:>6}/{}/{}          {:5.1} %  {:.2} ({:.1} %) {:.2} ({:.1} %)",
            t.bars,
            percent(t.within),
            t.flat,
            t.lost,
            t.undecided,
            t.deceived,
            t.refused,
            t.saved,
            bouts(0.5),
            bouts(0.9),
            bouts(0.98),
            percent(t.within_bouts(8)),
            now.0,
            100.0 * now.1,
            after.0,
            100.0 * after.1,
        );
    }
}
