//! Each note's tube.
use super::fold::{Fold, fold};
use crate::error::{MakingError, in_range};
use bar_physics::air::{AirError, Mouth, StoppedTube, sound_speed_m_s};
use std::f64::consts::PI;
use words::{figure, tell};

/// A bar that a tube serves.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// Its name.
    pub name: String,
    /// Its pitch at the reference climate.
    pub hz: f64,
    /// Its middle along the frame.
    pub centre_x_m: f64,
    /// Whether it belongs to the accidentals' bank.
    pub upper: bool,
}

/// What is asked of all tubes.
#[derive(Debug, Clone, PartialEq)]
pub struct Bank {
    /// Temperature at which the bars are tuned, in °C.
    pub temperature_c: f64,
    /// Relative humidity then, in percent.
    pub humidity_percent: f64,
    /// Least and most temperature at which it is played.
    pub played_c: [f64; 2],
    /// How much the bars rise with temperature, in cents a degree; negative: they fall.
    pub bar_cents_per_c: f64,
    /// Cents by which the tubes stand off their bars on purpose; 0 is loudest and shortest.
    pub offset_cents: f64,
    /// What the bar over the mouth adds to the free end's correction, in inner radii: a shop's fitted value ([`super::fit_mouth`]), 0
    /// without one.
    pub under_bar_radii: f64,
    /// Thickness of the wall.
    pub wall_m: f64,
    /// How much wider than the tube a cap is, on each side.
    pub cap_m: f64,
    /// Wood or metal beyond the stopper's face: stopper and margin.
    pub beyond_m: f64,
    /// Room under the bars for straight tubes; longer ones are folded.
    pub room_m: f64,
    /// Density of what the tubes are made of.
    pub density_kg_m3: f64,
}

impl Bank {
    /// The tube of that inner diameter under a bar.
    pub fn tube(&self, diameter_m: f64) -> StoppedTube {
        let radius_m = 0.5 * diameter_m;
        StoppedTube { radius_m, mouth: Mouth::Unflanged, under_bar_m: self.under_bar_radii * radius_m }
    }

    /// Outer diameter over the cap.
    pub fn outer_m(&self, diameter_m: f64) -> f64 {
        diameter_m + 2.0 * (self.wall_m + self.cap_m)
    }
}

impl Default for Bank {
    fn default() -> Self {
        Self {
            temperature_c: 22.0,
            humidity_percent: 45.0,
            played_c: [16.0, 28.0],
            // Generic clear wood and one rosewood bar between them, as `bar_physics::woods::climate::temperature_drift_cents`.
            bar_cents_per_c: -1.5,
            offset_cents: 0.0,
            under_bar_radii: 0.0,
            // A common drawn tube, a push-on cap, a stopper of 15 mm and a margin of 15 mm (from memory: 10 to 25).
            wall_m: 1.5e-3,
            cap_m: 1.0e-3,
            beyond_m: 30e-3,
            // Players' height 860–1000 mm less bars, frame and floor (from memory).
            room_m: 0.75,
            // Aluminium (any handbook).
            density_kg_m3: 2700.0,
        }
    }
}

/// One tube.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedTube {
    /// Its bar's name.
    pub name: String,
    /// Inner diameter.
    pub diameter_m: f64,
    /// From the mouth to the stopper's face at the reference climate.
    pub stopper_m: f64,
    /// The same at the least and the most temperature, if the tube is to keep its pitch.
    pub keeping_m: [f64; 2],
    /// The same if it is to follow its bar.
    pub following_m: [f64; 2],
    /// Cents for a millimetre of the stopper towards the mouth.
    pub cents_per_mm: f64,
    /// Length to cut: the longest place of the stopper, and what lies beyond its face.
    pub cut_m: f64,
    /// How it is folded, if it is longer than the room under the bars.
    pub fold: Option<Fold>,
    /// Mass of its wall.
    pub mass_kg: f64,
    /// Whether it belongs to the accidentals' bank.
    pub upper: bool,
    /// Its middle along the frame.
    pub centre_x_m: f64,
}

