//! What the instrument shall be.
use super::bar::WantedBar;
use super::law::{Law, Size, between};
use super::note::{A4, note_name};
use crate::error::{MakingError, in_range};
use crate::frame::{Gap, Row, row_of};
use bar_physics::Wood;
use bar_physics::units::shifted;

/// Bars up to a note, and the ratios their modes are tuned to.
#[derive(Debug, Clone, PartialEq)]
pub struct ModeRange {
    /// The highest note of the range, as a MIDI number.
    pub up_to: i32,
    /// Ratios of bending modes 1, 2, … to the note; one to three.
    pub ratios: Vec<f64>,
}

/// Everything a plan is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Specification {
    /// Lowest note as a MIDI number (C4 is 60).
    pub lowest: i32,
    /// Highest note as a MIDI number.
    pub highest: i32,
    /// All bars in one row.
    pub one_row: bool,
    /// Frequency of A4 (ISO 16: 440 Hz).
    pub a4_hz: f64,
    /// Temperature at which the pitch shall be right.
    pub temperature_c: f64,
    /// Relative humidity at which the pitch shall be right.
    pub humidity_percent: f64,
    /// Cents of C, C♯, … B above equal temperament.
    pub temperament_cents: [f64; 12],
    /// (MIDI number, cents), rising; linear between, the nearest end's beyond; empty for none.
    pub stretch: Vec<(i32, f64)>,
    /// Tuned modes, lowest range first; the last must reach the highest note.
    pub modes: Vec<ModeRange>,
    /// Law of the lengths.
    pub length: Law,
    /// Law of the widths.
    pub width: Law,
    /// Law of the thicknesses.
    pub thickness: Law,
    /// Space between bars of a row.
    pub gap: Gap,
    /// The wood.
    pub wood: Wood,
    /// Thinnest wood anywhere under the top face.
    pub min_thickness_m: f64,
    /// Longest bar the blanks at hand allow.
    pub longest_blank_m: Option<f64>,
    /// Longest row that still fits (van, stage).
    pub most_overall_m: Option<f64>,
}

impl Specification {
    /// Frequency of a note: equal temperament (ISO 16), then the temperament's and the stretch's cents.
    pub fn hz(&self, midi: i32) -> f64 {
        let equal_hz = self.a4_hz * (f64::from(midi - A4) / 12.0).exp2();
        let from_c = midi.rem_euclid(12) as usize;
        shifted(equal_hz, self.temperament_cents[from_c] + self.stretch_cents(midi))
    }

    fn stretch_cents(&self, midi: i32) -> f64 {
        between(&self.stretch, midi)
    }

    /// What each bar shall be, bass to treble.
    ///
    /// A bar that its law makes longer than the longest blank is wanted as long as that blank; [`WantedBar::law_length_m`]
    /// keeps the law's.
    ///
    /// # Errors
    /// `out_of_range` with value, limit and next step; `no_modes` for a note without tuned modes.
    pub fn bars(&self) -> Result<Vec<WantedBar>, MakingError> {
        self.check()?;
        let naturals: Vec<i32> = (self.lowest..=self.highest).filter(|m| self.row(*m) == Row::Natural).collect();
        (self.lowest..=self.highest).map(|midi| self.bar(midi, &naturals)).collect()
    }

    fn row(&self, midi: i32) -> Row {
        if self.one_row { Row::Natural } else { row_of(midi) }
    }

