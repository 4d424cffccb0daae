//! The head of a WAV file, read before decoding so that a refusal can say what is wrong.
//!
//! RIFF/WAVE as in the Multimedia Programming Interface and Data Specifications 1.0 (1991), and
//! WAVE_FORMAT_EXTENSIBLE; codec numbers from the public registry of wave formats, from memory.
use crate::error::Refused;
use std::io::{Read, Seek, SeekFrom};

/// What the head promises.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Header {
    pub(super) channels: u16,
    pub(super) rate_hz: u32,
    pub(super) bits: u16,
    pub(super) float: bool,
    pub(super) frame_bytes: u16,
    pub(super) data_bytes: u64,
}

const PCM: u16 = 1;
const FLOAT: u16 = 3;
const EXTENSIBLE: u16 = 0xFFFE;

/// Most bytes of the format part that are looked at; it has 16, 18 or 40.
const MOST_FORMAT_BYTES: u64 = 64;
/// Most parts a file may have before its samples; recorders write under twenty.
const MOST_PARTS: usize = 1000;

/// Reads and checks the head of a source that begins with `RIFF….WAVE`.
pub(super) fn read(source: &mut (impl Read + Seek)) -> Result<Header, Refused> {
    let unreadable = |error: std::io::Error| {
        Refused::new("unreadable", format!("the recording cannot be read: {error}"), "copy it again")
    };
    let length = source.seek(SeekFrom::End(0)).map_err(unreadable)?;
    let mut format: Option<Header> = None;
    let mut at = 12;
    for _ in 0..MOST_PARTS {
        if at + 8 > length {
            break;
        }
        let head = part(source, at, 8).map_err(unreadable)?;
        let size = u64::from(le_u32(&head, 4));
        let (start, present) = (at + 8, length - at - 8);
        match &head[..4] {
            b"fmt " if size >= 16 && present >= size => {
                format = Some(read_format(&part(source, start, size.min(MOST_FORMAT_BYTES)).map_err(unreadable)?)?);
            }
            b"fmt " => return Err(truncated("format", size.max(16), present.min(size))),
            b"data" => {
                let Some(header) = format else { break };
                return check_data(Header { data_bytes: size, ..header }, present);
            }
            _ => {}
        }
        // Chunks are padded to an even length.
        at = start.saturating_add(size).saturating_add(size % 2);
    }
    Err(Refused::new(
        "truncated",
        format!(
            "the WAV file is truncated: {length} bytes hold no {}",
            if format.is_some() { "samples" } else { "format" }
        ),
        "copy or export the recording again",
    ))
}

/// `size` bytes from `at`, which are known to be there.
fn part(source: &mut (impl Read + Seek), at: u64, size: u64) -> std::io::Result<Vec<u8>> {
    source.seek(SeekFrom::Start(at))?;
    let mut bytes = vec![0; size as usize];
    source.read_exact(&mut bytes)?;
    Ok(bytes)
}

fn check_data(header: Header, present: u64) -> Result<Header, Refused> {
    if header.data_bytes > present {
        return Err(truncated("samples", header.data_bytes, present));
    }
    if header.data_bytes < u64::from(header.frame_bytes) {
        return Err(super::empty());
    }
    Ok(header)
}

fn truncated(part: &str, promised: u64, present: u64) -> Refused {
    Refused::new(
        "truncated",
        format!("the WAV file is truncated: its header promises {promised} bytes of {part}, {present} are present"),
        "copy the recording again, or export it again from the recorder",
    )
}

fn read_format(chunk: &[u8]) -> Result<Header, Refused> {
    let mut codec = le_u16(chunk, 0);
    if codec == EXTENSIBLE && chunk.len() >= 26 {
        codec = le_u16(chunk, 24);
    }
    let (bits, frame_bytes, channels) = (le_u16(chunk, 14), le_u16(chunk, 12), le_u16(chunk, 2));
    let known = match codec {
        PCM => matches!(bits, 8 | 16 | 24 | 32),
        FLOAT => bits == 32,
        _ => false,
    };
    if !known {
        return Err(Refused::new(
            "unsupported_codec",
            format!(
                "the recording is coded as {}; WAV is read as 8, 16, 24 or 32-bit PCM or 32-bit float",
                codec_name(codec, bits)
            ),
            "export it as WAV, 16-bit or 24-bit PCM",
        ));
    }
    if frame_bytes == 0 || usize::from(frame_bytes) != usize::from(channels) * usize::from(bits / 8) {
        return Err(Refused::new(
            "damaged",
            format!(
                "the WAV header contradicts itself: {channels} channels of {bits} bits cannot take {frame_bytes} bytes a sample"
            ),
            "export the recording again as WAV, 16-bit or 24-bit PCM",
        ));
    }
    Ok(Header { channels, rate_hz: le_u32(chunk, 4), bits, float: codec == FLOAT, frame_bytes, data_bytes: 0 })
}

/// Name of a codec in words.
fn codec_name(codec: u16, bits: u16) -> String {
    let name = match codec {
        PCM => return format!("PCM with {bits} bits"),
        FLOAT => return format!("floats of {bits} bits"),
        2 => "ADPCM",
        6 => "A-law",
        7 => "µ-law",
        0x11 => "IMA ADPCM",
        0x31 => "GSM 6.10",
        0x50 | 0x55 => "MPEG audio",
        0xFF | 0x1600..=0x1610 => "AAC",
        0xF1AC => "FLAC",
        other => return format!("codec number {other:#06x}"),
    };
    format!("{name}, which throws away what the fit needs or is not read")
}

fn le_u16(bytes: &[u8], at: usize) -> u16 {
    u16::from_le_bytes([bytes[at], bytes[at + 1]])
}

fn le_u32(bytes: &[u8], at: usize) -> u32 {
    u32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]])
}
