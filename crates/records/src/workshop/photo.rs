//! Photographs of salted bars: what a salt test says of one, and the files as they came from the camera.
use super::error::RecordError;
use super::open::Workshop;
use super::takes::{keep_file, name_of, read_file};
use super::write::Writer;
use rusqlite::params;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// How a photograph is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum PhotoFormat {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
}

impl PhotoFormat {
    /// The word in the record.
    pub fn word(self) -> &'static str {
        match self {
            Self::Jpeg => "jpeg",
            Self::Png => "png",
        }
    }

    pub(crate) fn from_word(word: &str) -> Result<Self, RecordError> {
        [Self::Jpeg, Self::Png]
            .into_iter()
            .find(|format| format.word() == word)
            .ok_or_else(|| RecordError::damaged(format!("a photograph of format \"{word}\"")))
    }

    /// The end of its file's name.
    pub fn extension(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
        }
    }
}

/// A photograph of the salted bar and what was marked on it: pixels to the right and down from the upper left corner of the
/// picture as it is looked at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhotoRecord {
    /// SHA-256 of its file.
    pub sha256: String,
    /// How it is kept.
    pub format: PhotoFormat,
    /// The bar's corners: left near, right near, right far, left far.
    pub corners_px: [[f64; 2]; 4],
    /// Along the left line, from the near edge to the far one.
    pub left_px: Vec<[f64; 2]>,
    /// Along the right line, from the near edge to the far one.
    pub right_px: Vec<[f64; 2]>,
    /// Ticks of a ruler along the bar, rising, if they were marked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ruler: Vec<TickRecord>,
    /// Standard uncertainty of the figures that were read from it, in millimetres.
    pub sigma_mm: f64,
}

/// A tick of a ruler in a photograph.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TickRecord {
    /// The tick.
    pub px: [f64; 2],
    /// What the ruler says there, in millimetres.
    pub reads_mm: f64,
}

/// A photograph that the record knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoName {
    /// SHA-256 of its file.
    pub sha256: String,
    /// How it is kept.
    pub format: PhotoFormat,
    /// Length of its file.
    pub bytes: u64,
}

/// The photographs of a workshop as they came from the camera: files under `photos/`, named as the takes are.
#[derive(Debug, Clone)]
pub struct Photos {
    folder: PathBuf,
}

impl Photos {
    pub(crate) fn in_folder(workshop: &Path) -> Self {
        Self { folder: workshop.join("photos") }
    }

    /// Where the photograph of that name lies.
    pub fn path(&self, sha256: &str, format: PhotoFormat) -> PathBuf {
        self.folder.join(sha256.get(..2).unwrap_or("xx")).join(format!("{sha256}.{}", format.extension()))
    }

    /// Keeps the bytes of a photograph and returns its name; they are on the disk when this returns.
    ///
    /// # Errors
    /// `disk_full`, `not_writable`, `not_saved`.
    pub fn keep(&self, bytes: &[u8], format: PhotoFormat) -> Result<String, RecordError> {
        let name = name_of(bytes);
        keep_file(&self.path(&name, format), &self.folder, bytes)?;
        Ok(name)
    }

    /// The bytes of a photograph.
    ///
    /// # Errors
    /// `photo_missing` if its file is gone, `photo_altered` if it no longer holds what it held.
    pub fn read(&self, sha256: &str, format: PhotoFormat) -> Result<Vec<u8>, RecordError> {
        read_file(&self.path(sha256, format), sha256, &["photo_missing", "photo_altered", "photo of a salt test"])
    }
}

impl Writer<'_> {
    /// Notes that a photograph is kept, so that salt tests can name it.
    ///
    /// # Errors
    /// [`RecordError`] if the record refuses.
    pub fn photo_kept(&self, photo: &PhotoName) -> Result<(), RecordError> {
        let sql = "INSERT OR IGNORE INTO photo (sha256, format, bytes) VALUES (?1, ?2, ?3)";
        let bytes = i64::try_from(photo.bytes).unwrap_or(i64::MAX);
        self.connection().prepare_cached(sql)?.execute(params![photo.sha256, photo.format.word(), bytes])?;
        Ok(())
    }
}

impl Workshop {
    /// All photographs the record knows.
    pub(crate) fn photo_names(&self) -> Result<Vec<PhotoName>, RecordError> {
        let sql = "SELECT sha256, format, bytes FROM photo ORDER BY sha256";
        let mut query = self.connection.prepare_cached(sql)?;
        let mut rows = query.query([])?;
        let mut photos = Vec::new();
        while let Some(row) = rows.next()? {
            let (format, bytes): (String, i64) = (row.get(1)?, row.get(2)?);
            photos.push(PhotoName {
                sha256: row.get(0)?,
                format: PhotoFormat::from_word(&format)?,
                bytes: bytes.unsigned_abs(),
            });
        }
        Ok(photos)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn a_photo_is_kept_as_it_came_and_an_altered_one_is_found_out() {
        let folder = tempfile::tempdir().unwrap();
        let photos = Photos::in_folder(folder.path());
        let name = photos.keep(b"picture", PhotoFormat::Jpeg).unwrap();
        assert!(photos.path(&name, PhotoFormat::Jpeg).ends_with(format!("{name}.jpg")));
        assert_eq!(photos.read(&name, PhotoFormat::Jpeg).unwrap(), b"picture");
        fs::write(photos.path(&name, PhotoFormat::Jpeg), b"other").unwrap();
        assert_eq!(photos.read(&name, PhotoFormat::Jpeg).unwrap_err().code, "photo_altered");
        assert_eq!(photos.read(&name, PhotoFormat::Png).unwrap_err().code, "photo_missing");
    }
}
