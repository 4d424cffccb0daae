//! The notes that tubes serve, from a plan or from the record, and what a tube that was struck or blown tells.
use crate::convert::mm;
use crate::error::Refused;
use crate::framing::Framed;
use crate::hearing::Recording;
use crate::report::tubes::{Answer, OffsetsOf, Stock};
use bar_physics::units::cents;
use making::frame::{LayoutBar, Row, lay_out};
use making::schedule::Specification;
use making::tubes::{
    Bank, Hanging, HeardTube, Note, Outline, PlannedTube, Rings, cut_tubes, hanging, offsets, tubes, usual_diameter_m,
};
use records::workshop::{Uid, Workshop};
use strike::{Context, Take};

/// Notes with the air at which their pitch is wanted, as far as that was said: (°C, %).
#[derive(Debug, Clone)]
pub(crate) struct TubeNotes {
    /// Bass to treble.
    pub(crate) notes: Vec<Note>,
    /// Temperature and humidity of the reference.
    pub(crate) reference: (Option<f64>, Option<f64>),
}

impl TubeNotes {
    /// Of a specification.
    pub(crate) fn of_plan(specification: &Specification) -> Result<Self, Refused> {
        let bars = specification.bars()?;
        let to_lay: Vec<LayoutBar> = bars
            .iter()
            .map(|bar| LayoutBar { name: bar.name.clone(), semitone: bar.midi, width_m: bar.width_m })
            .collect();
        let layout = lay_out(&to_lay, specification.gap, specification.one_row)?;
        let note = |(bar, place): (&making::schedule::WantedBar, &making::frame::Place)| Note {
            name: bar.name.clone(),
            hz: bar.hz,
            centre_x_m: place.centre_x_m,
            upper: place.row == Row::Accidental,
        };
        let notes = bars.iter().zip(&layout.places).map(note).collect();
        let reference = (Some(specification.temperature_c), Some(specification.humidity_percent));
        Ok(Self { notes, reference })
    }

    /// Of an instrument of the record: the bars that have their notes, in equal temperament over its A4.
    pub(crate) fn of_record(workshop: &Workshop, instrument: Uid, name: &str) -> Result<Self, Refused> {
        let framed = Framed::of_record(workshop, instrument, name)?;
        let order = workshop.order(instrument)?;
        let to_lay: Vec<LayoutBar> = framed
            .rows
            .iter()
            .map(|row| LayoutBar {
                name: row.note.to_string(),
                semitone: row.note.semitones_above_a4() + making::schedule::A4,
                width_m: mm(row.width_mm),
            })
            .collect();
        let gap = making::frame::Gap { between_m: mm(framed.plan.gap_mm) };
        let layout = lay_out(&to_lay, gap, framed.plan.one_row)?;
        let note = |(row, place): (&crate::framing::NodeRow, &making::frame::Place)| Note {
            name: row.note.to_string(),
            hz: row.note.hz(order.a4_hz),
            centre_x_m: place.centre_x_m,
            upper: place.row == Row::Accidental,
        };
        let notes = framed.rows.iter().zip(&layout.places).map(note).collect();
        let air = order.reference;
        Ok(Self { notes, reference: (air.and_then(|air| air.temperature_c), air.and_then(|air| air.humidity_pct)) })
    }
}

/// Farther than this from what the tube should sound, a tone is not the tube's.
const NEAR_CENTS: f64 = 400.0;
/// A tapped or blown tube sounds within so many cents of its free tone (a guess, no source): the tap's cap gives way, a breath pulls.
const STRUCK_TUBE_CENTS: f64 = 3.0;

/// The lowest tone of a tube in a recording of taps on its cap, or of breath over its mouth.
///
/// # Errors
/// [`Refused`] `no_tube_heard` where nothing rings near `expected_hz`; as [`strike::listen`].
pub(crate) fn hear_tube(
    recording: &Recording,
    expected_hz: f64,
    temperature_c: f64,
    tube: &PlannedTube,
) -> Result<HeardTube, Refused> {
    let takes: Vec<Take<'_>> = recording.parts.iter().map(crate::audio::Part::take).collect();
    let heard = strike::listen(&takes, &Context::default())?;
    let modes = heard.modes.iter().map(|mode| (mode.hz, mode.sigma_cents, mode.level_db));
    let others = heard.other.iter().map(|tone| (tone.hz, tone.sigma_cents, tone.level_db));
    let near = modes.chain(others).filter(|(hz, _, _)| cents(*hz, expected_hz).abs() < NEAR_CENTS);
    match near.max_by(|a, b| a.2.total_cmp(&b.2)) {
        Some((hz, sigma_cents, _)) => {
            Ok(HeardTube { hz, sigma_cents: sigma_cents.hypot(STRUCK_TUBE_CENTS), temperature_c })
        }
        None => Err(Refused::new(
            "no_tube_heard",
            format!("nothing rings within {NEAR_CENTS} cents of the {expected_hz:.1} Hz of {}'s tube", tube.name),
            "tap the cap with a knuckle, the microphone a hand's width from the mouth, no bar over it",
        )),
    }
}

