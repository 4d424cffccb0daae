//! Marks on a photograph, as they travel and as they are kept.
use super::picture::Picture;
use crate::convert::{mm, rounded};
use crate::error::Refused;
use making::frame::{BenchNodes, PhotoMarks, PhotoReading, PictureSize, RulerTicks, read_photo};
use records::workshop::{Face, NodeLine, PhotoRecord, SaltRecord, TickRecord};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Marks in pixels to the right and down from the upper left corner of the picture as it is looked at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Marks {
    /// The bar's corners: left near, right near, right far, left far.
    pub corners_px: [[f64; 2]; 4],
    /// Along the left line, from the near edge to the far one.
    pub left_px: Vec<[f64; 2]>,
    /// Along the right line, from the near edge to the far one.
    pub right_px: Vec<[f64; 2]>,
    /// Ticks of a ruler along the bar, with what it says there.
    #[serde(default)]
    pub ruler: Vec<TickRecord>,
}

impl Marks {
    /// Most bytes of marks that are looked at: some twenty marks are a kilobyte.
    const MOST_BYTES: usize = 20_000;

    /// From JSON.
    ///
    /// # Errors
    /// [`Refused`] `marks_unreadable`.
    pub fn parse(text: &str) -> Result<Self, Refused> {
        let refused = |why: String| {
            let hint = "four corners_px from left near around the bar, left_px and right_px from the near edge to the far \
                        one, each [right, down] in pixels; ruler: [{\"px\": [x, y], \"reads_mm\": 100}, …]";
            Refused::new("marks_unreadable", format!("the marks could not be read: {why}"), hint)
        };
        if text.len() > Self::MOST_BYTES {
            return Err(refused(format!("{} bytes of them are too many", text.len())));
        }
        serde_json::from_str(text).map_err(|error| refused(error.to_string()))
    }

    fn as_marked(&self) -> PhotoMarks {
        let mut ticks: Vec<_> = self.ruler.iter().map(|tick| (tick.px, mm(tick.reads_mm))).collect();
        ticks.sort_by(|a, b| a.1.total_cmp(&b.1));
        PhotoMarks {
            corners: self.corners_px,
            left: self.left_px.clone(),
            right: self.right_px.clone(),
            ruler: (!ticks.is_empty()).then_some(RulerTicks { ticks }),
        }
    }
}

/// The bar in the picture, by its record.
#[derive(Debug, Clone)]
pub struct PhotographedBar {
    /// Note and label.
    pub name: String,
    /// Its length now.
    pub length_m: f64,
    /// Its width.
    pub width_m: f64,
}

impl PhotographedBar {
    /// Reads the node lines.
    ///
    /// # Errors
    /// [`Refused`] as [`read_photo`].
    pub fn read(&self, marks: &Marks, size: PictureSize) -> Result<PhotoReading, Refused> {
        Ok(read_photo(&self.name, &marks.as_marked(), size, [self.length_m, self.width_m])?)
    }

    /// The salt test that the record keeps: figures to a hundredth of a millimetre, with the photograph they came from.
    pub fn salt(reading: &PhotoReading, face_up: Face, marks: &Marks, picture: &Picture) -> SaltRecord {
        let BenchNodes { left_m, right_m } = reading.test.nodes;
        let kept = |x_m: f64| rounded(x_m * 1e3, 2);
        let line = |[near, far]: [f64; 2], centre: Option<f64>| NodeLine {
            near_mm: kept(near),
            centre_mm: centre.map(kept),
            far_mm: kept(far),
        };
        let mut ruler = marks.ruler.clone();
        ruler.sort_by(|a, b| a.reads_mm.total_cmp(&b.reads_mm));
        SaltRecord {
            face_up,
            left: line(left_m, reading.test.centres_m[0]),
            right: line(right_m, reading.test.centres_m[1]),
            photo: Some(Box::new(PhotoRecord {
                sha256: Sha256::digest(picture.bytes()).iter().map(|byte| format!("{byte:02x}")).collect(),
                format: picture.format,
                corners_px: marks.corners_px,
                left_px: marks.left_px.clone(),
                right_px: marks.right_px.clone(),
                ruler,
                sigma_mm: kept(reading.sigma_m),
            })),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_that_are_none_are_refused_in_words() {
        for text in ["", "{}", "[1]", r#"{"corners_px":[[1,2]],"left_px":[],"right_px":[]}"#, &"x".repeat(30_000)] {
            let refused = Marks::parse(text).unwrap_err();
            assert_eq!(refused.code, "marks_unreadable");
            assert!(refused.hint.contains("corners_px"));
        }
    }

    #[test]
    fn ticks_may_come_in_any_order() {
        let text = r#"{"corners_px":[[100,820],[4800,820],[4800,200],[100,200]],"left_px":[[1100,820],[1150,200]],
            "right_px":[[3800,820],[3750,200]],"ruler":[{"px":[4600,900],"reads_mm":450},{"px":[100,900],"reads_mm":0}]}"#;
        let bar = PhotographedBar { name: "C3".to_owned(), length_m: 0.47, width_m: 0.062 };
        let size = PictureSize { width_px: 4912, height_px: 1024 };
        let reading = bar.read(&Marks::parse(text).unwrap(), size).unwrap();
        // Ten pixels a millimetre, from straight above.
        assert!((reading.test.nodes.left_m[0] - 0.1).abs() < 1e-9, "{reading:?}");
    }
}
