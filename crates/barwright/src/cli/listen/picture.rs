//! `listen --picture`: each take as a sheet.
use crate::audio::Part;
use crate::cli::new_file::write_new;
use crate::error::Refused;
use crate::hearing::Recording;
use crate::report::listen::kind_name;
use crate::report::units;
use paper::sheets::{DecayCurve, Sheet, TakePicture, ToneMark, take_picture};
use paper::svg;
use std::path::{Path, PathBuf};
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

/// Writes one picture a take: to `path`, or with several takes to `path` with their numbers before the ending.
pub(super) fn write(
    path: &Path,
    takes: &[PathBuf],
    recordings: &[Recording],
    heard: &Heard,
) -> Result<Vec<PathBuf>, Refused> {
    let names: Vec<PathBuf> = (1..=recordings.len())
        .map(|n| if recordings.len() == 1 { path.to_owned() } else { numbered(path, n) })
        .collect();
    if let Some(taken) = names.iter().find(|name| name.exists()) {
        return Err(Refused::new(
            "cannot_write",
            format!("{} is there already and is not written over", taken.display()),
            "name a file that does not exist yet",
        ));
    }
    for (index, (recording, name)) in recordings.iter().zip(&names).enumerate() {
        let take = takes[index].file_name().unwrap_or_default().to_string_lossy();
        let drawing = draw(&take, index, recording, heard)?;
        write_new(name, svg::render(&drawing, &svg::Options::picture()).as_bytes())?;
    }
    Ok(names)
}

/// `out.svg` to `out-2.svg`.
fn numbered(path: &Path, number: usize) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending = path.extension().map_or(String::new(), |e| format!(".{}", e.to_string_lossy()));
    path.with_file_name(format!("{stem}-{number}{ending}"))
}

fn draw(name: &str, index: usize, recording: &Recording, heard: &Heard) -> Result<paper::Drawing, Refused> {
    let blows: Vec<f64> = heard.blows.iter().filter(|b| b.take == index).map(|b| b.at_s).collect();
    let part = shown_part(recording, &blows).ok_or_else(crate::audio::empty)?;
    let length_s = part.samples.len() as f64 / part.sample_rate_hz;
    let inside: Vec<f64> = blows.iter().map(|s| s - part.at_s).filter(|s| (0.0..=length_s).contains(s)).collect();
    let (from_s, ring_s) = ring(&inside, length_s);
    let take = part.take();
    let range = frequencies(heard);
    let spectrum = portrait::spectrum(&take, from_s, ring_s, range, POINTS);
    let pairs = |level: fn(&portrait::Spectrum) -> &Vec<f64>| {
        spectrum.as_ref().map_or_else(Vec::new, |s| s.hz.iter().copied().zip(level(s).iter().copied()).collect())
    };
    let outline = portrait::outline(&part.samples, POINTS);
    let view = TakePicture {
        name: if recording.long {
            format!("{name} from {}", crate::hearing::clock(part.at_s))
        } else {
            name.to_owned()
        },
        length_s,
        outline: outline.into_iter().map(|(low, high)| (f64::from(low), f64::from(high))).collect(),
        blows_s: inside,
        spectrum: pairs(|s| &s.level_db),
        floor: pairs(|s| &s.floor_db),
        tones: tones(heard),
        decays: heard.modes.iter().filter_map(|mode| decay(&take, mode, from_s, ring_s)).collect(),
        sheet: Sheet::WIDE,
    };
    take_picture(&view).map_err(|error| Refused::new("cannot_draw", error.to_string(), "leave --picture out"))
}

/// The whole take; of a long recording the part with the first blow used.
fn shown_part<'a>(recording: &'a Recording, blows: &[f64]) -> Option<&'a Part> {
    let first = blows.first().copied().unwrap_or(0.0);
    recording.parts.iter().rev().find(|part| part.at_s <= first).or(recording.parts.first())
}

/// The ring that spectrum and decays show: after the first blow, up to the next.
fn ring(blows: &[f64], length_s: f64) -> (f64, f64) {
    let from_s = blows.first().map_or(0.0, |s| s + AFTER_CONTACT_S);
    let end_s = blows.get(1).copied().unwrap_or(length_s);
    (from_s, (end_s - from_s).clamp(0.0, LONGEST_S))
}

/// From well below the lowest tone to well above the highest, at least 100 Hz to 5 kHz.
fn frequencies(heard: &Heard) -> (f64, f64) {
    let all = heard.modes.iter().map(|m| m.hz).chain(heard.other.iter().map(|t| t.hz));
    let (low, high) = all.fold((200.0f64, 3000.0f64), |(low, high), hz| (low.min(hz), high.max(hz)));
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
