//! A take as a sheet: its sound, its spectrum with the modes named in it, and how each mode dies away.
use super::listen::kind_name;
use super::units;
use crate::audio::Part;
use paper::sheets::{DecayCurve, Sheet, TakePicture, ToneMark};
use strike::{Heard, HeardMode, Kind, portrait};

/// Columns of the waveform and points of the spectrum: about three to a millimetre of the sheet.
const POINTS: usize = 700;
/// Points of a decay.
const DECAY_POINTS: usize = 60;
/// The mallet has left the bar; what follows is ring.
const AFTER_CONTACT_S: f64 = 0.01;
/// Longest stretch of ring that is shown in spectrum and decays.
const LONGEST_S: f64 = 2.0;
/// Tones that are no modes are marked down to this level and up to this many: more is a thicket.
const FAINTEST_DB: f64 = -50.0;
const MOST_STRANGERS: usize = 8;

/// The picture of a stretch of sound with blows at `blows_s` (seconds from its start) and what was heard in it.
pub fn picture(name: String, part: &Part, blows_s: Vec<f64>, heard: &Heard, range_hz: (f64, f64)) -> TakePicture {
    let length_s = part.samples.len() as f64 / part.sample_rate_hz;
    let (from_s, ring_s) = ring(&blows_s, length_s);
    let take = part.take();
    let spectrum = portrait::spectrum(&take, from_s, ring_s, range_hz, POINTS);
    let pairs = |level: fn(&portrait::Spectrum) -> &Vec<f64>| {
        spectrum.as_ref().map_or_else(Vec::new, |s| s.hz.iter().copied().zip(level(s).iter().copied()).collect())
    };
    let outline = portrait::outline(&part.samples, POINTS);
    TakePicture {
        name,
        length_s,
        outline: outline.into_iter().map(|(low, high)| (f64::from(low), f64::from(high))).collect(),
        blows_s,
        spectrum: pairs(|s| &s.level_db),
        floor: pairs(|s| &s.floor_db),
        tones: tones(heard),
        decays: heard.modes.iter().filter_map(|mode| decay(&take, mode, from_s, ring_s)).collect(),
        sheet: Sheet::WIDE,
        axes: None,
    }
}

/// The ring that spectrum and decays show: after the first blow, up to the next.
fn ring(blows: &[f64], length_s: f64) -> (f64, f64) {
    let from_s = blows.first().map_or(0.0, |s| s + AFTER_CONTACT_S);
    let end_s = blows.get(1).copied().unwrap_or(length_s);
    (from_s, (end_s - from_s).clamp(0.0, LONGEST_S))
}

/// From well below the lowest tone of all to well above the highest, at least 100 Hz to 5 kHz.
pub fn range_hz(all: &[&Heard]) -> (f64, f64) {
    let tones = all.iter().flat_map(|heard| heard.modes.iter().map(|m| m.hz).chain(heard.other.iter().map(|t| t.hz)));
    let (low, high) = tones.fold((200.0f64, 3000.0f64), |(low, high), hz| (low.min(hz), high.max(hz)));
    ((0.5 * low).max(10.0), 1.6 * high)
}

/// Named modes first, then the loudest others with letters.
fn tones(heard: &Heard) -> Vec<ToneMark> {
    let named = heard.modes.iter().map(|m| ToneMark {
        sign: sign(m),
        words: format!("{} {}, {} Hz, ±{:.2} cents", kind_name(m.kind), m.number, units::hz(m.hz), m.sigma_cents),
        hz: m.hz,
        named: true,
    });
    let mut others: Vec<&strike::OtherTone> = heard.other.iter().filter(|t| t.level_db > FAINTEST_DB).collect();
    others.sort_by(|a, b| b.level_db.total_cmp(&a.level_db));
    others.truncate(MOST_STRANGERS);
    let letters = ('a'..='z').zip(others).map(|(letter, tone)| ToneMark {
        sign: letter.to_string(),
        words: format!("{} Hz ({})", units::hz(tone.hz), tone.maybe),
        hz: tone.hz,
        named: false,
    });
    named.chain(letters).collect()
}

fn sign(mode: &HeardMode) -> String {
    match mode.kind {
        Kind::Bending => mode.number.to_string(),
        Kind::Torsion => format!("T{}", mode.number),
        Kind::Sideways => format!("S{}", mode.number),
    }
}

fn decay(take: &strike::Take<'_>, mode: &HeardMode, from_s: f64, ring_s: f64) -> Option<DecayCurve> {
    // Five decay times are 43 dB; below lies noise in any shop.
    let length_s = ring_s.min((5.0 * mode.decay_s).max(0.2));
    let measured = portrait::decay(take, from_s, length_s, mode.hz, DECAY_POINTS);
    (!measured.is_empty()).then(|| DecayCurve {
        title: format!("{} {}: {} s", kind_name(mode.kind), mode.number, units::plain(mode.decay_s, 3)),
        measured,
        decay_s: mode.decay_s,
    })
}
