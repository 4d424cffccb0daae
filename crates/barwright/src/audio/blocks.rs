//! A recording as a stream of blocks, whatever its form.
use super::coded::Coded;
use super::kind::{self, Form, Kind};
use super::wav::Wav;
use crate::error::Refused;
use std::io::{Seek as _, SeekFrom};
use symphonia::core::io::MediaSource;

/// What is known before the end of a recording.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Spec {
    /// Samples per second, as decoded.
    pub rate_hz: u32,
    /// Samples per second as the container tells, where it tells.
    pub told_rate_hz: Option<u32>,
    /// Channels, as decoded.
    pub channels: usize,
    /// Bits of uncompressed integers.
    pub bits: Option<u16>,
    /// Samples of each channel, if the file tells.
    pub frames: Option<u64>,
}

/// Blocks of interleaved samples.
pub(super) trait Blocks: Send {
    /// Rate and channels; they stay the same to the end.
    fn spec(&self) -> &Spec;

    /// Replaces `block` by the next whole frames, full scale = 1, all finite; `false` at the end.
    fn next(&mut self, block: &mut Vec<f32>) -> Result<bool, Refused>;
}

/// Opens a recording of any form.
pub(super) fn open<'a>(mut source: Box<dyn MediaSource + 'a>) -> Result<Box<dyn Blocks + 'a>, Refused> {
    let unreadable = |error: std::io::Error| {
        Refused::new("unreadable", format!("the recording cannot be read: {error}"), "copy it again")
    };
    let mut head = Vec::new();
    std::io::Read::read_to_end(&mut std::io::Read::take(&mut source, kind::HEAD_BYTES), &mut head)
        .map_err(unreadable)?;
    let length = source.seek(SeekFrom::End(0)).map_err(unreadable)?;
    source.seek(SeekFrom::Start(0)).map_err(unreadable)?;
    match kind::of(&head, length)? {
        Kind::Wav => Ok(Box::new(Wav::open(source)?)),
        Kind::Coded(Form::Mp4) => {
            super::mp4_boxes::check(&mut source)?;
            source.seek(SeekFrom::Start(0)).map_err(unreadable)?;
            Ok(Box::new(Coded::open(source, Form::Mp4)?))
        }
        Kind::Coded(form) => Ok(Box::new(Coded::open(source, form)?)),
    }
}

/// Refuses numbers that are none; `frames_before` tells where.
pub(super) fn check_finite(block: &[f32], spec: &Spec, frames_before: u64) -> Result<(), Refused> {
    let Some(index) = block.iter().position(|value| !value.is_finite()) else { return Ok(()) };
    let sample = frames_before + (index / spec.channels.max(1)) as u64;
    Err(Refused::new(
        "not_finite",
        format!(
            "sample {sample} (at {:.3} s) is {}; every sample must be a finite number",
            sample as f64 / f64::from(spec.rate_hz),
            block[index]
        ),
        "the recording is damaged: export it again or record again",
    ))
}
