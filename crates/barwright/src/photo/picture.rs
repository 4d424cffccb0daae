//! A photograph as a file: which kind it is, how large as it is looked at, and its pixels.
use crate::error::Refused;
use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits};
use making::frame::PictureSize;
use records::workshop::PhotoFormat;
use std::io::Cursor;

/// Largest file taken, in bytes: a telephone's JPEG of 12 to 50 million pixels is 3 to 20 MB, a PNG of one 20 to 40 MB.
pub const LARGEST_PHOTO_BYTES: usize = 48 * 1024 * 1024;
/// Most pixels a side; two sides of it decoded are a gigabyte, which the limit on memory below refuses.
const MOST_SIDE_PX: u32 = 16_384;
/// Most memory for the pixels: 64 million of three bytes, and room for the decoder beside them.
const MOST_ALLOC_BYTES: u64 = 256 * 1024 * 1024;

/// Of the copy that is looked at; the file that is kept is the camera's own.
const UPRIGHT_QUALITY: u8 = 90;

/// A photograph's file.
#[derive(Debug, Clone)]
pub struct Picture {
    bytes: Vec<u8>,
    /// How it is kept.
    pub format: PhotoFormat,
    /// Its size, as it is looked at: turned upright by what the camera noted.
    pub size: PictureSize,
}

impl Picture {
    /// Looks at the head of a file.
    ///
    /// # Errors
    /// [`Refused`] `photo_too_large`, `photo_unknown` for what is neither JPEG nor PNG, `photo_unreadable`.
    pub fn of_bytes(bytes: Vec<u8>) -> Result<Self, Refused> {
        if bytes.len() > LARGEST_PHOTO_BYTES {
            return Err(too_large(format!("the photograph is larger than {} MiB", LARGEST_PHOTO_BYTES >> 20)));
        }
        let format = match image::guess_format(&bytes) {
            Ok(ImageFormat::Jpeg) => PhotoFormat::Jpeg,
            Ok(ImageFormat::Png) => PhotoFormat::Png,
            _ => return Err(unknown(&bytes)),
        };
        let mut decoder = decoder(&bytes, format)?;
        let (width_px, height_px) = decoder.dimensions();
        let turned = matches!(
            decoder.orientation().unwrap_or(Orientation::NoTransforms),
            Orientation::Rotate90 | Orientation::Rotate270 | Orientation::Rotate90FlipH | Orientation::Rotate270FlipH
        );
        drop(decoder);
        let (width_px, height_px) = if turned { (height_px, width_px) } else { (width_px, height_px) };
        Ok(Self { bytes, format, size: PictureSize { width_px, height_px } })
    }

    /// The file as it came.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// A file of the picture that needs no turning: its own, or a JPEG of its pixels turned upright. Not every browser turns
    /// pictures inside drawings by the camera's note.
    ///
    /// # Errors
    /// [`Refused`] as [`Picture::pixels`].
    pub fn upright(self) -> Result<(Vec<u8>, PhotoFormat), Refused> {
        let orientation = decoder(&self.bytes, self.format)?.orientation().unwrap_or(Orientation::NoTransforms);
        if orientation == Orientation::NoTransforms {
            return Ok((self.bytes, self.format));
        }
        let mut bytes = Vec::new();
        let encoder = JpegEncoder::new_with_quality(&mut bytes, UPRIGHT_QUALITY);
        self.pixels()?.to_rgb8().write_with_encoder(encoder).map_err(|error| unreadable(&error))?;
        Ok((bytes, PhotoFormat::Jpeg))
    }

    /// The pixels, upright.
    ///
    /// # Errors
    /// [`Refused`] `photo_too_large` or `photo_unreadable`.
    pub fn pixels(&self) -> Result<DynamicImage, Refused> {
        let mut decoder = decoder(&self.bytes, self.format)?;
        let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
        let mut pixels = DynamicImage::from_decoder(decoder).map_err(|error| unreadable(&error))?;
        pixels.apply_orientation(orientation);
        Ok(pixels)
    }
}

fn decoder(bytes: &[u8], format: PhotoFormat) -> Result<impl ImageDecoder + '_, Refused> {
    let format = match format {
        PhotoFormat::Jpeg => ImageFormat::Jpeg,
        PhotoFormat::Png => ImageFormat::Png,
    };
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_SIDE_PX);
    limits.max_image_height = Some(MOST_SIDE_PX);
    limits.max_alloc = Some(MOST_ALLOC_BYTES);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(|error| unreadable(&error))?;
    if decoder.total_bytes() > MOST_ALLOC_BYTES {
        let (width, height) = decoder.dimensions();
        return Err(too_large(format!("the photograph has {width} × {height} pixels, more than 64 million")));
    }
    Ok(decoder)
}

fn too_large(message: String) -> Refused {
    Refused::new("photo_too_large", message, "12 million pixels are plenty: choose a smaller size in the camera")
}

