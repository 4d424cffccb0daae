//! An instrument that is back: its last certificate, its readings since, and what each bar needs.
use crate::certified::{Certificate, CertifiedBar, Sealed};
use crate::cli::on_all_cores;
use crate::convert;
use crate::error::Refused;
use crate::whole_set::{SetBar, WholeSet};
use bar_physics::units::cents;
use bar_physics::{Bar, Modes, Wanted};
use jiff::Timestamp;
use making::fine::Class;
use making::retune::{BackBar, Minutes, Triaged, Work, triaged};
use records::LogEntry;
use records::workshop::{Body, Uid, Workshop};

/// What is known of an instrument that is back.
#[derive(Debug, Clone)]
pub struct Back {
    /// The set as it was last heard.
    pub set: WholeSet,
    /// Its last certificate.
    pub certificate: Option<Certificate>,
    /// Since when readings count: its return, else its certificate.
    pub since: Option<Timestamp>,
    /// What was seen on bars: note and words.
    pub damage: Vec<(String, String)>,
}

/// One answer for one pitch.
#[derive(Debug, Clone)]
pub struct Triage {
    /// The pitch of A4 that was asked about.
    pub a4_hz: f64,
    /// Every bar.
    pub bars: Vec<Triaged>,
    /// Minutes in all.
    pub minutes: f64,
}

/// The last certificate of an instrument that was given before that time, or at all; as it was sealed.
///
/// # Errors
/// [`Refused`] if the record cannot be read, or holds a certificate that was altered.
pub fn last_certificate(
    workshop: &Workshop,
    instrument: Uid,
    before: Option<Timestamp>,
) -> Result<Option<(Timestamp, Sealed)>, Refused> {
    let history = workshop.history(instrument)?;
    let last = history.standing().into_iter().rev().find_map(|standing| match standing.body {
        Body::Certified(certificate) if before.is_none_or(|before| standing.event.at < before) => {
            Some((standing.event.at, certificate.text.clone()))
        }
        _ => None,
    });
    let Some((at, text)) = last else { return Ok(None) };
    let sealed = Sealed::read(&text)?;
    sealed.check()?;
    Ok(Some((at, sealed)))
}

impl Back {
    /// Of an instrument of the record; `since` instead of its return.
    ///
    /// # Errors
    /// [`Refused`] as [`WholeSet::of`] and [`last_certificate`].
    pub fn of(workshop: &Workshop, instrument: Uid, name: &str, since: Option<Timestamp>) -> Result<Self, Refused> {
        let set = WholeSet::of(workshop, instrument, name)?;
        let returned = since.or(returned(workshop, instrument)?);
        // What it was when it left, not what it is since it was mended.
        let certified = last_certificate(workshop, instrument, returned)?;
        let since = returned.or(certified.as_ref().map(|(at, _)| *at));
        let damage = damage(workshop, &set, since)?;
        Ok(Self { set, certificate: certified.map(|(_, sealed)| sealed.certificate), since, damage })
    }

    /// Bars that were heard with all their tuned modes since it came back.
    pub fn heard(&self) -> usize {
        self.set.bars.iter().filter(|bar| self.cents_since(bar).iter().all(Option::is_some)).count()
    }

    /// The first bar of the compass that was not heard since it came back.
    pub fn next_to_strike(&self) -> Option<&SetBar> {
        self.set.bars.iter().find(|bar| !self.cents_since(bar).iter().all(Option::is_some))
    }

    fn cents_since(&self, bar: &SetBar) -> Vec<Option<f64>> {
        let fresh = |at: Timestamp| self.since.is_none_or(|since| at >= since);
        match bar.heard.as_ref().filter(|heard| fresh(heard.at) && bar.state.heard_after_work) {
            Some(heard) => heard.cents.clone(),
            None => vec![None; bar.ratios.len()],
        }
    }

    fn certified(&self, bar: &SetBar) -> Option<&CertifiedBar> {
        self.certificate.as_ref()?.bars.iter().find(|certified| certified.label == bar.state.label)
    }

