//! Lengths, bands and places as they are written on the command line.
use crate::error::Refused;
use records::workshop::{HoleRecord, NodeLine};
use records::{BandRecord, CaliperRecord, Length, LengthUnit, SideName};
use std::collections::BTreeMap;

/// Reads values and remembers those that were not written in plain millimetres.
#[derive(Debug, Default)]
pub(super) struct Values {
    /// Unit of a bare number.
    pub(super) bare: LengthUnit,
    /// Values as they were written, by name.
    pub(super) entered: BTreeMap<String, String>,
}

impl Values {
    /// A length in millimetres; `name` is what it will be remembered under.
    pub(super) fn length_mm(&mut self, name: &str, text: &str) -> Result<f64, Refused> {
        let length =
            Length::parse(text, self.bare).map_err(|error| Refused::new("wrong_length", error.to_string(), ""))?;
        // Plain millimetres need no second spelling.
        if length.entered.parse::<f64>().is_err() || self.bare == LengthUnit::Inch {
            self.entered.insert(name.to_owned(), length.entered);
        }
        Ok(length.mm)
    }

    pub(super) fn optional_mm(&mut self, name: &str, text: Option<&str>) -> Result<Option<f64>, Refused> {
        text.map(|text| self.length_mm(name, text)).transpose()
    }

    /// "0-60:1.2", "80-120:1/64 in:left".
    pub(super) fn band(&mut self, number: usize, text: &str) -> Result<BandRecord, Refused> {
        let wrong = || {
            Refused::new(
                "wrong_band",
                format!("\"{text}\" is no band"),
                "write from-to:depth from the centre, e.g. 0-60:1.2 or 80-120:0.4:left",
            )
        };
        let parts: Vec<&str> = text.split(':').collect();
        let (range, depth, side) = match parts[..] {
            [range, depth] => (range, depth, None),
            [range, depth, side] => (range, depth, Some(side)),
            _ => return Err(wrong()),
        };
        let (from, to) = split_range(range, self.bare).ok_or_else(wrong)?;
        let side = match side.map(str::trim) {
            None | Some("both") => None,
            Some("left") => Some(SideName::Left),
            Some("right") => Some(SideName::Right),
            Some(_) => return Err(wrong()),
        };
        let name = |what: &str| format!("bands[{number}].{what}_mm");
        Ok(BandRecord {
            from_mm: self.length_mm(&name("from"), from)?,
            to_mm: self.length_mm(&name("to"), to)?,
            depth_mm: self.length_mm(&name("depth"), depth)?,
            side,
        })
    }

    /// "235:9.1", several.
    pub(super) fn caliper(&mut self, spots: &[String]) -> Result<CaliperRecord, Refused> {
        let mut record = CaliperRecord { x_mm: Vec::new(), thickness_mm: Vec::new() };
        for (number, spot) in spots.iter().enumerate() {
            let [x, thickness] = self.list(&format!("spots[{number}]"), spot, "place:thickness, e.g. 235:9.1")?;
            record.x_mm.push(x);
            record.thickness_mm.push(thickness);
        }
        Ok(record)
    }

    /// "105:109" or "105:107:109".
    pub(super) fn node_line(&mut self, name: &str, text: &str) -> Result<NodeLine, Refused> {
        if text.split(':').count() == 2 {
            let [near_mm, far_mm] = self.list(name, text, "near:far, e.g. 105:109")?;
            return Ok(NodeLine { near_mm, centre_mm: None, far_mm });
        }
        let [near_mm, centre_mm, far_mm] = self.list(name, text, "near:centre:far, e.g. 105:107:109")?;
        Ok(NodeLine { near_mm, centre_mm: Some(centre_mm), far_mm })
    }

    /// "87:90:11".
    pub(super) fn hole(&mut self, number: usize, text: &str) -> Result<HoleRecord, Refused> {
        let form = "near:far:below-top, e.g. 87:90:11";
        let [near_mm, far_mm, below_top_mm] = self.list(&format!("holes[{number}]"), text, form)?;
        Ok(HoleRecord { near_mm, far_mm, below_top_mm })
    }

    fn list<const N: usize>(&mut self, name: &str, text: &str, form: &str) -> Result<[f64; N], Refused> {
        let parts: Vec<&str> = text.split(':').collect();
        if parts.len() != N {
            return Err(Refused::new("wrong_values", format!("\"{text}\" is not understood"), format!("write {form}")));
        }
        let mut values = [0.0; N];
        for (number, (value, part)) in values.iter_mut().zip(parts).enumerate() {
            *value = self.length_mm(&format!("{name}[{number}]"), part)?;
        }
        Ok(values)
    }
}

/// "0-60" at the first hyphen that leaves a length on both sides: "1-1/2 in-3 in" has three.
fn split_range(text: &str, bare: LengthUnit) -> Option<(&str, &str)> {
    let is_length = |text: &str| Length::parse(text, bare).is_ok();
    let hyphens = text.match_indices(['-', '–']);
    hyphens.map(|(at, hyphen)| (&text[..at], &text[at + hyphen.len()..])).find(|(a, b)| is_length(a) && is_length(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_are_read_as_they_are_said() {
        let mut values = Values::default();
        let band = values.band(0, "0-60:1.2").unwrap();
        assert_eq!(band, BandRecord { from_mm: 0.0, to_mm: 60.0, depth_mm: 1.2, side: None });
        let band = values.band(1, "1/2 in–3 in:1/64 in:left").unwrap();
        assert_eq!((band.from_mm, band.to_mm, band.depth_mm), (12.7, 76.2, 0.396_875));
        assert_eq!(band.side, Some(SideName::Left));
        assert_eq!(values.entered["bands[1].depth_mm"], "1/64 in");
        assert_eq!(values.entered.len(), 3, "plain millimetres need no second spelling");
        for text in ["", "60:1.2", "0-60", "0-60:1.2:up", "a-b:1", "0-60:1:left:x"] {
            assert!(values.band(0, text).is_err(), "{text}");
        }
    }
}
