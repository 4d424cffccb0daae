//! What a file is, by its first bytes: recorders and phones name files as they like.
use crate::error::Refused;

/// So many first bytes are looked at.
pub(super) const HEAD_BYTES: u64 = 512;

/// How a recording is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Uncompressed, read here.
    Wav,
    /// By the decoder for this form.
    Coded(Form),
}

/// A form the decoder knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    Flac,
    Mp3,
    Adts,
    Mp4,
    Ogg,
    Aiff,
}

impl Form {
    /// Its name in messages.
    pub fn name(self) -> &'static str {
        match self {
            Self::Flac => "FLAC",
            Self::Mp3 => "MP3",
            Self::Adts => "AAC",
            Self::Mp4 => "M4A or MP4",
            Self::Ogg => "Ogg",
            Self::Aiff => "AIFF",
        }
    }

    /// The usual ending of its files.
    pub fn extension(self) -> &'static str {
        match self {
            Self::Flac => "flac",
            Self::Mp3 => "mp3",
            Self::Adts => "aac",
            Self::Mp4 => "m4a",
            Self::Ogg => "ogg",
            Self::Aiff => "aiff",
        }
    }
}

/// The kind of a file of `length` bytes that begins with `head`.
pub(super) fn of(head: &[u8], length: u64) -> Result<Kind, Refused> {
    if head.is_empty() {
        return Err(super::empty());
    }
    let starts = |magic: &[u8]| head.starts_with(magic);
    let four_cc = |at: usize, magic: &[u8]| head.get(at..at + 4) == Some(magic);
    let sync = head.len() > 1 && head[0] == 0xFF && head[1] & 0xE0 == 0xE0;
    if starts(b"RIFF") && four_cc(8, b"WAVE") {
        Ok(Kind::Wav)
    } else if starts(b"fLaC") {
        Ok(Kind::Coded(Form::Flac))
    } else if starts(b"OggS") {
        Ok(Kind::Coded(Form::Ogg))
    } else if four_cc(4, b"ftyp") {
        Ok(Kind::Coded(Form::Mp4))
    } else if starts(b"FORM") && (four_cc(8, b"AIFF") || four_cc(8, b"AIFC")) {
        Ok(Kind::Coded(Form::Aiff))
    } else if sync && head[1] & 0xF6 == 0xF0 {
        // MPEG-4 ADTS (ISO/IEC 13818-7): twelve bits of sync, and layer 0, which MPEG audio does not use.
        Ok(Kind::Coded(Form::Adts))
    } else if starts(b"ID3") || sync {
        Ok(Kind::Coded(Form::Mp3))
    } else {
        Err(not_sound(head, length))
    }
}

/// What a file that is no recording looks like.
fn not_sound(head: &[u8], length: u64) -> Refused {
    let starts = |magic: &[u8]| head.starts_with(magic);
    let kind = if starts(b"RIFX") || starts(b"RF64") || starts(b"riff") {
        "a rare kind of WAV (big-endian or 64-bit)"
    } else if starts(b"RIFF") {
        "a RIFF file without sound"
    } else if starts(&[0x1A, 0x45, 0xDF, 0xA3]) {
        "WebM or Matroska"
    } else if starts(b"caff") {
        "CAF"
    } else if starts(b"#!AMR") {
        "AMR, a telephone coding"
    } else if head.iter().all(|byte| *byte == 0) {
        "nothing but zeros"
    } else if is_text(head) {
        "text"
    } else {
        "something unknown"
    };
    Refused::new(
        "not_sound",
        format!("this is not a recording that can be read: its {length} bytes look like {kind}"),
        "give WAV, FLAC, MP3, M4A, Ogg Vorbis or AIFF; best is WAV, 16-bit or 24-bit PCM",
    )
}

/// Whether these first bytes are text; the last letter may be cut.
fn is_text(head: &[u8]) -> bool {
    let whole = match std::str::from_utf8(head) {
        Ok(text) => text,
        Err(error) if error.error_len().is_none() => {
            std::str::from_utf8(&head[..error.valid_up_to()]).unwrap_or_default()
        }
        Err(_) => return false,
    };
    !whole.is_empty() && !whole.contains('\0')
}
