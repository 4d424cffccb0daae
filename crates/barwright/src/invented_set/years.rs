//! What years do to an invented instrument.
use super::{InventedSet, normal};
use crate::error::Refused;
use jiff::ToSpan;
use records::workshop::{Body, Climate, DeliveredRecord, Entry, Kind, RemarkRecord};

/// Ageing: cents that a bar rises in a year, and how much bars differ (invented).
const OLDER_CENTS: (f64, f64) = (0.8, 0.5);
/// The hall it stood in was drier: percent of moisture (invented).
const DRIER_PERCENT: (f64, f64) = (-0.45, 0.08);

impl InventedSet {
    /// Delivers it, lets it be played for so many years, brings it back, lets it rest for two days at 20.5 °C, weighs and strikes every bar.
    ///
    /// The bars age and dry; every ninth was kept damp under a window, every thirteenth lost some of its top to hard mallets, and one has a crack.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be written.
    pub fn years_later(&mut self, years: i64) -> Result<(), Refused> {
        let instrument = self.instrument;
        let delivered = self.now + 48.hours();
        let back = delivered + (years * 24 * 365).hours();
        let home = self.workshop.list(Kind::Workshop)?.first().map(|named| named.uid);
        let air = Climate { temperature_c: Some(20.5), humidity_pct: Some(42.0) };
        self.workshop.write(|step| {
            step.add(instrument, Body::Delivered(DeliveredRecord { to: None }).into(), delivered)?;
            let why = RemarkRecord { text: format!("retuning after {years} years (invented)") };
            step.add(instrument, Body::Returned(why).into(), back)?;
            if let Some(home) = home {
                step.add(home, Body::Climate(air).into(), back)?;
            }
            Ok(())
        })?;
        self.now = back + 48.hours();
        let middle = self.bars.len() / 2;
        for i in 0..self.bars.len() {
            let older = years as f64 * (OLDER_CENTS.0 + OLDER_CENTS.1 * normal(&mut self.rng)).max(0.0);
            let drier = DRIER_PERCENT.0 + DRIER_PERCENT.1 * normal(&mut self.rng);
            let bar = &mut self.bars[i];
            bar.own_cents.iter_mut().for_each(|cents| *cents += older);
            bar.damp_percent = if i % 9 == 4 { 1.1 } else { drier };
            if i % 13 == 6 {
                // A top worn by hundredths of a millimetre; the wood is dry.
                bar.own_cents.iter_mut().for_each(|cents| *cents -= older + 18.0);
                bar.mass_g *= 0.999;
            }
        }
        let cracked =
            RemarkRecord { text: format!("{} a crack at the bass-side hole (invented)", crate::retuning::DAMAGE) };
        let (uid, now) = (self.bars[middle].uid, self.now);
        self.workshop.write(|step| step.add(uid, Body::Remark(cracked).into(), now))?;
        self.weigh_all()?;
        self.hear_all(20.5, false)
    }

    pub(super) fn weigh_all(&mut self) -> Result<(), Refused> {
        let (bars, now) = (&self.bars, self.now);
        self.workshop.write(|step| {
            bars.iter()
                .try_for_each(|bar| step.add(bar.uid, Entry::from(super::weighed(bar.mass_now_g())), now).map(drop))
        })?;
        Ok(())
    }
}
