//! Two takes of one bar beside each other: what changed from one to the other, and whether that can be told at all.
//!
//! Both are listened to anew, by the same ear: readings of years ago came from an older one, and a reading may join
//! several takes. What was entered then names the modes; the record is not changed.
use super::history::{name_of_bar, reading_of, take};
use super::html::compare_page;
use super::routes::{Which, refusal_page};
use super::state::{PageState, held};
use crate::audio::{self, Part};
use crate::bench::{Desk, hold};
use crate::convert::entries::SHARED_CENTS;
use crate::error::Refused;
use crate::hearing::hear;
use crate::report::record::{what, when};
use crate::report::take::{picture, range_hz};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::response::{Html, IntoResponse, Response};
use bar_physics::units::cents;
use paper::sheets::{TakeAxes, TakePicture};
use records::HeardRecord;
use records::workshop::{Event, Uid, Workshop};
use serde::Deserialize;
use std::fmt;
use std::str::FromStr;
use strike::{Clock, Context, Expected, Heard, HeardMode, Kind, Warning};

/// A change beyond this many standard uncertainties is called one: chance alone does it once in twenty (4.6 %, normal).
const TOLD_AT: f64 = 2.0;
/// How far one take may lie from the reading that names its modes, in cents: blows joined to one reading repeat within a
/// cent or two, a glide makes up to twelve of it.
const NAMED_WITHIN_CENTS: f64 = 15.0;
/// A difference of temperature worth a word, in degrees Celsius: half a cent to a cent each.
const WARMER_C: f64 = 0.5;

/// A take of a bar's history: the number of its entry, and its own among the takes of that, both from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct TakeName {
    /// Number of the entry.
    pub entry: usize,
    /// Number of the take.
    pub take: usize,
}

impl fmt::Display for TakeName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.entry, self.take)
    }
}

impl FromStr for TakeName {
    type Err = Refused;

    fn from_str(text: &str) -> Result<Self, Refused> {
        let numbers = text.split_once('.').and_then(|(entry, take)| Some((entry.parse().ok()?, take.parse().ok()?)));
        match numbers {
            Some((entry, take)) if entry > 0 && take > 0 => Ok(Self { entry, take }),
            _ => {
                let text: String = text.chars().take(20).collect();
                Err(not_found(&format!("\"{text}\" is no take: entry and take are written like 12.1")))
            }
        }
    }
}

/// A take as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct ComparedTake {
    /// Where it stands in the history.
    pub name: TakeName,
    /// Name of its sound.
    pub sha256: String,
    /// When it was entered.
    pub when: String,
    /// What was entered with it.
    pub words: String,
    /// The bar's temperature then, in degrees Celsius, if it was noted.
    pub temperature_c: Option<f64>,
    /// What the listener doubts now.
    pub warnings: Vec<Warning>,
    /// Its picture, on the axes of both.
    pub picture: TakePicture,
}

/// How far two readings of a mode lie apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// The later above the earlier, in cents.
    pub cents: f64,
    /// Standard uncertainty of that, of both takes together, in cents.
    pub sigma_cents: f64,
}

/// Whether a change can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It is no larger than its uncertainty.
    Same,
    /// It is larger than its uncertainty, and chance could still have done it.
    Perhaps,
    /// It is larger than twice its uncertainty.
    Changed,
}

impl Apart {
    /// Of two readings of one mode. To each fit comes how well bars repeat from blow to blow: a fit can be better than the
    /// next blow agrees with it.
    pub fn of(earlier: &HeardMode, later: &HeardMode) -> Self {
        let sigma = |mode: &HeardMode| mode.sigma_cents.hypot(SHARED_CENTS);
        Self { cents: cents(later.hz, earlier.hz), sigma_cents: sigma(earlier).hypot(sigma(later)) }
    }

    /// Whether it is a change.
    pub fn verdict(&self) -> Verdict {
        let times = self.cents.abs() / self.sigma_cents;
        if times > TOLD_AT {
            Verdict::Changed
        } else if times > 1.0 {
            Verdict::Perhaps
        } else {
            Verdict::Same
        }
    }
}

/// A mode in both takes.
#[derive(Debug, Clone, PartialEq)]
pub struct ModePair {
    /// Its family.
    pub kind: Kind,
    /// Its number in the family.
    pub number: usize,
    /// As each take has it.
    pub modes: [Option<HeardMode>; 2],
}

impl ModePair {
    /// How far they lie apart, if both takes have it.
    pub fn apart(&self) -> Option<Apart> {
        let [Some(earlier), Some(later)] = &self.modes else { return None };
        Some(Apart::of(earlier, later))
    }
}