/// What is wished of all tubes.
#[derive(Debug, Clone)]
pub(crate) struct TubeWishes {
    /// Climate, walls, room.
    pub(crate) bank: Bank,
    /// Inner diameters that can be bought, in metres.
    pub(crate) sizes_m: Vec<f64>,
    /// Length of a stock tube, in metres.
    pub(crate) stock_m: f64,
    /// Width of the saw's cut, in metres.
    pub(crate) kerf_m: f64,
    /// How the lower ends run.
    pub(crate) outline: Outline,
    /// How long a bar of the shop rings without and over its tube in tune; the published ones if missing.
    pub(crate) rings_s: Option<[f64; 2]>,
}

impl Default for TubeWishes {
    fn default() -> Self {
        Self {
            bank: Bank::default(),
            // Common inner diameters, from memory; a dealer's are taken instead.
            sizes_m: [75.0, 64.0, 51.0, 44.0, 40.0, 38.0, 32.0, 25.0].map(mm).to_vec(),
            // Lengths that dealers sell: 3 m, from memory; a metal saw's cut.
            stock_m: 3.0,
            kerf_m: 0.002,
            outline: Outline::AsCut,
            rings_s: None,
        }
    }
}

/// Offsets whose trade-off is shown, in cents.
const OFFSETS_CENTS: [f64; 6] = [0.0, 3.0, 5.0, 10.0, 20.0, 40.0];

impl TubeWishes {
    /// Of the sizes that can be bought the one nearest to the usual for a pitch.
    fn diameter_m(&self, hz: f64) -> f64 {
        let usual_m = usual_diameter_m(hz);
        let nearest = self.sizes_m.iter().copied().min_by(|a, b| (a - usual_m).abs().total_cmp(&(b - usual_m).abs()));
        nearest.unwrap_or(usual_m)
    }

    /// The tubes of these notes and all that follows.
    pub(crate) fn answer(&self, notes: &[Note]) -> Result<Answer, Refused> {
        for size_m in &self.sizes_m {
            if !(0.005..=0.2).contains(size_m) {
                let message = format!("an inner diameter of {} mm is no tube's here", size_m * 1e3);
                return Err(Refused::new("out_of_range", message, "give inner diameters between 5 and 200 mm"));
            }
        }
        let tubes = tubes(notes, &self.bank, |hz| self.diameter_m(hz))?;
        let hanging = hanging(&tubes.tubes, &self.bank, self.outline);
        let stock = self.stock(&tubes.tubes, &hanging)?;
        let offsets = self.offsets(notes, tubes.sound_m_s)?;
        Ok(Answer { bank: self.bank.clone(), tubes, hanging, stock, stock_m: self.stock_m, offsets })
    }

    /// Each diameter's lengths out of stock tubes; a folded tube is bought in its parts with its bend.
    fn stock(&self, tubes: &[PlannedTube], hanging: &[Hanging]) -> Result<Vec<Stock>, Refused> {
        let mut sizes_m: Vec<f64> = tubes.iter().map(|tube| tube.diameter_m).collect();
        sizes_m.sort_by(|a, b| b.total_cmp(a));
        sizes_m.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let mut all = Vec::new();
        for diameter_m in sizes_m {
            let (mut names, mut lengths_m) = (Vec::new(), Vec::new());
            for tube in tubes.iter().filter(|tube| (tube.diameter_m - diameter_m).abs() < 1e-9) {
                let looks_m = hanging.iter().find(|h| h.name.as_ref() == Some(&tube.name)).map_or(0.0, |h| h.length_m);
                match tube.fold {
                    None => {
                        names.push(tube.name.clone());
                        lengths_m.push(tube.cut_m.max(looks_m));
                    }
                    Some(fold) => {
                        let legs = [("down", fold.down_m), ("up", fold.up_m)];
                        for (word, length_m) in legs.into_iter().filter(|(_, m)| *m > 1e-6) {
                            names.push(format!("{} {word}", tube.name));
                            lengths_m.push(length_m);
                        }
                    }
                }
            }
            let (cuts, least) = cut_tubes(&lengths_m, self.stock_m, self.kerf_m)?;
            all.push(Stock { diameter_m, names, cuts, least });
        }
        Ok(all)
    }

    /// For the lowest note, one in the middle and the highest; a note whose tube and rings cannot go together is left out.
    fn offsets(&self, notes: &[Note], sound_m_s: f64) -> Result<Vec<OffsetsOf>, Refused> {
        let mut at = vec![0, notes.len() / 2, notes.len().saturating_sub(1)];
        at.dedup();
        let (mut all, mut refused) = (Vec::new(), None);
        for note in at.into_iter().filter_map(|i| notes.get(i)) {
            let rings = self.rings_s.map_or_else(
                || Rings::usual(note.hz),
                |[without_s, in_tune_s]| Rings { without_s, in_tune_s, measured: true },
            );
            let diameter_m = self.diameter_m(note.hz);
            match offsets(note.hz, diameter_m, sound_m_s, (&self.bank, rings), &OFFSETS_CENTS) {
                Ok(offsets) => all.push(OffsetsOf { name: note.name.clone(), rings, offsets }),
                Err(error) => refused = Some(format!("{}: {error}", note.name)),
            }
        }
        match refused {
            // Rings that the maker gave and that fit no note are his to correct; the published ones need not fit every tube.
            Some(message) if all.is_empty() && self.rings_s.is_some() => {
                let hint = "give the seconds until the bar has died away by 60 dB, without and with its tube";
                Err(Refused::new("out_of_range", message, hint))
            }
            _ => Ok(all),
        }
    }
}
