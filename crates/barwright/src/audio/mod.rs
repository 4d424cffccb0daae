//! Recordings of every usual form: decoded in blocks, one channel chosen, whole or in their loud parts.
//!
//! [`open()`] finds out what a file is by its bytes, never by its name. A short recording is decoded whole; of a long
//! one only the parts around sudden sounds are ever in memory, see [`LongAudio`]. Nothing here knows what a bar is.
mod blocks;
mod channels;
mod coded;
mod kind;
mod loud_parts;
mod mp4_boxes;
mod wav;
mod wav_header;
mod write;

use crate::error::Refused;
use blocks::Spec;
use std::io::Cursor;
use std::path::Path;
use strike::{Take, Warning};
use symphonia::core::io::MediaSource;

pub use loud_parts::{LongAudio, Part};
pub use write::write_wav;

/// Rates a sound card or phone uses; below the low one bar modes are lost.
const RATES_HZ: std::ops::RangeInclusive<u32> = 4_000..=384_000;
const MOST_CHANNELS: usize = 8;
/// Recordings of at most so many numbers (frames × channels) are decoded whole: two minutes of mono at 48 kHz, 24 MB.
/// The listener needs about six times that while it works.
const MOST_WHOLE: usize = 6_000_000;

/// One recording, one channel of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Audio {
    /// Samples in −1…1, all finite.
    pub samples: Vec<f32>,
    /// Samples per second.
    pub sample_rate_hz: f64,
    /// Doubts about the recording itself.
    pub warnings: Vec<Warning>,
}

impl Audio {
    /// As the listener takes it.
    pub fn take(&self) -> Take<'_> {
        Take { samples: &self.samples, sample_rate_hz: self.sample_rate_hz }
    }
}

/// A recording ready to be heard.
#[derive(Debug)]
pub enum Opened<'a> {
    /// Short: all of it.
    Whole(Audio),
    /// Long: its loud parts, one after the other.
    Long(Box<LongAudio<'a>>),
}

/// Opens a recording in a file; see [`open_bytes`].
///
/// # Errors
/// [`Refused`] `unreadable`, or as [`open_bytes`].
pub fn open(path: &Path) -> Result<Opened<'static>, Refused> {
    let unreadable = |error: std::io::Error| {
        Refused::new(
            "unreadable",
            format!("the recording cannot be read: {error}"),
            "check the name and the folder, and that it may be read",
        )
    };
    let file = std::fs::File::open(path).map_err(unreadable)?;
    if file.metadata().map_err(unreadable)?.is_dir() {
        return Err(Refused::new(
            "unreadable",
            "the recording cannot be read: this is a folder",
            "give its recordings one by one, or all with --folder",
        ));
    }
    open_source(Box::new(file), MOST_WHOLE)
}

/// Opens a recording in memory: WAV (8, 16, 24, 32-bit integers, 32-bit floats), AIFF, FLAC, MP3, AAC or ALAC in M4A, AAC in ADTS,
/// Ogg Vorbis; 4 to 384 kHz, 1 to 8 channels.
///
/// # Errors
/// [`Refused`] with `not_sound`, `truncated`, `empty`, `no_sound_track`, `unsupported_codec`, `sample_rate`, `channels`,
/// `not_finite` or `damaged`.
pub fn open_bytes(bytes: &[u8]) -> Result<Opened<'_>, Refused> {
    open_source(Box::new(Cursor::new(bytes)), MOST_WHOLE)
}

/// The whole of a short recording in memory.
///
/// # Errors
/// [`Refused`] as [`open_bytes`], or `too_long`.
pub fn read(bytes: &[u8]) -> Result<Audio, Refused> {
    match open_bytes(bytes)? {
        Opened::Whole(audio) => Ok(audio),
        Opened::Long(long) => {
            let limit_s = MOST_WHOLE as f64 / long.channels() as f64 / long.sample_rate_hz();
            Err(Refused::new(
                "too_long",
                format!("the take is longer than {limit_s:.0} s, the limit for one of this kind"),
                "cut it to the blows",
            ))
        }
    }
}

/// Opens, checks, and decodes whole if there are at most `most_whole` numbers.
fn open_source<'a>(source: Box<dyn MediaSource + 'a>, most_whole: usize) -> Result<Opened<'a>, Refused> {
    let mut blocks = blocks::open(source)?;
    check(blocks.spec())?;
    let mut gathered = Vec::new();
    let mut block = Vec::new();
    while blocks.next(&mut block)? {
        gathered.extend_from_slice(&block);
        if gathered.len() > most_whole {
            return Ok(Opened::Long(Box::new(LongAudio::new(blocks, gathered))));
        }
    }
    let spec = blocks.spec();
    if gathered.len() < spec.channels {
        return Err(empty());
    }
    let samples = channels::chosen(&gathered, spec.channels);
    Ok(Opened::Whole(Audio { samples, sample_rate_hz: f64::from(spec.rate_hz), warnings: doubts(spec) }))
}

/// Refuses rates and numbers of channels that no recorder has.
fn check(spec: &Spec) -> Result<(), Refused> {
    if !RATES_HZ.contains(&spec.rate_hz) {
        let (low, high) = (RATES_HZ.start(), RATES_HZ.end());
        return Err(Refused::new(
            "sample_rate",
            format!("the sample rate is {} Hz; it must lie between {low} and {high} Hz", spec.rate_hz),
            "record at 44 100 or 48 000 Hz",
        ));
    }
    if !(1..=MOST_CHANNELS).contains(&spec.channels) {
        return Err(Refused::new(
            "channels",
            format!("the recording has {} channels; it must have 1 to {MOST_CHANNELS}", spec.channels),
            "export it as mono or stereo",
        ));
    }
    Ok(())
}

/// Doubts that follow from the form of the recording.
fn doubts(spec: &Spec) -> Vec<Warning> {
    let mut all = Vec::new();
    if spec.bits == Some(8) {
        all.push(Warning {
            code: "eight_bit",
            message: "The recording has 8 bits: noise hides everything more than about 48 dB below full scale."
                .to_owned(),
            hint: "Record with 16 or 24 bits if a mode is missing.".to_owned(),
        });
    }
    if let Some(told_hz) = spec.told_rate_hz.filter(|told| *told != spec.rate_hz) {
        all.push(Warning {
            code: "rate_unclear",
            message: format!(
                "The file says {told_hz} samples a second, its sound decodes to {}: the decoded rate was used, but one of them is wrong.",
                spec.rate_hz
            ),
            hint: "Record to WAV, or check one reading against a tone you know.".to_owned(),
        });
    }
    all
}

pub(crate) fn empty() -> Refused {
    Refused::new(
        "empty",
        "the recording holds no samples; at least one blow is needed",
        "record again, and stop only after the bar has rung out",
    )
}

#[cfg(test)]
mod tests;