/// Two takes of a bar, the earlier first.
#[derive(Debug, Clone, PartialEq)]
pub struct CompareView {
    /// How the bar is addressed.
    pub id: String,
    /// Note and label.
    pub bar: String,
    /// Whether the workshop is simulated.
    pub invented: bool,
    /// The takes.
    pub takes: [ComparedTake; 2],
    /// Their modes.
    pub modes: Vec<ModePair>,
}

/// What is read from the record before listening.
struct Found {
    name: TakeName,
    sha256: String,
    event: Event,
    heard: HeardRecord,
    clock: Option<Clock>,
}

impl CompareView {
    /// Two takes of the bar of that name.
    ///
    /// # Errors
    /// [`Refused`] `not_found`, `same_take`; as [`hear`] for a take that says nothing by itself.
    pub fn of(desk: &Desk, id: &str, wanted: [TakeName; 2]) -> Result<Self, Refused> {
        let (file, tuned) = {
            let bench = desk.bench(id)?;
            let bench = held(&bench);
            (bench.file().clone(), bench.tuned())
        };
        let (Some(workshop), Ok(uid)) = (desk.workshop(), id.parse::<Uid>()) else {
            return Err(not_found("a bar file by itself keeps no takes"));
        };
        let [first, second] = wanted;
        let in_order = [first.min(second), first.max(second)];
        let (found, bar) = {
            let workshop = hold(workshop);
            let [earlier, later] = in_order.map(|name| find(&workshop, uid, name));
            ([earlier?, later?], name_of_bar(&file, &workshop.bar(uid)?))
        };
        if found[0].sha256 == found[1].sha256 {
            let message = format!("{first} and {second} are one and the same sound");
            return Err(Refused::new("same_take", message, "go back to the history and choose two different takes"));
        }
        let note_hz = file.note_hz();
        let listened = |found: &Found| {
            listen(desk, found, note_hz, tuned).map_err(|why| why.about(format!("take {}", found.name)))
        };
        let (earlier, later) = (listened(&found[0])?, listened(&found[1])?);
        let modes = pairs(&earlier.1, &later.1);
        let takes = shown(found, [earlier, later]);
        Ok(Self { id: id.to_owned(), bar, invented: desk.invented(), takes, modes })
    }

    /// How much warmer the bar was at the later take, in degrees Celsius; nothing where that is not known or not worth a
    /// word.
    pub fn warmer_c(&self) -> Option<f64> {
        let [earlier, later] = &self.takes;
        let warmer = later.temperature_c? - earlier.temperature_c?;
        (warmer.abs() >= WARMER_C).then_some(warmer)
    }

    /// Whether the temperature of one of them was not noted.
    pub fn temperature_unknown(&self) -> bool {
        self.takes.iter().any(|take| take.temperature_c.is_none())
    }
}

fn find(workshop: &Workshop, uid: Uid, name: TakeName) -> Result<Found, Refused> {
    let history = workshop.history(uid)?;
    let missing = || not_found(&format!("there is no take {name} in this bar's history"));
    let event = history.events().get(name.entry - 1).ok_or_else(missing)?;
    let reading = reading_of(&event.entry.what).ok_or_else(missing)?;
    let sha256 = reading.takes.get(name.take - 1).ok_or_else(missing)?.clone();
    let clock = event.entry.with.map(|tool| workshop.clock_of(tool)).transpose()?.flatten();
    let clock = clock.map(|clock| Clock { offset_ppm: clock.offset_ppm, sigma_ppm: clock.sigma_ppm });
    Ok(Found { name, sha256, event: event.clone(), heard: reading.heard.clone(), clock })
}

fn listen(desk: &Desk, found: &Found, note_hz: Option<f64>, tuned: usize) -> Result<(Part, Heard), Refused> {
    let sound = audio::read(&take(desk, &found.sha256)?)?;
    let part = Part { at_s: 0.0, samples: sound.samples, sample_rate_hz: sound.sample_rate_hz };
    let context = Context { expected: expected(&found.heard), note_hz, clock: found.clock, ..Context::default() };
    let heard = hear(&[part.take()], &context, tuned)?;
    Ok((part, heard))
}

/// The modes as they were entered, for their names.
fn expected(heard: &HeardRecord) -> Vec<Expected> {
    let families = [(Kind::Bending, &heard.hz.bending), (Kind::Torsion, &heard.hz.torsion)];
    let of = |(kind, list): (Kind, &Option<Vec<Option<f64>>>)| {
        let list = list.clone().unwrap_or_default();
        let mode = move |(index, hz): (usize, Option<f64>)| {
            Some(Expected { kind, number: index + 1, hz: hz?, sigma_cents: NAMED_WITHIN_CENTS })
        };
        list.into_iter().enumerate().filter_map(mode).collect::<Vec<_>>()
    };
    families.into_iter().flat_map(of).collect()
}

