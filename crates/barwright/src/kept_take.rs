//! Takes as the record keeps them: FLAC, the sound as it was listened to.
use crate::audio::Audio;
use crate::error::Refused;
use flacenc::component::BitRepr;
use flacenc::error::Verify;
use records::workshop::{RecordError, Takes, Writer};

/// Bits of a kept sample: 16-bit recordings stay exact, also as the mean of two channels; floats lose what lies 144 dB
/// below full scale.
const BITS: usize = 24;

/// A take as one-channel FLAC of 24 bits.
///
/// # Errors
/// [`Refused`] `not_kept` if the encoder refuses.
pub fn to_flac(audio: &Audio) -> Result<Vec<u8>, Refused> {
    let refuse = |what: String| {
        Refused::new("not_kept", format!("the sound cannot be kept ({what})"), "record at 44 100 or 48 000 Hz")
    };
    let full_scale = f64::from(1_u32 << (BITS - 1));
    let quantised =
        |sample: &f32| (f64::from(*sample) * full_scale).round().clamp(-full_scale, full_scale - 1.0) as i32;
    let samples: Vec<i32> = audio.samples.iter().map(quantised).collect();
    // Rates of recordings are whole numbers of hertz.
    let rate_hz = audio.sample_rate_hz.round() as usize;
    let config = flacenc::config::Encoder::default().into_verified().map_err(|(_, error)| refuse(error.to_string()))?;
    let source = flacenc::source::MemSource::from_samples(&samples, 1, BITS, rate_hz);
    let mut stream = flacenc::encode_with_fixed_block_size(&config, source, config.block_size)
        .map_err(|error| refuse(error.to_string()))?;
    // The encoder counts the shorter last block; the format does not (RFC 9639, 8.2), and decoders take the stream for
    // one of varying blocks then.
    stream
        .stream_info_mut()
        .set_block_sizes(config.block_size, config.block_size)
        .map_err(|error| refuse(error.to_string()))?;
    let mut sink = flacenc::bitsink::ByteSink::new();
    stream.write(&mut sink).map_err(|error| refuse(error.to_string()))?;
    Ok(sink.into_inner())
}

/// A take whose sound is on the disk.
#[derive(Debug, Clone)]
pub struct Kept {
    /// Name of its file.
    pub sha256: String,
    bytes: usize,
    rate_hz: u32,
    seconds: f64,
}

impl Kept {
    /// Names it in the record, so that a reading can.
    ///
    /// # Errors
    /// [`RecordError`] if the record refuses.
    pub fn name_in(&self, step: &Writer<'_>) -> Result<(), RecordError> {
        step.take_kept(&self.sha256, self.bytes, self.rate_hz, self.seconds)
    }
}

/// Puts the sound of a take on the disk.
///
/// # Errors
/// [`Refused`] as [`to_flac`], or if the disk refuses.
pub fn keep(takes: &Takes, take: &Audio) -> Result<Kept, Refused> {
    let flac = to_flac(take)?;
    let seconds = take.samples.len() as f64 / take.sample_rate_hz;
    let rate_hz = take.sample_rate_hz.round() as u32;
    Ok(Kept { sha256: takes.keep(&flac)?, bytes: flac.len(), rate_hz, seconds })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_take_comes_back_as_it_was() {
        let samples: Vec<f32> = (0..20_000).map(|i| 0.8 * (f64::from(i) * 0.07).sin() as f32).collect();
        let audio = Audio { samples, sample_rate_hz: 48_000.0, warnings: Vec::new() };
        let flac = to_flac(&audio).unwrap();
        assert!(flac.len() < 3 * audio.samples.len(), "no smaller than plain: {}", flac.len());
        let back = crate::audio::read(&flac).unwrap();
        assert_eq!(back.samples.len(), audio.samples.len());
        let worst = audio.samples.iter().zip(&back.samples).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
        // Half a step of 24 bits, and the rounding of a 32-bit float near 1.
        assert!(worst <= 0.5 / 8_388_608.0 + f32::EPSILON, "{worst}");
    }
}
