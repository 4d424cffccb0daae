//! Listening to a stream: strike, and the answer comes within 0.4 s of sound.
//!
//! ```text
//! armed ──blow──▶ answer (0.35 s of ring) ──▶ refined (0.7, 1.4, 2.8 s) ──▶ last answer ──▶ armed
//! ```
//!
//! Frames may have any length; time is counted in samples, so the same stream gives the same
//! events however it is cut up. Memory is fixed when the listener is made. Between blows nothing
//! is allocated. A new blow is noticed at any time and ends the ring before it.
//!
//! Every answer comes from the same estimator as [`crate::listen`], on the same samples: half a
//! second before the blow and the ring so far.

mod backdrop;
mod events;
mod onset;
mod tape;

pub use backdrop::Level;
pub use events::{Answer, Event, State};

use crate::blows::{ATTACK_S, BOUNCE_S};
use crate::check;
use crate::listen::{Facts, Hearing, conclude};
use crate::refuse;
use crate::ring::{LONGEST_S, Ring};
use crate::types::{Blow, Context, Heard, Refusal, StrikePlace, Take, Warning};
use backdrop::{Backdrop, Found, Meter};
use onset::Onsets;
use realfft::RealFftPlanner;
use std::cell::RefCell;
use std::collections::VecDeque;
use tape::Tape;

/// Ring after the blow when the first answer is given, when it is refined, and at the latest last.
const ANSWERS_S: [f64; 5] = [0.35, 0.7, 1.4, 2.8, LONGEST_S + 0.02];
/// Sound before the blow that goes into the answer, to tell what was there already.
const LEAD_S: f64 = 0.5;
/// Blows kept for [`Live::together`].
const MOST_BLOWS: usize = 16;
/// The noise between blows is judged this often.
const BACKDROP_S: f64 = 0.8;

/// A blow whose ring goes on.
struct Ringing {
    at: usize,
    /// Last rise that belongs to it.
    mark: usize,
    bounce_s: Option<f64>,
    /// Answers given.
    given: usize,
    /// Time after the blow at which no more can be learnt.
    lasts_s: f64,
    loudest: f64,
    ring: Option<(Ring, Facts)>,
}

/// A blow that is over.
struct Past {
    at_s: f64,
    struck: Option<StrikePlace>,
    ring: Ring,
    facts: Facts,
}

/// A listener for one stream of mono samples.
pub struct Live {
    sample_rate_hz: f64,
    context: Context,
    planner: RefCell<RealFftPlanner<f64>>,
    tape: Tape,
    in_hop: usize,
    onsets: Onsets,
    meter: Meter,
    backdrop: Backdrop,
    found: Found,
    /// Samples of quiet since the last judgement.
    quiet: usize,
    not_finite: bool,
    now: Option<Ringing>,
    past: VecDeque<Past>,
}

impl Live {
    /// A listener for a stream of this sample rate.
    ///
    /// # Errors
    /// A [`Refusal`] `bad_rate` outside 4–768 kHz, `bad_expected` for a senseless context.
    pub fn new(sample_rate_hz: f64, context: Context) -> Result<Self, Refusal> {
        check::context(&context)?;
        check::rate(sample_rate_hz)?;
        let mut planner = RealFftPlanner::new();
        let backdrop = Backdrop::new(sample_rate_hz, &mut planner);
        let kept_s = LEAD_S + ANSWERS_S[ANSWERS_S.len() - 1] + BOUNCE_S + 0.1;
        Ok(Self {
            sample_rate_hz,
            context,
            planner: RefCell::new(planner),
            tape: Tape::new((kept_s * sample_rate_hz).ceil() as usize),
            in_hop: 0,
            onsets: Onsets::new(sample_rate_hz),
            meter: Meter::default(),
            backdrop,
            found: Found::default(),
            quiet: 0,
            not_finite: false,
            now: None,
            past: VecDeque::with_capacity(MOST_BLOWS),
        })
    }