/// The modes of both, bending first.
fn pairs(earlier: &Heard, later: &Heard) -> Vec<ModePair> {
    let mut names: Vec<(Kind, usize)> =
        earlier.modes.iter().chain(&later.modes).map(|mode| (mode.kind, mode.number)).collect();
    names.sort_unstable();
    names.dedup();
    let in_both = |(kind, number): (Kind, usize)| {
        let of = |heard: &Heard| heard.modes.iter().find(|m| m.kind == kind && m.number == number).cloned();
        ModePair { kind, number, modes: [of(earlier), of(later)] }
    };
    names.into_iter().map(in_both).collect()
}

/// The takes with their pictures on common axes.
fn shown(found: [Found; 2], listened: [(Part, Heard); 2]) -> [ComparedTake; 2] {
    let range = range_hz(&[&listened[0].1, &listened[1].1]);
    let mut pictures = [&listened[0], &listened[1]].map(|(part, heard)| {
        let blows = heard.blows.iter().map(|blow| blow.at_s).collect();
        picture(String::new(), part, blows, heard, range)
    });
    let axes = TakeAxes::of(&pictures);
    for picture in &mut pictures {
        picture.axes = Some(axes);
    }
    let [first, second] = pictures;
    let [found_first, found_second] = found;
    let [(_, heard_first), (_, heard_second)] = listened;
    let of = |found: Found, heard: Heard, mut picture: TakePicture| {
        picture.name = format!("{} of {}", found.name, when(found.event.at));
        ComparedTake {
            name: found.name,
            sha256: found.sha256,
            when: when(found.event.at),
            words: what(&found.event.entry.what),
            temperature_c: found.heard.temperature_c,
            warnings: heard.warnings,
            picture,
        }
    };
    [of(found_first, heard_first, first), of(found_second, heard_second, second)]
}

/// Which two.
#[derive(Debug, Deserialize)]
pub struct Wanted {
    a: String,
    b: String,
}

/// Two takes of a bar.
pub async fn page(
    State(state): State<PageState>,
    Which(name): Which,
    wanted: Result<Query<Wanted>, QueryRejection>,
) -> Response {
    let compared = match wanted {
        Ok(Query(Wanted { a, b })) => match (a.parse(), b.parse()) {
            (Ok(a), Ok(b)) => state.with_desk(move |state| CompareView::of(state.desk(), &name, [a, b])).await,
            (Err(refused), _) | (_, Err(refused)) => Err(refused),
        },
        Err(_) => Err(not_found("two takes are needed")),
    };
    match compared {
        Ok(view) => Html(compare_page(&view).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

fn not_found(message: &str) -> Refused {
    Refused::new("not_found", message, "choose two takes in the bar's history")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mode(hz: f64, sigma_cents: f64) -> HeardMode {
        HeardMode {
            kind: Kind::Bending,
            number: 1,
            hz,
            sigma_cents,
            early_hz: None,
            late_hz: None,
            decay_s: 0.5,
            level_db: 0.0,
            late_decay_s: None,
            sure: 1.0,
            runner_up: None,
            blows: 1,
            repeat_cents: None,
        }
    }

    #[test]
    fn uncertainties_add_in_squares_and_decide_what_is_a_change() {
        // √(1.2² + 0.5²) = 1.3 each; √(2 × 1.3²) = 1.838…, by hand. 1200 log₂(1.001) = 1.7304, 1.002 → 3.459, 1.003 → 5.186.
        for (ratio, apart, verdict) in
            [(1.001, 1.730, Verdict::Same), (1.002, 3.459, Verdict::Perhaps), (1.003, 5.186, Verdict::Changed)]
        {
            let up = Apart::of(&mode(200.0, 1.2), &mode(200.0 * ratio, 1.2));
            assert!((up.cents - apart).abs() < 1e-3 && (up.sigma_cents - 1.8385).abs() < 1e-4, "{up:?}");
            assert_eq!(up.verdict(), verdict);
            let down = Apart::of(&mode(200.0 * ratio, 1.2), &mode(200.0, 1.2));
            assert!((down.cents + apart).abs() < 1e-3);
            assert_eq!(down.verdict(), verdict);
        }
        // A perfect fit is not a perfect repetition: 0.6 cents between two blows is nothing.
        let fine = Apart::of(&mode(200.0, 0.0), &mode(200.0 * 2f64.powf(0.6 / 1200.0), 0.0));
        assert_eq!(fine.verdict(), Verdict::Same);
    }

    #[test]
    fn takes_are_named_by_entry_and_number() {
        assert_eq!("12.1".parse::<TakeName>().unwrap(), TakeName { entry: 12, take: 1 });
        assert_eq!(TakeName { entry: 3, take: 2 }.to_string(), "3.2");
        for wrong in ["", "12", "0.1", "1.0", "-1.1", "1.1.1", "a.b", "99999999999999999999999.1"] {
            assert_eq!(wrong.parse::<TakeName>().unwrap_err().code, "not_found", "{wrong}");
        }
    }
}
