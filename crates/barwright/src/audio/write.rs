//! Samples to WAV.
use crate::error::Refused;
use std::io::Cursor;

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
