//! The invented maker does what the triage says, with a hand that is not exact.
use super::{InventedSet, normal};
use crate::convert::{self, rounded};
use crate::error::Refused;
use crate::retuning::{Back, Triage};
use making::Band;
use making::Side;
use making::fine::{Class, Stroke};
use making::retune::{Minutes, Work};
use records::TrimRecord;
use records::workshop::{Body, Entry};

/// What became of the set.
#[derive(Debug, Clone)]
pub struct Mended {
    /// The first triage.
    pub first: Triage,
    /// The last one.
    pub last: Triage,
    /// Cuts that were made.
    pub cuts: usize,
    /// Ends that were sawn, in pairs.
    pub trims: usize,
    /// Bars that were dried first.
    pub dried: usize,
}

/// The hand's depth over what was told: the standard deviation of its logarithm.
const HAND: f64 = 0.15;
/// More rounds than this and the maker gives up.
const MOST_ROUNDS: usize = 14;

impl InventedSet {
    /// Works through the triage until nothing is left to do, striking every worked bar again.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read or written.
    pub fn mend(&mut self, class: Class) -> Result<Mended, Refused> {
        let first = self.triage(class)?;
        let (mut cuts, mut trims, mut dried) = (0, 0, 0);
        let mut last = first.clone();
        for _ in 0..MOST_ROUNDS {
            let mut worked = false;
            for (i, bar) in last.bars.iter().enumerate() {
                match &bar.work {
                    Work::Lower(modes) => {
                        let Some(stroke) = modes.first().and_then(|mode| mode.stroke.as_ref().ok()) else { continue };
                        let left = modes.first().map_or(0.0, |mode| mode.by_cents);
                        // Half of what is left, as always near the end.
                        self.cut(i, stroke, if left > 6.0 { 0.7 } else { 0.5 })?;
                        (cuts, worked) = (cuts + 1, true);
                    }
                    Work::Trim(trim) => {
                        self.trim(i, trim.each_end_m)?;
                        (trims, worked) = (trims + 1, true);
                    }
                    Work::DryFirst(_) => {
                        // Weeks in the shop's air.
                        self.bars[i].damp_percent = -0.3;
                        (dried, worked) = (dried + 1, true);
                    }
                    _ => {}
                }
            }
            if !worked {
                break;
            }
            self.now += jiff::SignedDuration::from_hours(24);
            self.weigh_all()?;
            self.hear_all(21.5, false)?;
            last = self.triage(class)?;
        }
        Ok(Mended { first, last, cuts, trims, dried })
    }

    /// What each bar needs now.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read.
    pub fn triage(&self, class: Class) -> Result<Triage, Refused> {
        let back = Back::of(&self.workshop, self.instrument, super::NAME, None)?;
        Ok(back.triage(super::A4_HZ, class, &Minutes::default()))
    }

    fn cut(&mut self, i: usize, stroke: &Stroke, share: f64) -> Result<(), Refused> {
        let depth_m = share * stroke.depth_m * (HAND * normal(&mut self.rng)).exp();
        let told = Band { from_m: stroke.from_m, to_m: stroke.to_m, depth_m: share * stroke.depth_m, side: Side::Both };
        let done = [Band { depth_m, ..told }];
        let bar = &mut self.bars[i];
        let long_m = bar.solid.length_m();
        bar.solid.underside =
            bar.solid.underside.lowered(&making::stations(&done, long_m), |x| making::depth_at(&done, long_m, x))?;
        let event = Body::Cut(convert::cut_record(&[told], Some(2)));
        let (uid, now) = (bar.uid, self.now);
        self.workshop.write(|step| step.add(uid, Entry::from(event), now))?;
        Ok(())
    }

    fn trim(&mut self, i: usize, each_end_m: f64) -> Result<(), Refused> {
        // Sawn to a tenth of a millimetre, rather less than more.
        let mm = (each_end_m * 1e4).ceil() / 10.0;
        let bar = &mut self.bars[i];
        bar.solid.underside = bar.solid.underside.trimmed(mm * 1e-3, mm * 1e-3)?;
        let event = Body::Trim(TrimRecord { left_mm: Some(rounded(mm, 1)), right_mm: Some(rounded(mm, 1)) });
        let (uid, now) = (bar.uid, self.now);
        self.workshop.write(|step| step.add(uid, Entry::from(event), now))?;
        Ok(())
    }
}