/// All tubes, bass to treble.
#[derive(Debug, Clone, PartialEq)]
pub struct Tubes {
    /// The tubes.
    pub tubes: Vec<PlannedTube>,
    /// Speed of sound at the reference climate.
    pub sound_m_s: f64,
    /// What the maker must look at.
    pub warnings: Vec<String>,
}

/// Inner diameters of common tubes: frequency, metres (TRADE 1.16, from memory).
const DIAMETERS: [(f64, f64); 6] =
    [(65.41, 0.075), (130.81, 0.064), (261.63, 0.051), (523.25, 0.044), (1046.5, 0.040), (2093.0, 0.038)];

/// Inner diameter of a common tube for a pitch, about as wide as its bar (from memory): linear over the logarithm of the frequency.
pub fn usual_diameter_m(hz: f64) -> f64 {
    let (first, last) = (DIAMETERS[0], DIAMETERS[DIAMETERS.len() - 1]);
    match DIAMETERS.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&hz)) {
        Some([low, high]) => low.1 + (high.1 - low.1) * (hz / low.0).ln() / (high.0 / low.0).ln(),
        _ if hz < first.0 => first.1,
        // Beyond the table a tube as wide would no longer be narrow against the wave: it narrows with it.
        _ => last.1 * last.0 / hz,
    }
}

/// The tubes of all notes, `diameter_m` being the inner diameter at a pitch.
///
/// # Errors
/// `out_of_range` with value, limit and next step; `tube_too_wide`.
pub fn tubes(notes: &[Note], bank: &Bank, diameter_m: impl Fn(f64) -> f64) -> Result<Tubes, MakingError> {
    check(bank)?;
    let sound =
        |temperature_c: f64| sound_speed_m_s(temperature_c, bank.humidity_percent).map_err(|e| refused("the air", &e));
    let reference = sound(bank.temperature_c)?;
    let played = [sound(bank.played_c[0])?, sound(bank.played_c[1])?];
    let planned: Vec<PlannedTube> =
        notes.iter().map(|note| tube(note, bank, diameter_m(note.hz), reference, played)).collect::<Result<_, _>>()?;
    let warnings = warnings(notes, &planned, bank);
    Ok(Tubes { tubes: planned, sound_m_s: reference, warnings })
}

fn tube(
    note: &Note,
    bank: &Bank,
    diameter_m: f64,
    reference: f64,
    played: [f64; 2],
) -> Result<PlannedTube, MakingError> {
    let tube = bank.tube(diameter_m);
    let raised = |cents: f64| note.hz * (cents / 1200.0).exp2();
    let length =
        |cents: f64, sound: f64| tube.length_m(raised(cents), sound).map_err(|error| refused(&note.name, &error));
    let stopper_m = length(bank.offset_cents, reference)?;
    let (mut keeping_m, mut following_m) = ([0.0; 2], [0.0; 2]);
    for i in 0..2 {
        let drift = bank.bar_cents_per_c * (bank.played_c[i] - bank.temperature_c);
        keeping_m[i] = length(bank.offset_cents, played[i])?;
        following_m[i] = length(bank.offset_cents + drift, played[i])?;
    }
    let longest_m = keeping_m.into_iter().chain(following_m).fold(stopper_m, f64::max);
    let cut_m = longest_m + bank.beyond_m;
    Ok(PlannedTube {
        name: note.name.clone(),
        diameter_m,
        stopper_m,
        keeping_m,
        following_m,
        cents_per_mm: tube.cents_per_m(note.hz, reference).map_err(|error| refused(&note.name, &error))? * 1e-3,
        cut_m,
        fold: if cut_m > bank.room_m { Some(fold(cut_m, diameter_m + 2.0 * bank.wall_m, bank.room_m)?) } else { None },
        mass_kg: PI * (diameter_m + bank.wall_m) * bank.wall_m * cut_m * bank.density_kg_m3,
        upper: note.upper,
        centre_x_m: note.centre_x_m,
    })
}

