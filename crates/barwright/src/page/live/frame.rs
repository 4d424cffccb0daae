//! A frame of sound as it travels.

/// Samples with their place in the stream.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Number of the first sample since the microphone was switched on.
    pub first: u64,
    /// The samples.
    pub samples: Vec<f32>,
}

impl Frame {
    /// Reads a frame: the number of its first sample as u64, then samples as f32, all little-endian; `None` if the
    /// bytes are no frame.
    pub fn read(bytes: &[u8]) -> Option<Self> {
        let (first, rest) = bytes.split_first_chunk::<8>()?;
        let (samples, left) = rest.as_chunks::<4>();
        // Beyond 2^52 samples, three thousand years, the number is nonsense, and adding to it could overflow.
        let first = Some(u64::from_le_bytes(*first)).filter(|first| *first < 1 << 52)?;
        left.is_empty().then(|| Self { first, samples: samples.iter().map(|s| f32::from_le_bytes(*s)).collect() })
    }

    /// Where the next frame begins.
    pub fn end(&self) -> u64 {
        self.first + self.samples.len() as u64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_are_read_as_they_were_written_and_nothing_else_is() {
        let mut bytes = 1_000_u64.to_le_bytes().to_vec();
        for sample in [0.5_f32, -1.25] {
            bytes.extend(sample.to_le_bytes());
        }
        let frame = Frame::read(&bytes).unwrap();
        assert_eq!((frame.first, frame.samples.as_slice(), frame.end()), (1000, &[0.5, -1.25][..], 1002));
        assert_eq!(Frame::read(&bytes[..8]).unwrap().samples.len(), 0);
        for wrong in [&bytes[..7], &bytes[..9], &[][..], &u64::MAX.to_le_bytes()] {
            assert_eq!(Frame::read(wrong), None);
        }
    }
}