    /// What each bar needs at that pitch.
    pub fn triage(&self, a4_hz: f64, class: Class, minutes: &Minutes) -> Triage {
        let per_moisture = self.set.climate.coefficients.per_moisture;
        let bars = on_all_cores(&self.set.bars, &|bar| {
            let mut back = self.back_bar(bar, a4_hz);
            let first = triaged(&back, class, per_moisture, minutes);
            match first.work {
                Work::Lower(_) | Work::Trim(_) | Work::Replace(_) => {
                    // A bar whose log cannot be believed is told without millimetres.
                    back.solid = solid(bar).ok();
                    triaged(&back, class, per_moisture, minutes)
                }
                _ => first,
            }
        });
        let minutes = bars.iter().map(|bar| bar.minutes).sum();
        Triage { a4_hz, bars, minutes }
    }

    fn back_bar(&self, bar: &SetBar, a4_hz: f64) -> BackBar {
        let certified = self.certified(bar);
        let moved = cents(a4_hz, self.set.order.a4_hz);
        let now_cents = self.cents_since(bar).into_iter().map(|cents| cents.map(|cents| cents - moved)).collect();
        let name = bar.note.to_string();
        let damage = self.damage.iter().find(|(note, _)| *note == name).map(|(_, words)| words.clone());
        let fallback = convert::job(&bar.state.file).map_or(0.006, |job| job.limits.min_thickness_m);
        BackBar {
            name,
            note_hz: bar.note.hz(a4_hz),
            now_cents,
            sigma_cents: bar.heard.as_ref().map_or(f64::INFINITY, |heard| heard.sigma_cents),
            certified_cents: certified.map(|certified| certified.cents.clone()),
            moved_cents: self.certificate.as_ref().map_or(moved, |certificate| cents(a4_hz, certificate.a4_hz)),
            mass_g: (certified.and_then(|certified| certified.mass_g), self.mass_since(bar)),
            trimmed_m: trimmed_m(bar),
            solid: None,
            least_m: fallback,
            damage,
        }
    }

    /// Its last weighing, if that was made since it came back.
    fn mass_since(&self, bar: &SetBar) -> Option<f64> {
        bar.weighed.filter(|(at, _)| self.since.is_none_or(|since| *at >= since)).map(|(_, mass_g)| mass_g)
    }
}

fn returned(workshop: &Workshop, instrument: Uid) -> Result<Option<Timestamp>, Refused> {
    let history = workshop.history(instrument)?;
    Ok(history.standing().into_iter().rev().find_map(|standing| match standing.body {
        Body::Returned(_) => Some(standing.event.at),
        _ => None,
    }))
}

/// How a remark on a bar begins that says what was seen on it.
pub const DAMAGE: &str = "damage:";

/// What was seen on bars since then: the last remark of each that begins with [`DAMAGE`], unless that says "none".
fn damage(workshop: &Workshop, set: &WholeSet, since: Option<Timestamp>) -> Result<Vec<(String, String)>, Refused> {
    let mut all = Vec::new();
    for bar in &set.bars {
        let history = workshop.history(bar.row.uid)?;
        let seen = history.standing().into_iter().rev().find_map(|standing| match standing.body {
            Body::Remark(remark) if since.is_none_or(|since| standing.event.at >= since) => {
                let (head, words) = remark.text.split_at_checked(DAMAGE.len())?;
                head.eq_ignore_ascii_case(DAMAGE).then(|| words.trim().to_owned())
            }
            _ => None,
        });
        all.extend(seen.filter(|words| !words.eq_ignore_ascii_case("none")).map(|words| (bar.note.to_string(), words)));
    }
    Ok(all)
}

/// Off each end by trims, in metres, the mean of both.
fn trimmed_m(bar: &SetBar) -> f64 {
    let trims = bar.state.file.log().iter().filter_map(|entry| match entry {
        LogEntry::Trim(trim) => Some(0.5 * (trim.left_mm.unwrap_or(0.0) + trim.right_mm.unwrap_or(0.0)) * 1e-3),
        _ => None,
    });
    if bar.state.drilled.is_some() { trims.sum() } else { 0.0 }
}

fn solid(bar: &SetBar) -> Result<(Bar, Modes), Refused> {
    let solid = convert::bar(&bar.state.file)?.bar;
    let modes = bar_physics::solid::modes(&solid, Wanted { bending: bar.ratios.len(), torsion: 0, sideways: 0 })?;
    Ok((solid, modes))
}
