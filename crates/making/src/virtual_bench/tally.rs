//! What came of many rehearsed bars.
use super::{Adviser, Run};
use crate::{Decision, MakingError};

/// The bars of one octave (or of all): how they ended.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    /// Bars rehearsed.
    pub bars: usize,
    /// Called finished and truly within ±2/±5/±10 cents.
    pub within: usize,
    /// Called finished, but truly outside.
    pub deceived: usize,
    /// A tuned mode ended flat beyond its tolerance.
    pub flat: usize,
    /// Given up as lost (rescue advised, and no rescue left that was carried out).
    pub lost: usize,
    /// Neither finished nor given up when patience ended.
    pub undecided: usize,
    /// Refused with an error.
    pub refused: usize,
    /// Within tolerance after at least one rescue.
    pub saved: usize,
    /// Blanks of those, in kilograms of wood.
    pub saved_kg: f64,
    /// Bouts of the bars that ended within tolerance, in ascending order once read.
    bouts: Vec<usize>,
    surprise_now: Squares,
    surprise_after: Squares,
}

/// Root mean square of standardised errors.
#[derive(Debug, Clone, Copy, Default)]
struct Squares {
    sum: f64,
    count: usize,
    beyond: usize,
}

impl Squares {
    fn add(&mut self, values: &[f64]) {
        self.sum += values.iter().map(|z| z * z).sum::<f64>();
        self.count += values.len();
        self.beyond += values.iter().filter(|z| z.abs() > 3.0).count();
    }

    fn told(&self) -> (f64, f64) {
        let n = self.count.max(1) as f64;
        ((self.sum / n).sqrt(), self.beyond as f64 / n)
    }
}

impl Tally {
    /// Counts one bar.
    pub fn add(&mut self, run: &Result<Run, MakingError>) {
        self.bars += 1;
        let Ok(run) = run else {
            self.refused += 1;
            return;
        };
        let within = run.within();
        self.within += usize::from(within);
        self.saved += usize::from(within && run.rescues > 0);
        self.saved_kg += if within && run.rescues > 0 { run.blank_kg } else { 0.0 };
        self.flat += usize::from(run.flat_through_advice());
        match run.decision {
            Decision::Finished => self.deceived += usize::from(!within),
            Decision::Rescue => self.lost += 1,
            _ => self.undecided += 1,
        }
        if within {
            self.bouts.push(run.bouts);
        }
        self.surprise_now.add(&run.surprise_now);
        self.surprise_after.add(&run.surprise_after);
    }

    /// Bouts that this share (0 to 1) of the bars within tolerance needed at most; `None` if there are none.
    pub fn bouts(&self, share: f64) -> Option<usize> {
        let mut sorted = self.bouts.clone();
        sorted.sort_unstable();
        let rank = (share * sorted.len() as f64).ceil() as usize;
        sorted.get(rank.clamp(1, sorted.len().max(1)) - 1).copied()
    }

    /// Bars within tolerance in at most `most` bouts.
    pub fn within_bouts(&self, most: usize) -> usize {
        self.bouts.iter().filter(|b| **b <= most).count()
    }

    /// Root mean square of (truth − belief)/σ before the cuts, 1 being honest, and the share beyond 3.
    pub fn surprise_now(&self) -> (f64, f64) {
        self.surprise_now.told()
    }

    /// The same of the expected readings after the cuts.
    pub fn surprise_after(&self) -> (f64, f64) {
        self.surprise_after.told()
    }
}

/// Lowest and highest note of the virtual bench, semitones above C2.
pub const LAST_STEP: u32 = 60;

/// One bar to rehearse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Task {
    /// Seed of bar and hand.
    pub seed: u64,
    /// Semitones above C2.
    pub step: u32,
    /// Who advises.
    pub adviser: Adviser,
}

impl Task {
    /// Frequency of the note (A4 = 440 Hz, equal temperament).
    pub fn note_hz(&self) -> f64 {
        440.0 * ((f64::from(self.step) - 33.0) / 12.0).exp2()
    }

    /// Its name: "C2", "F#4".
    pub fn note(&self) -> String {
        const NAMES: [&str; 12] = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
        format!("{}{}", NAMES[self.step as usize % 12], 2 + self.step / 12)
    }

    /// The octave it is counted under, from 2 (C2 to B2) to 6 (C6 to C7).
    pub fn octave(&self) -> u32 {
        2 + (self.step / 12).min(4)
    }
}

/// `per_octave` bars for each octave from C2 to C7, the notes drawn evenly, seeds counting up from `first_seed`.
pub fn compass(per_octave: u32, first_seed: u64, adviser: Adviser) -> Vec<Task> {
    let octave = |k: u32| {
        // C7 belongs to the last octave.
        let notes = if k == 4 { 13 } else { 12 };
        // A stride coprime to 12 and 13 spreads a few bars over the octave.
        (0..per_octave).map(move |i| (k * per_octave + i, 12 * k + (5 * i) % notes))
    };
    let task = |(i, step): (u32, u32)| Task { seed: first_seed + u64::from(i), step, adviser };
    (0..5).flat_map(octave).map(task).collect()
}

/// `bars` bars spread evenly over the notes `low` to `high` (semitones above C2, both included), bass first.
pub fn row(bars: u32, low: u32, high: u32, first_seed: u64, adviser: Adviser) -> Vec<Task> {
    let notes = u64::from(high.max(low) - low) + 1;
    let step = |i: u32| low + (u64::from(i) * notes / u64::from(bars.max(1))) as u32;
    (0..bars).map(|i| Task { seed: first_seed + u64::from(i), step: step(i), adviser }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_compass_holds_every_note_equally_often() {
        let tasks = compass(156, 7, Adviser::Planner);
        let count = |step: u32| tasks.iter().filter(|t| t.step == step).count();
        assert!((0..48).all(|s| count(s) == 13) && (48..=60).all(|s| count(s) == 12));
        assert_eq!((tasks[0].octave(), tasks.last().map(Task::octave)), (2, Some(6)));
        // C2 and A4 of equal temperament: 65.406 Hz (any table), 440 by definition.
        assert!((tasks[0].note_hz() - 65.4064).abs() < 1e-4);
        let row = row(61, 0, LAST_STEP, 7, Adviser::Greedy);
        assert!(row.iter().enumerate().all(|(i, t)| t.step as usize == i));
        assert_eq!((row[1].note(), row[60].note()), ("C#2".to_owned(), "C7".to_owned()));
        assert!((Task { step: 33, ..tasks[0] }.note_hz() - 440.0).abs() < 1e-9);
    }
}