fn unreadable(error: &ImageError) -> Refused {
    if matches!(error, ImageError::Limits(_)) {
        return too_large(format!("the photograph is too large ({error})"));
    }
    let hint = "send it again from the camera; if it opens nowhere else either, take a new one";
    Refused::new("photo_unreadable", format!("the photograph cannot be read ({error})"), hint)
}

/// What is neither JPEG nor PNG; the format that telephones like to use is named with its cure.
fn unknown(bytes: &[u8]) -> Refused {
    // ISO/IEC 14496-12: "ftyp" and a brand; those of ISO/IEC 23008-12 are heic, heix, mif1, msf1, avif's is avif.
    let brand = bytes.get(4..12).filter(|head| head.starts_with(b"ftyp")).map(|head| &head[4..]);
    let what = match brand {
        Some(b"heic" | b"heix" | b"mif1" | b"msf1" | b"hevc") => "the photograph is in HEIF (.heic)",
        Some(b"avif") => "the photograph is in AVIF",
        _ if bytes.is_empty() => "no photograph was sent, or an empty one",
        _ if bytes.starts_with(b"RIFF") => "this is a WebP picture or no picture at all",
        _ => "this is no JPEG or PNG picture",
    };
    let hint = "send a JPEG or PNG: in the camera's settings choose JPEG (\"most compatible\"), or export it so";
    Refused::new("photo_unknown", what, hint)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{ExtendedColorType, ImageEncoder, RgbImage};

    /// A picture of 60 × 40 with its upper left corner dark, as a camera held upright notes it (Exif 2.32, tag 0x0112).
    fn turned(orientation: u8) -> Vec<u8> {
        let mut exif = b"II\x2a\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0".to_vec();
        exif.extend_from_slice(&[orientation, 0, 0, 0, 0, 0, 0, 0]);
        let pixels = RgbImage::from_fn(60, 40, |x, y| image::Rgb([if x < 16 && y < 16 { 0 } else { 255 }; 3]));
        let mut bytes = Vec::new();
        let mut encoder = JpegEncoder::new_with_quality(&mut bytes, 95);
        encoder.set_exif_metadata(exif).unwrap();
        encoder.write_image(&pixels, 60, 40, ExtendedColorType::Rgb8).unwrap();
        bytes
    }

    #[test]
    fn a_picture_is_seen_as_it_is_looked_at() {
        // Orientation 6: the first row is the right-hand side, the first column the top; 8: the left-hand side.
        for (orientation, size, dark) in [(1, [60, 40], [4, 4]), (6, [40, 60], [36, 4]), (8, [40, 60], [4, 56])] {
            let picture = Picture::of_bytes(turned(orientation)).unwrap();
            assert_eq!([picture.size.width_px, picture.size.height_px], size, "{orientation}");
            let pixels = picture.pixels().unwrap().to_luma8();
            assert_eq!([pixels.width(), pixels.height()], size);
            // JPEG at quality 95 keeps flat areas within a few of 255 steps; half is far from both.
            assert!(pixels.get_pixel(dark[0], dark[1]).0[0] < 128, "{orientation}");
            let bright = pixels.pixels().filter(|pixel| pixel.0[0] >= 128).count();
            assert_eq!(bright, 60 * 40 - 16 * 16, "{orientation}");
        }
    }

    #[test]
    fn what_cannot_be_looked_at_is_refused_with_a_cure() {
        let code = |bytes: &[u8]| Picture::of_bytes(bytes.to_vec()).and_then(|p| p.pixels()).unwrap_err();
        let heic = code(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic");
        assert_eq!(heic.code, "photo_unknown");
        assert!(heic.message.contains("HEIF") && heic.hint.contains("JPEG"), "{heic:?}");
        assert_eq!(code(b"").code, "photo_unknown");
        assert_eq!(code(b"%PDF-1.7").code, "photo_unknown");
        let whole = turned(1);
        assert_eq!(code(&whole[..40]).code, "photo_unreadable");
        assert_eq!(code(&vec![0; LARGEST_PHOTO_BYTES + 1]).code, "photo_too_large");
        // A PNG's head of 60 000 × 60 000 pixels (IHDR, ISO/IEC 15948, 11.2.2), with no data behind it.
        let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        png.extend_from_slice(&60_000_u32.to_be_bytes());
        png.extend_from_slice(&60_000_u32.to_be_bytes());
        png.extend_from_slice(&[8, 2, 0, 0, 0]);
        let crc = crc32(&png[12..]);
        png.extend_from_slice(&crc.to_be_bytes());
        png.extend_from_slice(b"\0\0\0\x01IDAT\0\0\0\0\0");
        assert_eq!(code(&png).code, "photo_too_large");
    }

    /// ISO/IEC 15948, annex D.
    fn crc32(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(u32::MAX, |crc, byte| {
            (0..8).fold(crc ^ u32::from(*byte), |crc, _| (crc >> 1) ^ (if crc & 1 == 1 { 0xEDB8_8320 } else { 0 }))
        })
    }
}
