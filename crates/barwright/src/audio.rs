//! WAV bytes to one channel of samples, or a refusal that says what to do.
use crate::error::Refused;
use std::io::Cursor;
use strike::{Take, Warning};

/// Rates a sound card or phone uses; below the low one bar modes are lost.
const RATES_HZ: std::ops::RangeInclusive<u32> = 4_000..=384_000;
/// Longest take in seconds: a bout of blows takes a minute.
const LONGEST_S: f64 = 600.0;
const MOST_CHANNELS: u16 = 8;
/// The mix may not be weaker than this share of the louder channel's level (−20 dB).
const CANCELLED_SHARE: f64 = 0.1;

/// One recording, mixed to mono.
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

/// Decodes a WAV file: integers of 8, 16, 24 or 32 bits or 32-bit floats, any usual rate, mono or several channels.
///
/// # Errors
/// [`Refused`] with `not_wav`, `truncated`, `empty`, `unsupported_codec`, `sample_rate`, `channels`,
/// `not_finite`, `too_long` or `damaged`.
pub fn read_wav(bytes: &[u8]) -> Result<Audio, Refused> {
    let header = crate::audio_header::read(bytes)?;
    if !RATES_HZ.contains(&header.rate_hz) {
        return Err(Refused::new(
            "sample_rate",
            format!(
                "the sample rate is {} Hz; it must lie between {} and {} Hz",
                header.rate_hz,
                RATES_HZ.start(),
                RATES_HZ.end()
            ),
            "record at 44 100 or 48 000 Hz",
        ));
    }
    if !(1..=MOST_CHANNELS).contains(&header.channels) {
        return Err(Refused::new(
            "channels",
            format!("the recording has {} channels; it must have 1 to {MOST_CHANNELS}", header.channels),
            "export it as mono or stereo",
        ));
    }
    let seconds = header.data_bytes as f64 / (f64::from(header.rate_hz) * f64::from(header.frame_bytes));
    if seconds > LONGEST_S {
        return Err(Refused::new(
            "too_long",
            format!("the take is {seconds:.0} s long; the limit is {LONGEST_S:.0} s"),
            "cut it to the blows",
        ));
    }
    let channels = decode(bytes, usize::from(header.channels))?;
    let mut warnings = Vec::new();
    if header.bits == 8 {
        warnings.push(Warning {
            code: "eight_bit",
            message: "The recording has 8 bits: noise hides everything more than about 48 dB below full scale."
                .to_owned(),
            hint: "Record with 16 or 24 bits if a mode is missing.".to_owned(),
        });
    }
    let samples = mixed(&channels, &mut warnings)?;
    Ok(Audio { samples, sample_rate_hz: f64::from(header.rate_hz), warnings })
}

/// Samples of each channel as fractions of full scale, all finite.
fn decode(bytes: &[u8], channels: usize) -> Result<Vec<Vec<f64>>, Refused> {
    let damaged = |error: hound::Error| {
        Refused::new(
            "damaged",
            format!("the WAV file cannot be decoded: {error}"),
            "export it again as WAV, 16-bit or 24-bit PCM",
        )
    };
    let mut reader = hound::WavReader::new(Cursor::new(bytes)).map_err(damaged)?;
    let spec = reader.spec();
    let full_scale = 2f64.powi(i32::from(spec.bits_per_sample) - 1);
    let interleaved: Vec<f64> = match spec.sample_format {
        hound::SampleFormat::Float => reader.samples::<f32>().map(|s| s.map(f64::from)).collect::<Result<_, _>>(),
        hound::SampleFormat::Int => reader.samples::<i32>().map(|s| s.map(|v| f64::from(v) / full_scale)).collect(),
    }
    .map_err(damaged)?;
    if let Some(index) = interleaved.iter().position(|value| !value.is_finite()) {
        let (sample, at_s) = (index / channels, (index / channels) as f64 / f64::from(spec.sample_rate));
        return Err(Refused::new(
            "not_finite",
            format!("sample {sample} (at {at_s:.3} s) is {}; every sample must be a finite number", interleaved[index]),
            "the recording is damaged: export it again or record again",
        ));
    }
    if interleaved.len() < channels {
        return Err(empty());
    }
    let channel = |c: usize| interleaved.iter().skip(c).step_by(channels).copied().collect();
    Ok((0..channels).map(channel).collect())
}

pub(crate) fn empty() -> Refused {
    Refused::new(
        "empty",
        "the recording holds no samples; at least one blow is needed",
        "record again, and stop only after the bar has rung out",
    )
}

/// Mean of the channels; the loudest alone where they cancel. Scaled down where floats pass full scale.
fn mixed(channels: &[Vec<f64>], warnings: &mut Vec<Warning>) -> Result<Vec<f32>, Refused> {
    let level = |samples: &[f64]| {
        // Scaled by the peak, so that the squares of absurdly large floats stay finite.
        let peak = samples.iter().fold(0.0f64, |m, v| m.max(v.abs()));
        if peak > 0.0 {
            peak * (samples.iter().map(|v| (v / peak).powi(2)).sum::<f64>() / samples.len() as f64).sqrt()
        } else {
            0.0
        }
    };
    let frames = channels.iter().map(Vec::len).min().unwrap_or(0);
    let share = 1.0 / channels.len() as f64;
    let mut mix: Vec<f64> = (0..frames).map(|i| channels.iter().map(|c| share * c[i]).sum()).collect();
    let loudest = channels.iter().max_by(|a, b| level(a).total_cmp(&level(b)));
    if let Some(loudest) = loudest.filter(|c| channels.len() > 1 && level(&mix) < CANCELLED_SHARE * level(c)) {
        let percent = 100.0 * level(&mix) / level(loudest);
        mix = loudest[..frames].to_vec();
        warnings.push(Warning {
            code: "channels_cancel",
            message: format!(
                "The channels cancel each other: mixed, {percent:.0} % of the louder one's level is left (limit {:.0} %). The louder one alone was used.",
                100.0 * CANCELLED_SHARE
            ),
            hint: "One microphone may be wired with reversed polarity; record in mono.".to_owned(),
        });
    }
    let peak = mix.iter().fold(1.0f64, |m, v| m.max(v.abs()));
    Ok(mix.into_iter().map(|v| (v / peak) as f32).collect())
}

/// Samples as a WAV file of 24-bit PCM; what lies beyond full scale is clipped.
///
/// # Errors
/// [`Refused`] `not_encoded` if the encoder fails.
pub fn write_wav(samples: &[f32], rate_hz: u32) -> Result<Vec<u8>, Refused> {
    const FULL_SCALE: f64 = 8_388_607.0;
    let failed = |error: hound::Error| {
        Refused::new("not_encoded", format!("the sound cannot be written as WAV: {error}"), "use fewer samples")
    };
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: rate_hz,
        bits_per_sample: 24,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).map_err(failed)?;
    for sample in samples {
        // NaN becomes 0 in this cast, which is silence.
        let value = (f64::from(*sample).clamp(-1.0, 1.0) * FULL_SCALE).round() as i32;
        writer.write_sample(value).map_err(failed)?;
    }
    writer.finalize().map_err(failed)?;
    Ok(bytes.into_inner())
}