    fn bar(&self, midi: i32, naturals: &[i32]) -> Result<WantedBar, MakingError> {
        let row = self.row(midi);
        // An accidental lies over its natural's gap and shares that natural's step, half a place on.
        let below = naturals.partition_point(|note| *note <= midi).saturating_sub(1);
        let place = below as f64 + if row == Row::Accidental { 0.5 } else { 0.0 };
        let share = (place / (naturals.len().max(2) - 1) as f64).min(1.0);
        let step_note = if row == Row::Accidental { naturals.get(below).copied().unwrap_or(midi) } else { midi };
        let size = |law: &Law, which| {
            let note = if matches!(law, Law::Stepped(..)) { step_note } else { midi };
            law.at(which, note, share, naturals)
        };
        let law_length_m = size(&self.length, Size::Length);
        let range = self.modes.iter().find(|range| midi <= range.up_to);
        let ratios = range.map(|range| range.ratios.clone()).ok_or_else(|| {
            let message = format!("no tuned modes are given for {}", note_name(midi));
            MakingError::new("no_modes", message, "let the last range of modes reach the highest note")
        })?;
        let bar = WantedBar {
            midi,
            name: note_name(midi),
            row,
            hz: self.hz(midi),
            length_m: self.longest_blank_m.map_or(law_length_m, |longest_m| law_length_m.min(longest_m)),
            law_length_m,
            width_m: size(&self.width, Size::Width),
            thickness_m: size(&self.thickness, Size::Thickness),
            ratios,
        };
        let hint = "change the law of this size";
        in_range(&format!("the length of {}", bar.name), bar.length_m * 1e3, 60.0, 1500.0, "mm", hint)?;
        in_range(&format!("the width of {}", bar.name), bar.width_m * 1e3, 15.0, 150.0, "mm", hint)?;
        in_range(&format!("the thickness of {}", bar.name), bar.thickness_m * 1e3, 8.0, 60.0, "mm", hint)?;
        Ok(bar)
    }

    fn check(&self) -> Result<(), MakingError> {
        let bars = f64::from(self.highest - self.lowest + 1);
        in_range(
            "the number of bars",
            bars,
            2.0,
            96.0,
            "bars",
            "the highest note must lie above the lowest, at most 8 octaves",
        )?;
        in_range("the lowest note", f64::from(self.lowest), 24.0, 108.0, "(MIDI)", "C1 is the lowest planned")?;
        in_range("the highest note", f64::from(self.highest), 24.0, 108.0, "(MIDI)", "C8 is the highest planned")?;
        in_range("the pitch of A4", self.a4_hz, 400.0, 480.0, "Hz", "440 is ISO 16; many are ordered at 442")?;
        in_range("the temperature", self.temperature_c, 0.0, 45.0, "°C", "give the room's, e.g. 22")?;
        in_range("the humidity", self.humidity_percent, 5.0, 95.0, "%", "give the room's, e.g. 45")?;
        in_range("the gap", self.gap.between_m * 1e3, 0.0, 100.0, "mm", "12.7 mm is common practice")?;
        for cents in self.temperament_cents.iter().chain(self.stretch.iter().map(|(_, cents)| cents)) {
            in_range("an offset of temperament or stretch", *cents, -100.0, 100.0, "cents", "check the table")?;
        }
        rising("the stretch", &self.stretch)?;
        for (law, what) in [(&self.length, "lengths"), (&self.width, "widths"), (&self.thickness, "thicknesses")] {
            if let Law::Listed(sizes) = law {
                let hint = "list a size for one note at least, or use another law";
                in_range(&format!("the number of listed {what}"), sizes.len() as f64, 1.0, 128.0, "notes", hint)?;
                rising(&format!("the list of {what}"), sizes)?;
            }
        }
        if !self.one_row && row_of(self.lowest) == Row::Accidental {
            let message = format!("the lowest note is {}, an accidental", note_name(self.lowest));
            return Err(MakingError::new("out_of_range", message, "begin at a natural, or lay all bars in one row"));
        }
        if let Some(longest_m) = self.longest_blank_m {
            in_range("the longest blank", longest_m * 1e3, 60.0, 3000.0, "mm", "give it in millimetres")?;
        }
        Ok(())
    }
}

/// Notes in rising order, each once.
fn rising(what: &str, values: &[(i32, f64)]) -> Result<(), MakingError> {
    let Some(pair) = values.windows(2).find(|pair| pair[1].0 <= pair[0].0) else { return Ok(()) };
    let message = format!("in {what} {} follows {}", note_name(pair[1].0), note_name(pair[0].0));
    Err(MakingError::new("out_of_range", message, "give the notes in rising order, each once"))
}
