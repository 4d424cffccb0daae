//! What goes into the listener and what comes out.

/// One mono recording.
#[derive(Debug, Clone, Copy)]
pub struct Take<'a> {
    /// Samples in the range −1…1, all finite.
    pub samples: &'a [f32],
    /// Samples per second.
    pub sample_rate_hz: f64,
}

/// Where the bar was struck; it decides which modes sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StrikePlace {
    /// The middle of the length and width: bending 1 and 3 loud, bending 2 and torsion nearly silent.
    Centre,
    /// About 0.25–0.3 of the length: bending 2.
    Quarter,
    /// A corner of an end: torsion too.
    Corner,
    /// The middle of an end: every bending mode.
    End,
}

/// Family of a mode of a bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Up-and-down bending, the family that is tuned.
    Bending,
    /// Twisting about the length.
    Torsion,
    /// Bending in the plane of the top face.
    Sideways,
}

/// A frequency predicted for this bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Family of the mode.
    pub kind: Kind,
    /// Number inside the family, from 1.
    pub number: usize,
    /// Predicted frequency.
    pub hz: f64,
    /// Standard uncertainty of the prediction in cents.
    pub sigma_cents: f64,
}

/// What is known before listening. All of it may be empty.
#[derive(Debug, Clone, Default)]
pub struct Context {
    /// Predicted modes of the bar, if there is a bar file.
    pub expected: Vec<Expected>,
    /// Frequency of the note the bar is meant for, if known; bending 1 is sought from an octave below to three octaves above.
    pub note_hz: Option<f64>,
    /// Where the bar was struck, if the maker said so.
    pub struck: Option<StrikePlace>,
    /// Where it was struck in each take, if not everywhere the same; takes beyond its end use
    /// `struck`.
    pub struck_each: Vec<Option<StrikePlace>>,
    /// Offset of the recorder's sample clock, if it was calibrated ([`crate::clock::calibrate`]).
    /// Every frequency is corrected by it, and its sigma is added to theirs.
    pub clock: Option<Clock>,
}

impl Context {
    /// Where the bar was struck in this take.
    pub(crate) fn struck_in(&self, take: usize) -> Option<StrikePlace> {
        self.struck_each.get(take).copied().flatten().or(self.struck)
    }
}

/// How far a recorder's sample clock is off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clock {
    /// Parts per million by which the clock runs fast: the true sample rate is the nominal one
    /// times 1 + ppm·10⁻⁶. One cent is 578 ppm.
    pub offset_ppm: f64,
    /// Standard uncertainty of the offset in parts per million.
    pub sigma_ppm: f64,
}

/// A mode heard and named.
#[derive(Debug, Clone, PartialEq)]
pub struct HeardMode {
    /// Family of the mode.
    pub kind: Kind,
    /// Number inside the family, from 1.
    pub number: usize,
    /// Frequency; for a gliding mode see `early_hz` and `late_hz`, and `Heard::warnings` says which is used.
    pub hz: f64,
    /// Standard uncertainty of `hz` in cents.
    pub sigma_cents: f64,
    /// Frequency 0.1–0.3 s after the blow where it rings long enough.
    pub early_hz: Option<f64>,
    /// Frequency of the last part well above the noise.
    pub late_hz: Option<f64>,
    /// Time in which the amplitude falls by 1/e, in seconds.
    pub decay_s: f64,
    /// Level relative to the loudest mode, in dB (0 or negative).
    pub level_db: f64,
    /// Decay time of the last part where the ring falls in two stages (`decay_s` is then that of
    /// the whole), in seconds.
    pub late_decay_s: Option<f64>,
    /// Probability that the name is right, 0…1.
    pub sure: f64,
    /// The next likely tone for this mode, where it is at least 2 % likely.
    pub runner_up: Option<RunnerUp>,
    /// How many blows it was heard in.
    pub blows: usize,
    /// Repeatability: standard deviation of one blow's reading in cents, from two blows on.
    pub repeat_cents: Option<f64>,
}

/// The second likeliest tone for a mode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunnerUp {
    /// Its frequency.
    pub hz: f64,
    /// Probability that this tone, and not the one named, is the mode.
    pub sure: f64,
}

/// A tone that is in the take but was not named a mode of this bar.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherTone {
    /// Frequency.
    pub hz: f64,
    /// Standard uncertainty in cents.
    pub sigma_cents: f64,
    /// Time in which the amplitude falls by 1/e, in seconds.
    pub decay_s: f64,
    /// Level relative to the loudest mode, in dB.
    pub level_db: f64,
    /// What it may be, in words ("mains hum", "a neighbour bar or tube", "unnamed").
    pub maybe: String,
}

/// One blow found in a take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blow {
    /// Index of the take it is in.
    pub take: usize,
    /// Time of the blow from the start of the take, in seconds.
    pub at_s: f64,
    /// Usable ring after it, in seconds.
    pub usable_s: f64,
}

/// A doubt worth telling the maker, with what to do about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Stable machine-readable name, e.g. `clipped`.
    pub code: &'static str,
    /// What was noticed, with value and limit.
    pub message: String,
    /// What to do.
    pub hint: String,
}

/// What was heard.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// Named modes, by kind and number.
    pub modes: Vec<HeardMode>,
    /// Tones left unnamed.
    pub other: Vec<OtherTone>,
    /// The blows used.
    pub blows: Vec<Blow>,
    /// Doubts.
    pub warnings: Vec<Warning>,
}

/// A take that cannot be trusted: a refusal beats a wrong number.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct Refusal {
    /// Stable machine-readable name: `silence`, `no_ring`, `hum`, `too_short`, …
    pub code: &'static str,
    /// What was found, with value and limit.
    pub message: String,
    /// What to do.
    pub hint: String,
}
