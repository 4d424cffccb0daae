//! Whether an MP4 file is whole: phones write its parts one after the other, and a broken copy lacks the last.
//!
//! Boxes of the ISO base media file format (ISO/IEC 14496-12, 4.2): size and name, 64-bit size if the size is 1, to the
//! end of the file if it is 0.
use crate::error::Refused;
use std::io::{Read, Seek, SeekFrom};

/// Most parts that are looked at; phones write under ten, fragmented recordings one a second.
const MOST_BOXES: usize = 100_000;

/// Refuses a file that ends inside a part, or lacks the part that says what is in it.
pub(super) fn check(source: &mut (impl Read + Seek + ?Sized)) -> Result<(), Refused> {
    let Ok(length) = source.seek(SeekFrom::End(0)) else { return Ok(()) };
    let (mut at, mut has_table) = (0, false);
    for _ in 0..MOST_BOXES {
        if at >= length {
            break;
        }
        let Some((size, name)) = head(source, at) else { return Err(truncated(at + 8, length)) };
        let size = if size == 0 { length - at } else { size };
        if size < 8 {
            // Not a size: the decoder will say what it makes of it.
            return Ok(());
        }
        has_table |= &name == b"moov";
        at = at.saturating_add(size);
        if at > length {
            return Err(truncated(at, length));
        }
    }
    if has_table { Ok(()) } else { Err(no_table(length)) }
}

/// Size and name of the box at `at`; `None` at the end of the file.
fn head(source: &mut (impl Read + Seek + ?Sized), at: u64) -> Option<(u64, [u8; 4])> {
    let mut bytes = [0; 8];
    source.seek(SeekFrom::Start(at)).ok()?;
    source.read_exact(&mut bytes).ok()?;
    let [a, b, c, d, name @ ..] = bytes;
    let size = u64::from(u32::from_be_bytes([a, b, c, d]));
    if size != 1 {
        return Some((size, name));
    }
    let mut long = [0; 8];
    source.read_exact(&mut long).ok()?;
    Some((u64::from_be_bytes(long), name))
}

fn truncated(promised: u64, present: u64) -> Refused {
    Refused::new(
        "truncated",
        format!("the M4A or MP4 file is truncated: it promises at least {promised} bytes, {present} are present"),
        "copy the recording again, or export it again from the recorder",
    )
}

fn no_table(present: u64) -> Refused {
    Refused::new(
        "truncated",
        format!("the M4A or MP4 file is not finished: its {present} bytes lack the table of its sound"),
        "end the recording in the recorder before copying it, or record again as WAV",
    )
}
