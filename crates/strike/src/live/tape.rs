//! The last few seconds of the stream, always in one piece.

/// Keeps at least the last `keep` samples in a buffer of twice that: when it is full, the newest
/// half moves to the front. So a stretch of it is a plain slice, and nothing is ever allocated.
pub(super) struct Tape {
    samples: Vec<f32>,
    keep: usize,
    /// Stream index of `samples[0]`.
    start: usize,
}

impl Tape {
    pub fn new(keep: usize) -> Self {
        Self { samples: Vec::with_capacity(2 * keep), keep, start: 0 }
    }

    pub fn push(&mut self, sample: f32) {
        if self.samples.len() == 2 * self.keep {
            self.samples.copy_within(self.keep.., 0);
            self.samples.truncate(self.keep);
            self.start += self.keep;
        }
        self.samples.push(sample);
    }

    /// Stream index of the next sample.
    pub fn end(&self) -> usize {
        self.start + self.samples.len()
    }

    /// The stretch between two stream indices, as far as it is still there; the index its first
    /// sample has.
    pub fn stretch(&self, from: usize, to: usize) -> (usize, &[f32]) {
        let from = from.clamp(self.start, self.end());
        let to = to.clamp(from, self.end());
        (from, &self.samples[from - self.start..to - self.start])
    }

    pub fn bytes(&self) -> usize {
        self.samples.capacity() * size_of::<f32>()
    }
}

#[cfg(test)]
mod tests {
    use super::Tape;

    #[test]
    fn the_last_samples_are_always_there() {
        let mut tape = Tape::new(10);
        let before = tape.bytes();
        for n in 0..137u16 {
            tape.push(f32::from(n));
            let end = tape.end();
            assert_eq!(end, usize::from(n) + 1);
            let (from, last) = tape.stretch(end.saturating_sub(10), end);
            assert_eq!(last.len(), end.min(10));
            assert!(last.iter().enumerate().all(|(i, x)| *x as usize == from + i));
        }
        assert_eq!(tape.bytes(), before);
        assert!(tape.stretch(500, 600).1.is_empty());
    }
}
