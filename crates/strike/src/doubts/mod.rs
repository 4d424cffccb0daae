//! Doubts worth telling the maker, and words for tones that are no mode of the bar.

use crate::merge::Merged;
use crate::naming::{Names, is_shadow, words};
use crate::ring::Ring;
use crate::tones::cents;
use crate::types::{Blow, Context, HeardMode, Kind, Warning};

mod bar;
mod edge;

pub(crate) use edge::edge_hz;

/// Multiples of a common base are exact within this many cents.
pub(crate) const HARMONIC_CENTS: f64 = 6.0;
/// So many flat crests may be chance.
pub(crate) const MOST_CLIPPED: usize = 2;

/// Steady noise does not change by itself; a microphone that turns itself down does it (judgement).
const LEAST_GAIN_DROP_DB: f64 = 6.0;

/// Facts about the takes that are not in the tones.
#[derive(Debug, Clone)]
pub(crate) struct Facts {
    pub clipped_crests: usize,
    pub bounce_s: Option<f64>,
    pub lowest_rate_hz: f64,
    /// Highest frequency that came through, where the recording is band-limited.
    pub edge_hz: Option<f64>,
    /// So much quieter than before the blow the noise is while the bar rings, in dB.
    pub gain_drop_db: f64,
    /// Time after a blow at which its sound jumps.
    pub gap_s: Option<f64>,
    pub refused_takes: Vec<String>,
}

impl Default for Facts {
    fn default() -> Self {
        Self {
            clipped_crests: 0,
            bounce_s: None,
            lowest_rate_hz: f64::INFINITY,
            edge_hz: None,
            gain_drop_db: 0.0,
            gap_s: None,
            refused_takes: Vec::new(),
        }
    }
}

impl Facts {
    /// Together with what one of the take's rings tells.
    pub fn with(self, ring: &Ring) -> Self {
        Self { gain_drop_db: self.gain_drop_db.max(ring.gain_drop_db), gap_s: self.gap_s.or(ring.gap_s), ..self }
    }

    /// What holds of two takes together.
    pub fn join(mut self, other: Self) -> Self {
        self.refused_takes.extend(other.refused_takes);
        Self {
            clipped_crests: self.clipped_crests.max(other.clipped_crests),
            bounce_s: self.bounce_s.or(other.bounce_s),
            lowest_rate_hz: self.lowest_rate_hz.min(other.lowest_rate_hz),
            edge_hz: self.edge_hz.or(other.edge_hz),
            gain_drop_db: self.gain_drop_db.max(other.gain_drop_db),
            gap_s: self.gap_s.or(other.gap_s),
            ..self
        }
    }
}

/// 50 or 60 if the frequency is one of the first twenty multiples of that mains frequency, within
/// 0.4 % (the grid's own wander is ±0.2 Hz in 50).
pub(crate) fn mains_base(hz: f64) -> Option<u32> {
    [50u32, 60].into_iter().find(|base| {
        let order = (hz / f64::from(*base)).round();
        (1.0..=20.0).contains(&order) && (hz / (order * f64::from(*base)) - 1.0).abs() < 4e-3
    })
}

/// Base and number of tones of an exact harmonic series: at least four neighbours (1:2:3:4 or
/// 2:3:4:5) within [`HARMONIC_CENTS`], or six of the first ten multiples.
///
/// A bar's own tones give at most three (1:4:10 or 1:3:6); distortion adds the second and third.
/// Tones weaker than −35 dB, shadows and mains are not counted.
pub(crate) fn harmonic_series(tones: &[Merged]) -> Option<(f64, usize)> {
    let loud: Vec<f64> = (0..tones.len())
        .filter(|i| tones[*i].level_db > -35.0 && !is_shadow(tones, *i))
        .map(|i| (tones[i].hz, tones[i].steady))
        .filter(|(hz, steady)| !(*steady && mains_base(*hz).is_some()))
        .map(|(hz, _)| hz)
        .collect();
    let has = |hz: f64| loud.iter().any(|tone| cents(hz, *tone).abs() < HARMONIC_CENTS);
    let mut best = None;
    for base in loud.iter().flat_map(|hz| (1..=4).map(move |k| hz / f64::from(k))) {
        let present: Vec<bool> = (1..=10).map(|k| has(base * f64::from(k))).collect();
        let count = present.iter().filter(|p| **p).count();
        let starts_low = present[..5].windows(4).any(|run| run.iter().all(|p| *p));
        if (starts_low || count >= 6) && best.is_none_or(|(_, most)| count > most) {
            best = Some((base, count));
        }
    }
    best
}

