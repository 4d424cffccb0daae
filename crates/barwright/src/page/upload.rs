//! A recording or a photograph sent by a form: its bytes, up to a limit, and where the bar was struck.
use crate::error::Refused;
use crate::photo::LARGEST_PHOTO_BYTES;
use axum::extract::Multipart;
use axum::extract::multipart::{Field, MultipartError};
use strike::StrikePlace;

/// Largest recording taken, in bytes: ten minutes of stereo at 48 kHz and 16 bits are 110 MB, a blow with its ring 2 MB.
pub const LARGEST_TAKE_BYTES: usize = 64 * 1024 * 1024;
/// After a too large recording this much is still read and thrown away, so that the browser gets to read the answer.
const MOST_DRAINED_BYTES: usize = 1024 * 1024 * 1024;

/// What a form sent.
#[derive(Debug, Default)]
pub struct SentTake {
    /// The recording.
    pub wav: Vec<u8>,
    /// Where the bar was struck, if the maker said so.
    pub struck: Option<StrikePlace>,
}

/// Reads a form with the fields `take` and `struck`.
///
/// # Errors
/// [`Refused`] `take_too_large`, `no_take`, `unknown_place` or `upload_broken`.
pub async fn read(mut form: Multipart) -> Result<SentTake, Refused> {
    let mut sent = SentTake::default();
    while let Some(field) = form.next_field().await.map_err(|e| broken(&e))? {
        match field.name() {
            Some("take") => sent.wav = bytes(field, LARGEST_TAKE_BYTES).await?.map_err(too_large)?,
            Some("struck") => sent.struck = place(&short_text(field).await?)?,
            _ => {}
        }
    }
    if sent.wav.is_empty() {
        return Err(Refused::new(
            "no_take",
            "no recording was sent, or an empty one",
            "choose a recording, or drop one on the page",
        ));
    }
    Ok(sent)
}

/// Reads a form with the field `photo`.
///
/// # Errors
/// [`Refused`] `photo_too_large`, `no_photo` or `upload_broken`.
pub async fn read_photo(mut form: Multipart) -> Result<Vec<u8>, Refused> {
    let mut photo = Vec::new();
    while let Some(field) = form.next_field().await.map_err(|e| broken(&e))? {
        if field.name() == Some("photo") {
            photo = bytes(field, LARGEST_PHOTO_BYTES).await?.map_err(|total| {
                let message = format!(
                    "the photograph is larger than {} MiB ({total} bytes were read)",
                    LARGEST_PHOTO_BYTES >> 20
                );
                Refused::new(
                    "photo_too_large",
                    message,
                    "12 million pixels are plenty: choose a smaller size in the camera",
                )
            })?;
        }
    }
    if photo.is_empty() {
        let message = "no photograph was sent, or an empty one";
        return Err(Refused::new("no_photo", message, "take one with the camera, or choose one that was taken"));
    }
    Ok(photo)
}

/// The bytes of a field; beyond `largest` only their number.
async fn bytes(mut field: Field<'_>, largest: usize) -> Result<Result<Vec<u8>, usize>, Refused> {
    let mut bytes = Vec::new();
    let mut total: usize = 0;
    while let Some(chunk) = field.chunk().await.map_err(|e| broken(&e))? {
        total = total.saturating_add(chunk.len());
        if total <= largest {
            bytes.extend_from_slice(&chunk);
        } else {
            bytes = Vec::new();
            if total > MOST_DRAINED_BYTES {
                break;
            }
        }
    }
    Ok(if total > largest { Err(total) } else { Ok(bytes) })
}

/// A short field; what is longer than any place's name is cut off.
async fn short_text(mut field: Field<'_>) -> Result<String, Refused> {
    const LONGEST: usize = 100;
    let mut bytes = Vec::new();
    while let Some(chunk) = field.chunk().await.map_err(|e| broken(&e))? {
        let room = LONGEST - bytes.len();
        bytes.extend_from_slice(&chunk[..chunk.len().min(room)]);
    }
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// The refusal of a recording of `total` bytes.
fn too_large(total: usize) -> Refused {
    const MIB: usize = 1024 * 1024;
    Refused::new(
        "take_too_large",
        format!(
            "the recording is larger than {} MiB ({} MiB were read)",
            LARGEST_TAKE_BYTES / MIB,
            total.div_ceil(MIB)
        ),
        "send one take with a few blows; ten seconds are plenty",
    )
}

/// A place by its name; an empty name is "not said".
fn place(name: &str) -> Result<Option<StrikePlace>, Refused> {
    match name {
        "" => Ok(None),
        "centre" => Ok(Some(StrikePlace::Centre)),
        "quarter" => Ok(Some(StrikePlace::Quarter)),
        "corner" => Ok(Some(StrikePlace::Corner)),
        "end" => Ok(Some(StrikePlace::End)),
        other => Err(Refused::new(
            "unknown_place",
            format!("\"{}\" is no place to strike", other.chars().take(40).collect::<String>()),
            "choose centre, quarter, corner or end, or leave it open",
        )),
    }
}

fn broken(error: &MultipartError) -> Refused {
    Refused::new("upload_broken", format!("what was sent did not arrive whole ({error})"), "send it again")
}
