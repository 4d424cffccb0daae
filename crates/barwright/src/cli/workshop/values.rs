//! Lengths, bands and places as they are written on the command line.
use crate::error::Refused;
use records::workshop::{BoardDefectRecord, HoleRecord, NodeLine};
use records::{BandRecord, CaliperRecord, HeardHz, HeardRecord, Length, LengthUnit, ShapedRecord, SideName};
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
        // What the number itself prints needs no second spelling; 12.70 and 12,7 do.
        if length.entered != length.mm.to_string() || self.bare == LengthUnit::Inch {
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

    /// "800-900:0-60:knot".
    pub(super) fn defect(&mut self, number: usize, text: &str) -> Result<BoardDefectRecord, Refused> {
        let wrong = || {
            let hint = "write from-to:near-far:what, from the left end and the near edge, e.g. 800-900:0-60:knot";
            Refused::new("wrong_defect", format!("\"{text}\" is no place of a board"), hint)
        };
        let [along, across, what] = text.splitn(3, ':').collect::<Vec<_>>().try_into().map_err(|_| wrong())?;
        let ((from, to), (near, far)) =
            split_range(along, self.bare).zip(split_range(across, self.bare)).ok_or_else(wrong)?;
        let name = |what: &str| format!("defects[{number}].{what}_mm");
        let defect = BoardDefectRecord {
            from_mm: self.length_mm(&name("from"), from)?,
            to_mm: self.length_mm(&name("to"), to)?,
            near_mm: self.length_mm(&name("near"), near)?,
            far_mm: self.length_mm(&name("far"), far)?,
            what: what.trim().to_owned(),
        };
        let rises = defect.from_mm < defect.to_mm && defect.near_mm < defect.far_mm;
        if rises && !defect.what.is_empty() { Ok(defect) } else { Err(wrong()) }
    }

    /// "235:9.1", several.
    pub(super) fn caliper(&mut self, spots: &[String]) -> Result<CaliperRecord, Refused> {
        let (x_mm, thickness_mm) = self.places("spots", spots)?;
        Ok(CaliperRecord { x_mm, thickness_mm })
    }

    /// A whole profile, "0:23" "235:9.1" …
    pub(super) fn shaped(
        &mut self,
        stations: &[String],
        kinks: &[String],
        sigma: Option<&str>,
    ) -> Result<ShapedRecord, Refused> {
        let (x_mm, thickness_mm) = self.places("stations", stations)?;
        let kinks = kinks.iter().enumerate().map(|(number, text)| self.length_mm(&format!("kinks[{number}]"), text));
        let kinks = kinks.collect::<Result<Vec<f64>, Refused>>()?;
        let sigma_mm = self.optional_mm("sigma_mm", sigma)?;
        Ok(ShapedRecord { x_mm, thickness_mm, kinks_mm: (!kinks.is_empty()).then_some(kinks), sigma_mm })
    }

    fn places(&mut self, name: &str, texts: &[String]) -> Result<(Vec<f64>, Vec<f64>), Refused> {
        let (mut x_mm, mut thickness_mm) = (Vec::new(), Vec::new());
        for (number, text) in texts.iter().enumerate() {
            let [x, thickness] = self.list(&format!("{name}[{number}]"), text, "place:thickness, e.g. 235:9.1")?;
            x_mm.push(x);
            thickness_mm.push(thickness);
        }
        Ok((x_mm, thickness_mm))
    }

    /// Frequencies in hertz as another instrument showed them, "-" for one it did not.
    pub(super) fn heard(
        bending: &[String],
        torsion: &[String],
        sigma_cents: Option<f64>,
        temperature_c: Option<f64>,
    ) -> Result<HeardRecord, Refused> {
        let list = |texts: &[String]| -> Result<Option<Vec<Option<f64>>>, Refused> {
            let list = texts.iter().map(|text| frequency(text)).collect::<Result<Vec<_>, Refused>>()?;
            Ok((!list.is_empty()).then_some(list))
        };
        let hz = HeardHz { bending: list(bending)?, torsion: list(torsion)? };
        Ok(HeardRecord { hz, sigma_cents, temperature_c })
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

/// "131.2", "131,2", or "-" for a mode that was not heard.
fn frequency(text: &str) -> Result<Option<f64>, Refused> {
    if matches!(text.trim(), "-" | "–") {
        return Ok(None);
    }
    text.trim().replace(',', ".").parse::<f64>().map(Some).map_err(|_| {
        Refused::new(
            "wrong_frequency",
            format!("\"{text}\" is no frequency"),
            "write hertz in figures, e.g. 131.2, or -",
        )
    })
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