/// What an unnamed tone may be.
pub(crate) fn maybe(tones: &[Merged], index: usize, names: &Names) -> String {
    let tone = &tones[index];
    if tone.steady {
        return mains_base(tone.hz).map_or("a steady tone, not the bar".into(), |base| {
            format!("mains hum ({} × {base} Hz)", (tone.hz / f64::from(base)).round())
        });
    }
    if let Some(name) = names.doubtful.iter().find(|name| name.tone == index) {
        return format!("perhaps {} (probability {:.2})", words(name.kind, name.number), name.sure);
    }
    let named = |number: usize| names.given.iter().find(|n| n.kind == Kind::Bending && n.number == number);
    if is_shadow(tones, index) {
        return "beside a much louder tone: an uneven decay or a neighbour".into();
    }
    if let Some(first) = named(1) {
        let base = tones[first.tone].hz;
        let order = (tone.hz / base).round();
        if (2.0..=5.0).contains(&order) && cents(base * order, tone.hz).abs() < HARMONIC_CENTS {
            return format!("{order} times bending 1: distortion or a tube");
        }
        if is_neighbour(base, tone) {
            return "a neighbour bar or tube".into();
        }
    }
    "unnamed".into()
}

/// Within a whole tone and a quarter of bending 1, weak, and ringing.
fn is_neighbour(first_hz: f64, tone: &Merged) -> bool {
    cents(first_hz, tone.hz).abs() < 250.0 && (-50.0..-12.0).contains(&tone.level_db)
}

fn warning(code: &'static str, message: String, hint: &str) -> Warning {
    Warning { code, message, hint: hint.to_owned() }
}

/// All doubts, the ones about the recording first.
pub(crate) fn warnings(
    facts: &Facts,
    blows: &[Blow],
    modes: &[HeardMode],
    tones: &[Merged],
    names: &Names,
    context: &Context,
) -> Vec<Warning> {
    let mut all = recording(facts);
    all.extend(bar::doubts(blows, modes, tones, names, context));
    if let Some(why) = &names.why_not {
        all.push(warning(
            "not_named",
            format!("no mode is named: {why}"),
            "strike one bar alone, and give its bar file or at least its note",
        ));
    }
    if context.expected.is_empty() && !modes.is_empty() {
        all.push(warning(
            "named_by_ratio_only",
            "the modes are named by their ratios alone, no bar file was given".into(),
            "give the bar file, or compare a blow at the centre with one at a corner",
        ));
    }
    all
}

fn recording(facts: &Facts) -> Vec<Warning> {
    let mut all = Vec::new();
    if facts.clipped_crests > MOST_CLIPPED {
        all.push(warning(
            "clipped",
            format!("{} crests are cut off at the same level (limit {MOST_CLIPPED})", facts.clipped_crests),
            "too loud: strike softer or move the microphone away",
        ));
    }
    if let Some(gap) = facts.bounce_s {
        all.push(warning(
            "double_blow",
            format!("two blows lie {:.0} ms apart (limit 150 ms); only what follows the last is used", gap * 1e3),
            "let the mallet bounce back freely, or strike again",
        ));
    }
    if facts.lowest_rate_hz < 16_000.0 {
        all.push(warning(
            "low_rate",
            format!(
                "the sample rate is {:.0} Hz (limit 16000): no mode above {:.0} Hz can be heard",
                facts.lowest_rate_hz,
                0.48 * facts.lowest_rate_hz
            ),
            "record at 44100 or 48000 samples a second",
        ));
    }
    if let Some(edge) = facts.edge_hz {
        all.push(warning(
            "narrow_band",
            format!("nothing above {edge:.0} Hz came through (limit 8000): no mode above it can be heard"),
            "record to WAV on the device itself, not over a call or a headset",
        ));
    }
    if facts.gain_drop_db > LEAST_GAIN_DROP_DB {
        all.push(warning(
            "automatic_gain",
            format!(
                "the noise is {:.0} dB quieter while the bar rings than before the blow (limit {LEAST_GAIN_DROP_DB:.0}): \
                 automatic gain is suspected; pitches hold, levels and decay times do not",
                facts.gain_drop_db
            ),
            "switch automatic gain off in the recorder, or use another one",
        ));
    }
    if let Some(gap_s) = facts.gap_s {
        all.push(warning(
            "gap",
            format!(
                "the sound jumps {gap_s:.2} s after the blow: part of it was lost between microphone and program; \
                 only what lies before the jump is used"
            ),
            "strike again; if it comes back, close other programs or use another device",
        ));
    }
    for message in &facts.refused_takes {
        all.push(warning("take_unused", message.clone(), "record this take again"));
    }
    all
}

/// A harmonic series where modes could still be named by prediction.
pub(crate) fn harmonic_warning(base_hz: f64, count: usize) -> Warning {
    warning(
        "exact_harmonics",
        format!(
            "{count} tones are exact multiples of {base_hz:.1} Hz (within {HARMONIC_CENTS} cents); the tones of a bar are not"
        ),
        "make sure that this is the bar itself and not a voice, a string or a looped sample",
    )
}