    /// Takes the next samples of the stream, as many as there are, and tells what happened.
    ///
    /// Most calls take microseconds; one that answers a blow takes as long as [`crate::listen`]
    /// does for a take. Samples that are not numbers count as 0 and raise the doubt `not_finite`.
    pub fn push(&mut self, frame: &[f32]) -> Vec<Event> {
        let mut events = Vec::new();
        let span = self.samples(0.05);
        for sample in frame {
            // Beyond a thousand times full scale is no sound but a misread stream.
            let sound = sample.abs() <= 1e3;
            let sample = if sound { *sample } else { 0.0 };
            if !sound && !self.not_finite {
                self.not_finite = true;
                events.push(self.tell_backdrop());
            }
            self.tape.push(sample);
            self.meter.sample(sample, span);
            self.in_hop += 1;
            if self.in_hop == self.onsets.hop {
                self.in_hop = 0;
                self.hop(&mut events);
            }
        }
        events
    }

    /// Ends the stream: the last word on a ring that still goes on.
    pub fn finish(&mut self) -> Vec<Event> {
        let mut events = Vec::new();
        if let Some(ringing) = self.now.take() {
            self.answer(ringing, self.tape.end(), true, &mut events);
        }
        events
    }

    /// Begins with another bar, or the same one cut: forgets the blows heard before. Called while
    /// a bar rings, its further answers are named with the new context.
    ///
    /// # Errors
    /// As [`Live::new`]; the old context then stays.
    pub fn turn_to(&mut self, context: Context) -> Result<(), Refusal> {
        check::context(&context)?;
        self.context = context;
        self.past.clear();
        Ok(())
    }

    /// One verdict from all blows since [`Live::turn_to`] whose ring is over (the last sixteen).
    ///
    /// # Errors
    /// A [`Refusal`] if there was no good blow, or as [`crate::listen`].
    pub fn together(&self) -> Result<Heard, Refusal> {
        let rings: Vec<Ring> = self.past.iter().map(|past| past.ring.clone()).collect();
        let blows = self.past.iter().map(|p| Blow { take: 0, at_s: p.at_s, usable_s: p.ring.usable_s }).collect();
        let facts = self.past.iter().map(|past| past.facts.clone()).reduce(Facts::join).unwrap_or_default();
        if rings.is_empty() {
            return Err(refuse::noise());
        }
        let places: Vec<_> = self.past.iter().map(|past| past.struck).collect();
        conclude(&rings, &places, blows, facts, &self.context)
    }

    /// Says where the next blows fall; the blows before keep their place.
    pub fn strike_at(&mut self, place: Option<StrikePlace>) {
        self.context.struck = place;
    }

    /// What it waits for.
    #[must_use]
    pub fn state(&self) -> State {
        match &self.now {
            None => State::Armed,
            Some(ringing) if ringing.given == 0 => State::Struck,
            Some(_) => State::Ringing,
        }
    }

    /// Level, noise and clipping of the stream, to be shown as often as wanted.
    #[must_use]
    pub fn level(&self) -> Level {
        Level {
            peak: self.meter.peak(),
            noise_db: 10.0 * self.onsets.floor().max(1e-20).log10(),
            clipped_crests: self.meter.clipped_crests,
        }
    }