pub(super) fn refused(name: &str, error: &AirError) -> MakingError {
    match error {
        AirError::TooWide { .. } => {
            MakingError::new("tube_too_wide", format!("{name}: {error}"), "choose a narrower tube")
        }
        AirError::OutOfRange { .. } => {
            MakingError::new("out_of_range", format!("{name}: {error}"), "check the value and its unit")
        }
    }
}

fn check(bank: &Bank) -> Result<(), MakingError> {
    let room = "give the room's, e.g. 22";
    in_range("the temperature", bank.temperature_c, 0.0, 45.0, "°C", room)?;
    in_range("the humidity", bank.humidity_percent, 0.0, 100.0, "%", "give the room's, e.g. 45")?;
    in_range(
        "the least temperature played at",
        bank.played_c[0],
        0.0,
        bank.temperature_c,
        "°C",
        "it lies below the reference",
    )?;
    in_range(
        "the most temperature played at",
        bank.played_c[1],
        bank.temperature_c,
        45.0,
        "°C",
        "it lies above the reference",
    )?;
    in_range("the bars' drift", bank.bar_cents_per_c, -10.0, 10.0, "cents a degree", "−1 to −2 is usual")?;
    in_range("the tubes' offset", bank.offset_cents, -100.0, 100.0, "cents", "0 is loudest and shortest")?;
    in_range("the wall", bank.wall_m * 1e3, 0.2, 20.0, "mm", "measure a tube")?;
    in_range("the cap", bank.cap_m * 1e3, 0.0, 20.0, "mm", "measure how far it stands out on each side")?;
    in_range(
        "what lies beyond the stopper",
        bank.beyond_m * 1e3,
        0.0,
        300.0,
        "mm",
        "a stopper and 10 to 25 mm of margin",
    )?;
    in_range("what the bar adds", bank.under_bar_radii, -1.0, 3.0, "inner radii", "0 without your own fitted value")?;
    in_range("the tubes' density", bank.density_kg_m3, 500.0, 12_000.0, "kg/m³", "2700 for aluminium, 8500 for brass")?;
    in_range(
        "the room under the bars",
        bank.room_m * 1e3,
        100.0,
        2000.0,
        "mm",
        "from the bars to the floor, less feet and wheels",
    )
}

