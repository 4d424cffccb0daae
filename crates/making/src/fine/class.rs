//! What is good enough, and for whom.

/// Whom an instrument is for. All figures from memory (good work; an amateur's aim; in between what this program's own advice works to).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// A concert instrument.
    Concert,
    /// A working musician's: what `next` works to as well.
    Working,
    /// A school's, or an amateur's.
    School,
}

impl Class {
    /// Distance from the target at which a mode (from 1) of a note of that pitch is good enough, in cents.
    pub fn tolerance_cents(self, note_hz: f64, mode: usize) -> f64 {
        // C3 to C6 is the middle; its ends are heard less sharply.
        let middle = (130.0..1050.0).contains(&note_hz);
        let at = mode.clamp(1, 3) - 1;
        match (self, middle) {
            (Self::Concert, true) => [1.0, 3.0, 5.0][at],
            (Self::Concert, false) => [2.0, 5.0, 10.0][at],
            (Self::Working, _) => [2.0, 5.0, 10.0][at],
            (Self::School, _) => [3.0, 8.0, 15.0][at],
        }
    }

    /// How far mode 1 of neighbouring bars may step against the scale, in cents: half as much again as one bar may be off, for two bars at opposite ends of
    /// their tolerance are heard as a step (a judgement).
    pub fn step_cents(self, note_hz: f64) -> f64 {
        1.5 * self.tolerance_cents(note_hz, 1)
    }
}
