//! WAV in blocks. The head is checked here first, so that a refusal can say what is wrong; hound decodes.
use super::blocks::{Blocks, Spec, check_finite};
use super::wav_header;
use crate::error::Refused;
use hound::{SampleFormat, WavReader};
use std::io::{BufReader, Seek as _, SeekFrom};
use symphonia::core::io::MediaSource;

/// Frames of one block.
const BLOCK_FRAMES: usize = 8192;

/// A WAV file being read.
pub(super) struct Wav<'a> {
    reader: WavReader<BufReader<Box<dyn MediaSource + 'a>>>,
    spec: Spec,
    frames_done: u64,
}

impl<'a> Wav<'a> {
    pub fn open(source: Box<dyn MediaSource + 'a>) -> Result<Self, Refused> {
        let mut source = BufReader::with_capacity(1 << 16, source);
        let header = wav_header::read(&mut source)?;
        let spec = Spec {
            rate_hz: header.rate_hz,
            told_rate_hz: None,
            channels: usize::from(header.channels),
            bits: (!header.float).then_some(header.bits),
            frames: Some(header.data_bytes / u64::from(header.frame_bytes)),
        };
        super::check(&spec)?;
        source.seek(SeekFrom::Start(0)).map_err(|error| damaged(&error.into()))?;
        let reader = WavReader::new(source).map_err(|error| damaged(&error))?;
        let told = reader.spec();
        // Two readers of one head must agree before anything is believed.
        if told.sample_rate != header.rate_hz || told.channels != header.channels || told.bits_per_sample == 0 {
            return Err(damaged(&hound::Error::FormatError("its head can be read in two ways")));
        }
        Ok(Self { reader, spec, frames_done: 0 })
    }

    /// The next samples as fractions of full scale.
    fn read(&mut self, block: &mut Vec<f32>, most: usize) -> Result<(), hound::Error> {
        let told = self.reader.spec();
        let full_scale = 2f64.powi(i32::from(told.bits_per_sample) - 1);
        match told.sample_format {
            SampleFormat::Float => {
                for sample in self.reader.samples::<f32>().take(most) {
                    block.push(sample?);
                }
            }
            SampleFormat::Int => {
                for sample in self.reader.samples::<i32>().take(most) {
                    block.push((f64::from(sample?) / full_scale) as f32);
                }
            }
        }
        Ok(())
    }
}

impl Blocks for Wav<'_> {
    fn spec(&self) -> &Spec {
        &self.spec
    }

    fn next(&mut self, block: &mut Vec<f32>) -> Result<bool, Refused> {
        block.clear();
        self.read(block, BLOCK_FRAMES * self.spec.channels).map_err(|error| damaged(&error))?;
        // A last frame that lacks a channel is dropped.
        block.truncate(block.len() - block.len() % self.spec.channels.max(1));
        check_finite(block, &self.spec, self.frames_done)?;
        self.frames_done += (block.len() / self.spec.channels.max(1)) as u64;
        Ok(!block.is_empty())
    }
}

fn damaged(error: &hound::Error) -> Refused {
    Refused::new(
        "damaged",
        format!("the WAV file cannot be decoded: {error}"),
        "export it again as WAV, 16-bit or 24-bit PCM",
    )
}