/// Caps that would touch their neighbours', and tubes that need folding.
fn warnings(notes: &[Note], tubes: &[PlannedTube], bank: &Bank) -> Vec<String> {
    let outer_m = |tube: &PlannedTube| bank.outer_m(tube.diameter_m);
    let mut out = Vec::new();
    for upper in [false, true] {
        let mut row: Vec<(&Note, &PlannedTube)> =
            notes.iter().zip(tubes).filter(|(note, _)| note.upper == upper).collect();
        row.sort_by(|a, b| a.0.centre_x_m.total_cmp(&b.0.centre_x_m));
        for pair in row.windows(2) {
            let ((a, a_tube), (b, b_tube)) = (pair[0], pair[1]);
            let room_m = b.centre_x_m - a.centre_x_m - 0.5 * (outer_m(a_tube) + outer_m(b_tube));
            if room_m < 0.0 {
                out.push(tell!(
                    "tubes-caps",
                    a = words::note(&a.name),
                    b = words::note(&b.name),
                    mm = figure(-room_m * 1e3, 1),
                ));
            }
        }
    }
    let folded: Vec<&str> = tubes.iter().filter(|tube| tube.fold.is_some()).map(|tube| tube.name.as_str()).collect();
    if let (Some(first), Some(last)) = (folded.first(), folded.last()) {
        let which = if first == last {
            words::note(first)
        } else {
            tell!("from-to-notes", first = words::note(first), last = words::note(last))
        };
        out.push(tell!("tubes-fold", which = which, mm = figure(bank.room_m * 1e3, 0)));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(name: &str, hz: f64) -> Note {
        Note { name: name.to_owned(), hz, centre_x_m: 0.0, upper: false }
    }

    /// C2 to C7 at A4 = 442 Hz, as the trade's own table has them.
    fn octaves() -> Vec<Note> {
        let hz = |i: i32| 442.0 * (f64::from(12 * i - 33) / 12.0).exp2();
        (0..6).map(|i| Note { centre_x_m: 0.4 * f64::from(i), ..note(&format!("C{}", i + 2), hz(i)) }).collect()
    }

    #[test]
    fn stoppers_stand_and_travel_as_in_the_trades_table() {
        // TRADE 1.16: A442, 0.613 r, 331.3·√(1 + T/273.15): stopper at 20 °C and travel from 16 to 28 °C.
        let expected = [(1283.0, 26.6), (633.0, 13.3), (311.0, 6.7), (149.8, 3.3), (69.4, 1.7), (29.2, 0.8)];
        let bank = Bank { temperature_c: 20.0, humidity_percent: 0.0, bar_cents_per_c: -2.0, ..Bank::default() };
        let found = tubes(&octaves(), &bank, usual_diameter_m).unwrap();
        for (tube, (stopper_mm, travel_mm)) in found.tubes.iter().zip(expected) {
            // Dry air by another formula (0.04 %), the end correction's fall with pitch (up to 0.06 r), and the table's own rounding.
            let near_mm = 0.0005 * stopper_mm + 0.06 * 0.5e3 * tube.diameter_m + 0.5;
            assert!((tube.stopper_m * 1e3 - stopper_mm).abs() < near_mm, "{tube:?}");
            assert!(
                ((tube.keeping_m[1] - tube.keeping_m[0]) * 1e3 - travel_mm).abs() < 0.02 * travel_mm + 0.05,
                "{tube:?}"
            );
            // "To follow the bar (−2 cents/°C): about 1.7 times as much."
            let more = (tube.following_m[1] - tube.following_m[0]) / (tube.keeping_m[1] - tube.keeping_m[0]);
            assert!((more - 1.7).abs() < 0.1, "{tube:?} {more}");
        }
        let cents: Vec<f64> = found.tubes.iter().map(|tube| tube.cents_per_mm).collect();
        for (found, expected) in cents.iter().zip([1.3, 2.6, 5.3, 10.6, 21.0, 42.0]) {
            // The table leaves the end correction's fall with pitch out: 6 % at C7.
            assert!((found / expected - 1.0).abs() < 0.07, "{cents:?}");
        }
        assert!(
            found.tubes[0].fold.is_some() && found.tubes[2].fold.is_none() && found.warnings[0].contains("fold"),
            "{:?}",
            found.warnings
        );
    }

    #[test]
    fn caps_that_would_touch_are_told_and_wrong_wishes_refused() {
        let near = [note("C4", 262.0), Note { centre_x_m: 0.052, ..note("D4", 294.0) }];
        let told = tubes(&near, &Bank::default(), usual_diameter_m).unwrap();
        assert!(told.warnings[0].contains("caps of C4 and D4"), "{:?}", told.warnings);
        // The other bank's tubes hang elsewhere.
        let apart = [near[0].clone(), Note { upper: true, ..near[1].clone() }];
        assert!(tubes(&apart, &Bank::default(), usual_diameter_m).unwrap().warnings.is_empty());
        let code = |bank: &Bank| tubes(&near, bank, usual_diameter_m).unwrap_err().code;
        assert_eq!(code(&Bank { temperature_c: f64::NAN, ..Bank::default() }), "out_of_range");
        assert_eq!(code(&Bank { played_c: [25.0, 28.0], ..Bank::default() }), "out_of_range");
        let wide = tubes(&[note("C7", 2093.0)], &Bank::default(), |_| 0.2).unwrap_err();
        assert_eq!(wide.code, "tube_too_wide");
    }
}