    /// Time since the start of the stream, in seconds of sound.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        self.tape.end() as f64 / self.sample_rate_hz
    }

    /// Memory held between blows, in bytes: fixed by the sample rate.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.tape.bytes() + self.backdrop.bytes() + size_of::<Self>()
    }

    fn samples(&self, seconds: f64) -> usize {
        (seconds * self.sample_rate_hz).round() as usize
    }

    fn hop(&mut self, events: &mut Vec<Event>) {
        let loudest = self.now.as_ref().map(|ringing| ringing.loudest);
        if let Some(at) = self.onsets.hop(&self.tape, loudest) {
            self.rise(at, events);
        }
        let Some(mut ringing) = self.now.take() else {
            self.watch_backdrop(events);
            return;
        };
        ringing.loudest = ringing.loudest.max(self.onsets.energy());
        let due_s = ANSWERS_S[ringing.given].min(ringing.lasts_s);
        if self.tape.end() >= ringing.at + self.samples(due_s) {
            let last = due_s >= ringing.lasts_s || ringing.given + 1 == ANSWERS_S.len();
            self.now = self.answer(ringing, self.tape.end(), last, events);
        } else {
            self.now = Some(ringing);
        }
    }

    /// A rise at `at`: a new blow, a bounce of the mallet, or still the attack.
    fn rise(&mut self, at: usize, events: &mut Vec<Event>) {
        let (attack, bounce) = (self.samples(ATTACK_S), self.samples(BOUNCE_S));
        let mut bounce_s = None;
        if let Some(mut before) = self.now.take() {
            if at <= before.mark + attack {
                before.at = before.at.min(at);
                before.mark = before.mark.max(at);
                self.now = Some(before);
                return;
            }
            if at < before.at + bounce {
                bounce_s = Some((at - before.at) as f64 / self.sample_rate_hz);
            } else {
                self.answer(before, at - 1, true, events);
            }
        }
        if bounce_s.is_none() {
            events.push(Event::Blow { at_s: at as f64 / self.sample_rate_hz });
        }
        self.now = Some(Ringing {
            at,
            mark: at,
            bounce_s,
            given: 0,
            lasts_s: ANSWERS_S[ANSWERS_S.len() - 1],
            loudest: self.onsets.energy(),
            ring: None,
        });
        self.quiet = 0;
    }

    /// Answers a blow from the ring up to `end`; gives the blow back if it rings on.
    fn answer(&mut self, mut ringing: Ringing, end: usize, last: bool, events: &mut Vec<Event>) -> Option<Ringing> {
        let at_s = ringing.at as f64 / self.sample_rate_hz;
        let used_s = end.saturating_sub(ringing.at) as f64 / self.sample_rate_hz;
        let verdict = self.hear(&ringing, end).and_then(|(ring, facts)| {
            let blow = Blow { take: 0, at_s, usable_s: ring.usable_s };
            let places = [self.context.struck];
            let heard = conclude(std::slice::from_ref(&ring), &places, vec![blow], facts.clone(), &self.context)?;
            Ok((ring, facts, heard))
        });
        let rings_on = match verdict {
            Ok((ring, facts, heard)) => {
                ringing.given += 1;
                ringing.lasts_s = ring.lasts_s.max(ANSWERS_S[0]);
                let last = last || ringing.lasts_s <= used_s;
                ringing.ring = Some((ring, facts));
                events.push(Event::Heard(Answer { at_s, used_s, last, heard }));
                !last
            }
            Err(refusal) => {
                events.push(Event::Refused { at_s, refusal });
                self.onsets.forget_floor();
                ringing.ring = None;
                false
            }
        };
        if rings_on {
            return Some(ringing);
        }
        if let Some((ring, facts)) = ringing.ring {
            if self.past.len() == MOST_BLOWS {
                self.past.pop_front();
            }
            self.past.push_back(Past { at_s, struck: self.context.struck, ring, facts });
        }
        events.push(Event::Armed);
        self.quiet = 0;
        None
    }

    fn hear(&self, ringing: &Ringing, end: usize) -> Result<(Ring, Facts), Refusal> {
        let (from, samples) = self.tape.stretch(ringing.at.saturating_sub(self.samples(LEAD_S)), end);
        let take = Take { samples, sample_rate_hz: self.sample_rate_hz };
        Hearing { planner: &self.planner, clock: self.context.clock }.blow(&take, ringing.at - from, ringing.bounce_s)
    }

    fn watch_backdrop(&mut self, events: &mut Vec<Event>) {
        self.quiet += self.onsets.hop;
        let wait = self.samples(BACKDROP_S).max(self.backdrop.wanted());
        if self.quiet < wait {
            return;
        }
        self.quiet = 0;
        let end = self.tape.end();
        let found = self.backdrop.judge(self.tape.stretch(end - self.backdrop.wanted(), end).1);
        if !found.same(&self.found) || self.not_finite {
            self.not_finite = false;
            self.found = found;
            events.push(self.tell_backdrop());
        }
    }

    fn tell_backdrop(&self) -> Event {
        let mut all = self.found.warnings();
        if self.not_finite {
            all.push(Warning {
                code: "not_finite",
                message: "the stream holds values that are no sound (not between -1000 and 1000); they count as 0"
                    .into(),
                hint: "choose the microphone again, or another one".into(),
            });
        }
        Event::Backdrop(all)
    }
}
