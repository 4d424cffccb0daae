//! Photographs of salted bars: the file, the marks on it, and what is kept of both.
mod marks;
mod picture;
mod strip;

pub use marks::{Marks, PhotographedBar};
pub use picture::{LARGEST_PHOTO_BYTES, Picture};
pub use strip::{strip, to_png};

use crate::error::Refused;
use records::workshop::{PhotoName, Workshop};

/// Puts a photograph on the disk as it came from the camera; a salt test can name it once [`records::workshop::Writer`] has
/// noted that.
///
/// # Errors
/// [`Refused`] if the disk refuses.
pub fn keep(workshop: &Workshop, picture: &Picture) -> Result<PhotoName, Refused> {
    let sha256 = workshop.photos().keep(picture.bytes(), picture.format)?;
    Ok(PhotoName { sha256, format: picture.format, bytes: picture.bytes().len() as u64 })
}
