//! The head of a WAV file, read before decoding so that a refusal can say what is wrong.
//!
//! RIFF/WAVE as in the Multimedia Programming Interface and Data Specifications 1.0 (1991), and
//! WAVE_FORMAT_EXTENSIBLE; codec numbers from the public registry of wave formats, from memory.
use crate::error::Refused;

/// What the head promises.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Header {
    pub(crate) channels: u16,
    pub(crate) rate_hz: u32,
    pub(crate) bits: u16,
    pub(crate) frame_bytes: u16,
    pub(crate) data_bytes: usize,
}

const PCM: u16 = 1;
const FLOAT: u16 = 3;
const EXTENSIBLE: u16 = 0xFFFE;

/// Reads and checks the head.
pub(crate) fn read(bytes: &[u8]) -> Result<Header, Refused> {
    if bytes.is_empty() {
        return Err(crate::audio::empty());
    }
    if bytes.len() < 12 || &bytes[..4] != b"RIFF" || &bytes[8..12] != b"WAVE" {
        return Err(not_wav(bytes));
    }
    let mut format: Option<Header> = None;
    let mut at = 12;
    while at + 8 <= bytes.len() {
        let size = le_u32(bytes, at + 4) as usize;
        let (start, present) = (at + 8, bytes.len() - at - 8);
        match &bytes[at..at + 4] {
            b"fmt " if size >= 16 && present >= size => format = Some(read_format(&bytes[start..start + size])?),
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
            "the WAV file is truncated: {} bytes hold no {}",
            bytes.len(),
            if format.is_some() { "samples" } else { "format" }
        ),
        "copy or export the recording again",
    ))
}

fn check_data(header: Header, present: usize) -> Result<Header, Refused> {
    if header.data_bytes > present {
        return Err(truncated("samples", header.data_bytes, present));
    }
    if header.data_bytes < usize::from(header.frame_bytes) {
        return Err(crate::audio::empty());
    }
    Ok(header)
}

fn truncated(part: &str, promised: usize, present: usize) -> Refused {
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
                "the recording is coded as {}; WAV is understood as 8, 16, 24 or 32-bit PCM or 32-bit float",
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
    Ok(Header { channels, rate_hz: le_u32(chunk, 4), bits, frame_bytes, data_bytes: 0 })
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

/// What a file that is not WAV looks like.
fn not_wav(bytes: &[u8]) -> Refused {
    let starts = |magic: &[u8]| bytes.starts_with(magic);
    let kind = if starts(b"RIFX") || starts(b"RF64") || starts(b"riff") {
        "a rare kind of WAV (big-endian or 64-bit)"
    } else if starts(b"RIFF") {
        "a RIFF file without sound"
    } else if starts(b"fLaC") {
        "FLAC"
    } else if starts(b"OggS") {
        "Ogg"
    } else if starts(b"ID3") || (bytes.len() > 1 && bytes[0] == 0xFF && bytes[1] & 0xE0 == 0xE0) {
        "MP3"
    } else if bytes.get(4..8) == Some(b"ftyp") {
        "M4A or MP4"
    } else if starts(b"FORM") {
        "AIFF"
    } else if std::str::from_utf8(&bytes[..bytes.len().min(512)]).is_ok_and(|text| !text.contains('\0')) {
        "text"
    } else {
        "something unknown"
    };
    Refused::new(
        "not_wav",
        format!("this is not a WAV recording: its {} bytes look like {kind}", bytes.len()),
        "export the recording as WAV, 16-bit or 24-bit PCM",
    )
}

fn le_u16(bytes: &[u8], at: usize) -> u16 {
    u16::from_le_bytes([bytes[at], bytes[at + 1]])
}

fn le_u32(bytes: &[u8], at: usize) -> u32 {
    u32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]])
}
