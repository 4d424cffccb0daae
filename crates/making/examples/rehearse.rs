//! Tunes invented bars on the virtual bench: `cargo run --release -p making --example rehearse -- 50 [first seed]`.
//!
//! Prints, per bar, the bouts after sawing and the true final cents of each tuned mode, and in the end
//! how many were finished within ±2/±5/±10 cents and how many were lost.
use making::virtual_bench::VirtualBar;
use making::{Decision, next};
use std::time::{Duration, Instant};

const MOST_BOUTS: usize = 15;
const TOLERANCE_CENTS: [f64; 3] = [2.0, 5.0, 10.0];

fn main() {
    let mut arguments = std::env::args().skip(1).filter_map(|a| a.parse::<u64>().ok());
    let bars = arguments.next().unwrap_or(20);
    let first = arguments.next().unwrap_or(0);
    let mut tally = Tally::default();
    for seed in first..first + bars {
        // C2 to C7 by a stride that is coprime to 61: every note comes up.
        let step = (seed * 23) % 61;
        let note_hz = 65.406 * (step as f64 / 12.0).exp2();
        match rehearse(seed, note_hz) {
            Ok(run) => tally.add(seed, note_hz, &run),
            Err(error) => {
                println!("seed {seed:3} {note_hz:7.1} Hz  refused: {error} ({})", error.hint);
                tally.refused += 1;
            }
        }
    }
    tally.print();
}

struct Run {
    bouts: usize,
    start: Vec<f64>,
    end: Vec<f64>,
    decision: Decision,
    said: String,
    slowest: Duration,
    trail: Vec<String>,
    /// (truth − belief)/σ of every mode when advice was given.
    surprise_now: Vec<f64>,
    /// (truth − expectation)/σ of every mode after a cut.
    surprise_after: Vec<f64>,
}

fn rehearse(seed: u64, note_hz: f64) -> Result<Run, making::MakingError> {
    let mut bar = VirtualBar::new(seed, note_hz)?;
    let start = bar.true_cents()?;
    let (mut bouts, mut waits, mut slowest) = (0, 0, Duration::ZERO);
    let mut trail = Vec::new();
    let (mut surprise_now, mut surprise_after) = (Vec::new(), Vec::new());
    loop {
        let clock = Instant::now();
        let advice = next(bar.job())?;
        slowest = slowest.max(clock.elapsed());
        let go_on = match advice.decision {
            Decision::Cut => bouts < MOST_BOUTS,
            Decision::Wait => waits < 6,
            _ => false,
        };
        let cents = bar.true_cents()?;
        surprise_now.extend(advice.outlook.iter().zip(&cents).map(|(o, c)| (c - o.now_cents) / o.now_sigma_cents));
        let truth: Vec<String> = bar.true_cents()?.iter().map(|c| format!("{c:+.1}")).collect();
        let now: Vec<String> = advice
            .outlook
            .iter()
            .map(|o| {
                format!(
                    "{:+.1}±{:.1}→{:+.1}±{:.1}",
                    o.now_cents, o.now_sigma_cents, o.expected_cents, o.expected_sigma_cents
                )
            })
            .collect();
        trail.push(format!("{:?} true [{}] {}", advice.decision, truth.join(" "), now.join(" ")));
        if !go_on {
            return Ok(Run {
                bouts,
                start,
                end: bar.true_cents()?,
                decision: advice.decision,
                said: advice.instruction,
                slowest,
                trail,
                surprise_now,
                surprise_after,
            });
        }
        if advice.decision == Decision::Cut {
            bar.cut(&advice.bands, advice.passes.map(|p| p.0))?;
            let cents = bar.true_cents()?;
            surprise_after.extend(
                advice.outlook.iter().zip(&cents).map(|(o, c)| (c - o.expected_cents) / o.expected_sigma_cents),
            );
            bouts += 1;
        } else {
            waits += 1;
        }
        bar.hear()?;
    }
}

#[derive(Default)]
struct Tally {
    finished: usize,
    within: usize,
    lost: usize,
    other: usize,
    refused: usize,
    bouts: Vec<usize>,
    slowest: Duration,
    surprise_now: Vec<f64>,
    surprise_after: Vec<f64>,
}

impl Tally {
    fn add(&mut self, seed: u64, note_hz: f64, run: &Run) {
        let listed = |cents: &[f64]| cents.iter().map(|c| format!("{c:+6.1}")).collect::<Vec<_>>().join(" ");
        let within = run.end.iter().zip(TOLERANCE_CENTS).all(|(c, t)| c.abs() <= t);
        println!(
            "seed {seed:3} {note_hz:7.1} Hz  from [{}]  to [{}]  {:2} bouts  {:?}{}  {:.0} ms",
            listed(&run.start),
            listed(&run.end),
            run.bouts,
            run.decision,
            if within { "" } else { "  OUTSIDE" },
            run.slowest.as_secs_f64() * 1e3
        );
        let finished = run.decision == Decision::Finished;
        if std::env::var_os("TRAIL").is_some() || !finished || run.bouts > 8 {
            run.trail.iter().for_each(|line| println!("      {line}"));
        }
        if !finished {
            println!("      {}", run.said);
        }
        self.finished += usize::from(finished);
        self.within += usize::from(finished && within);
        self.lost += usize::from(run.decision == Decision::Rescue);
        self.other += usize::from(!finished && run.decision != Decision::Rescue);
        self.surprise_now.extend(&run.surprise_now);
        self.surprise_after.extend(&run.surprise_after);
        self.bouts.push(run.bouts);
        self.slowest = self.slowest.max(run.slowest);
    }

    fn print(mut self) {
        let rms = |z: &[f64]| (z.iter().map(|z| z * z).sum::<f64>() / z.len().max(1) as f64).sqrt();
        let beyond = |z: &[f64]| 100.0 * z.iter().filter(|z| z.abs() > 3.0).count() as f64 / z.len().max(1) as f64;
        println!(
            "surprise (1 is honest): belief {:.2} σ rms, {:.1} % beyond 3; expectation {:.2} σ rms, {:.1} % beyond 3",
            rms(&self.surprise_now),
            beyond(&self.surprise_now),
            rms(&self.surprise_after),
            beyond(&self.surprise_after)
        );
        self.bouts.sort_unstable();
        let n = self.bouts.len().max(1);
        println!(
            "{} bars: {} finished ({} truly within ±2/±5/±10), {} rescue, {} neither, {} refused; bouts median {} most {}, {} above 8; slowest advice {:.0} ms",
            self.bouts.len() + self.refused,
            self.finished,
            self.within,
            self.lost,
            self.other,
            self.refused,
            self.bouts.get(n / 2).unwrap_or(&0),
            self.bouts.last().unwrap_or(&0),
            self.bouts.iter().filter(|b| **b > 8).count(),
            self.slowest.as_secs_f64() * 1e3
        );
    }
}
