//! One microphone: its stream, its listener, and what of it was entered.
use super::answer::{self, Verdict};
use super::bout::{Bout, bout, place, recorder, sensible};
use super::frame::Frame;
use super::{Hello, Told};
use crate::audio::Audio;
use crate::bench::Reading;
use crate::error::Refused;
use crate::hearing;
use crate::page::state::{Notice, PageState};
use records::workshop::Uid;
use serde_json::{Value, json};
use std::collections::VecDeque;
use strike::live::{Answer, Event, Live, State};
use strike::{Clock, Context, Heard, StrikePlace, Take, Warning};

/// Sound before a blow that is kept with it, in seconds: what the listener uses.
const LEAD_S: f64 = 0.5;
/// A blow's attack is over by then, in seconds: from there on its ring only falls.
const ATTACK_S: f64 = 0.25;
/// Sound kept at hand, in seconds: the longest ring the listener follows, with its lead.
const TAPE_S: f64 = 8.0;
/// Blows that are made into one reading at most: what three do not give, a fourth at the same place will not.
const MOST_TOGETHER: usize = 3;
/// The level is told so often, in seconds of sound.
const LEVEL_S: f64 = 0.1;
/// While nothing rings, the page must keep so much for the lead of a blow that may just begin.
const UNSETTLED_S: f64 = 1.0;

/// A stream and its listener.
pub struct Session {
    bench: String,
    rate_hz: f64,
    live: Live,
    bout: Bout,
    struck: Option<StrikePlace>,
    temperature_c: Option<f64>,
    recorder: Option<Uid>,
    clock: Option<Clock>,
    /// Number of the sample with which the listener began.
    base: u64,
    next: u64,
    safe: u64,
    /// Just after the last blow that was settled: a listener that began here would not hear it again.
    settled: u64,
    told_level: u64,
    tape: VecDeque<f32>,
    backdrop: Vec<Warning>,
    turn: u64,
}

impl std::fmt::Debug for Session {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Session").field("bench", &self.bench).field("next", &self.next).finish_non_exhaustive()
    }
}

impl Session {
    /// A new stream for a bar.
    ///
    /// # Errors
    /// [`Refused`] if there is no such bar, nothing can be expected of it, or the rate is no sound card's.
    pub fn begin(state: &PageState, name: &str, hello: &Hello) -> Result<Self, Refused> {
        let (struck, (recorder, clock)) = (place(&hello.told.struck), recorder(state, &hello.told.recorder)?);
        let (context, bout) = bout(state, name, struck, clock)?;
        Ok(Self {
            bench: name.to_owned(),
            rate_hz: hello.rate,
            live: Live::new(hello.rate, context)?,
            bout,
            struck,
            temperature_c: sensible(hello.told.temperature_c),
            recorder,
            clock,
            base: hello.first,
            next: hello.first,
            safe: hello.first,
            settled: hello.first,
            told_level: hello.first,
            tape: VecDeque::new(),
            backdrop: Vec::new(),
            turn: 0,
        })
    }

    /// Whether a page that says this can go on with this stream.
    pub fn goes_on(&self, name: &str, hello: &Hello) -> bool {
        // The same number, not nearly the same: a changed rate is another stream.
        self.bench == name && self.rate_hz.to_bits() == hello.rate.to_bits() && hello.first <= self.next
    }

    /// The next sample wanted.
    pub fn next(&self) -> u64 {
        self.next
    }

    /// Gives the stream to a new connection.
    pub fn take_turn(&mut self) -> u64 {
        self.turn += 1;
        self.turn
    }

    /// Whether the connection of that turn still speaks for the stream.
    pub fn is_turn(&self, turn: u64) -> bool {
        self.turn == turn
    }

    /// Takes what the maker says of the next blows.
    ///
    /// # Errors
    /// [`Refused`] if the recorder is unknown or the bar cannot be read.
    pub fn told(&mut self, state: &PageState, told: &Told) -> Result<Vec<Value>, Refused> {
        if told.finish {
            let events = self.live.finish();
            return Ok(self.answer(state, events));
        }
        let (recorder, clock) = recorder(state, &told.recorder)?;
        self.temperature_c = sensible(told.temperature_c);
        self.struck = place(&told.struck);
        self.live.strike_at(self.struck);
        if (self.recorder, self.clock) != (recorder, clock) {
            (self.recorder, self.clock) = (recorder, clock);
            self.turn_to_bar(state)?;
        }
        Ok(Vec::new())
    }

    /// Takes the next frame: leaves out what came before, tells what is missing, answers blows.
    pub fn frame(&mut self, state: &PageState, bytes: &[u8]) -> Vec<Value> {
        let Some(frame) = Frame::read(bytes) else {
            return vec![
                json!({ "type": "refused", "message": "A frame of sound was not understood.", "hint": "Load the page anew." }),
            ];
        };
        let mut said = Vec::new();
        if state.revision_of(&self.bench).is_some_and(|revision| revision != self.bout.revision)
            && let Err(refused) = self.turn_to_bar(state)
        {
            said.push(json!({ "type": "refused", "message": refused.message, "hint": refused.hint }));
        }
        if frame.first > self.next {
            said.extend(self.skip_to(state, frame.first));
        }
        let known = usize::try_from(self.next - frame.first.min(self.next)).unwrap_or(usize::MAX);
        if known < frame.samples.len() {
            let fresh = &frame.samples[known..];
            self.next = frame.end();
            self.tape.extend(fresh);
            let events = self.live.push(fresh);
            said.extend(self.answer(state, events));
            let most = (TAPE_S * self.rate_hz) as usize;
            self.tape.drain(..self.tape.len().saturating_sub(most));
        }
        if self.live.state() == State::Armed {
            self.safe = self.safe.max(self.next.saturating_sub((UNSETTLED_S * self.rate_hz) as u64));
        }
        // What the page sent twice must be told as received, or it would send it for ever.
        if self.next - self.told_level >= (LEVEL_S * self.rate_hz) as u64 || known > 0 || !said.is_empty() {
            said.push(self.level());
        }
        said
    }

    /// Part of the stream is lost: what rang is closed, and listening begins anew.
    fn skip_to(&mut self, state: &PageState, first: u64) -> Vec<Value> {
        let lost_s = (first - self.next) as f64 / self.rate_hz;
        let events = self.live.finish();
        let mut said = self.answer(state, events);
        said.push(json!({ "type": "lost", "seconds": lost_s }));
        self.tape.clear();
        (self.base, self.next, self.safe) = (first, first, first);
        let begun = bout(state, &self.bench, self.struck, self.clock)
            .and_then(|(context, bout)| Ok((Live::new(self.rate_hz, context)?, bout)));
        if let Ok((live, bout)) = begun {
            self.live = live;
            self.bout = Bout { entered: self.bout.entered, ..bout };
        }
        said
    }

    /// The bar was cut, or something else was entered: the next blows are a new bout.
    fn turn_to_bar(&mut self, state: &PageState) -> Result<(), Refused> {
        let (context, bout) = bout(state, &self.bench, self.struck, self.clock)?;
        self.live.turn_to(context)?;
        self.bout = bout;
        Ok(())
    }

    fn level(&mut self) -> Value {
        self.told_level = self.next;
        let level = self.live.level();
        let state = match self.live.state() {
            State::Armed => "armed",
            State::Struck => "struck",
            State::Ringing => "ringing",
        };
        let doubts: Vec<Value> =
            self.backdrop.iter().map(|w| json!({ "message": w.message, "hint": w.hint })).collect();
        json!({
            "type": "level", "got": self.next, "safe": self.safe, "peak": level.peak, "noise_db": level.noise_db,
            "clipped": level.clipped_crests, "state": state, "doubts": doubts,
        })
    }

    fn answer(&mut self, state: &PageState, events: Vec<Event>) -> Vec<Value> {
        let mut said = Vec::new();
        for event in events {
            match event {
                Event::Blow { at_s } => said.push(json!({ "type": "blow", "at": self.number(at_s) })),
                Event::Refused { at_s, refusal } => {
                    self.settled = self.number(at_s + ATTACK_S);
                    said.push(answer::refusal_json(&refusal, self.number(at_s)));
                }
                Event::Heard(answer) => {
                    let verdict = answer::of_heard(&answer.heard, self.bout.tuned, self.struck);
                    let cents = self.cents(&answer.heard);
                    said.push(answer::to_json(verdict.clone(), self.number(answer.at_s), answer.last, &cents));
                    if answer.last {
                        self.settled = self.number(answer.at_s + ATTACK_S);
                        said.push(self.enter(state, &answer, verdict.0));
                    }
                }
                Event::Armed => {
                    let lead = self.next.saturating_sub((LEAD_S * self.rate_hz) as u64);
                    self.safe = self.safe.max(lead).max(self.settled.min(self.next));
                }
                Event::Backdrop(doubts) => self.backdrop = doubts,
            }
        }
        said
    }

    /// Enters the reading of this blow, together with those before it that left a mode out.
    fn enter(&mut self, state: &PageState, answer: &Answer, verdict: Verdict) -> Value {
        let take = self.take(answer);
        let heard = self.all_blows(state, answer, &take);
        let (struck, temperature_c, recorder) = (self.struck, self.temperature_c, self.recorder);
        let before = self.bout.entered;
        let done = state.on_bench(&self.bench, |bench| {
            let takes = std::slice::from_ref(&take);
            let reading = Reading { heard: &heard, takes, struck, temperature_c, recorder };
            Ok((bench.enter_reading(&reading, before)?, bench.revision()))
        });
        match done {
            Ok((entered, revision)) => {
                self.bout.revision = revision;
                let whole = (1..=self.bout.tuned).all(|number| answer::is_sure(&heard, number));
                if whole || heard.blows.len() >= MOST_TOGETHER {
                    // The next blow is a reading of its own: the advice counts readings where it asks for more.
                    self.bout.entered = None;
                    // Unchanged, so it cannot be refused; should it be, old blows would only count twice.
                    let _ = self.live.turn_to(self.bout.context.clone());
                } else {
                    self.bout.entered = Some(entered);
                }
                state.set_notice(&self.bench, Notice::Heard);
                json!({ "type": "entered", "blows": heard.blows.len(), "whole": verdict == Verdict::Heard })
            }
            Err(refused) => json!({ "type": "refused", "message": refused.message, "hint": refused.hint }),
        }
    }

    /// One verdict from this blow and those before it since the last cut. If modes are missing, the blow is heard once
    /// more without predictions, which may be wrong.
    fn all_blows(&self, state: &PageState, answer: &Answer, take: &Audio) -> Heard {
        let together = self.live.together().unwrap_or_else(|_| answer.heard.clone());
        let named = |heard: &Heard| (1..=self.bout.tuned).filter(|number| answer::is_sure(heard, *number)).count();
        if named(&together) >= self.bout.tuned {
            return together;
        }
        let view = [Take { samples: &take.samples, sample_rate_hz: take.sample_rate_hz }];
        let context = state.on_bench(&self.bench, |bench| bench.context(self.struck));
        let free = context
            .ok()
            .and_then(|context| hearing::hear(&view, &Context { clock: self.clock, ..context }, self.bout.tuned).ok());
        free.filter(|free| named(free) > named(&together)).unwrap_or(together)
    }

    /// The sound of a blow, from its lead to the end of the ring that was used.
    fn take(&self, answer: &Answer) -> Audio {
        let tape_from = self.next - self.tape.len() as u64;
        let at = |seconds: f64| {
            let number = self.base + (seconds.max(0.0) * self.rate_hz) as u64;
            usize::try_from(number.saturating_sub(tape_from)).unwrap_or(0).min(self.tape.len())
        };
        let (from, to) = (at(answer.at_s - LEAD_S), at(answer.at_s + answer.used_s));
        Audio {
            samples: self.tape.range(from..to.max(from)).copied().collect(),
            sample_rate_hz: self.rate_hz,
            warnings: Vec::new(),
        }
    }

    fn cents(&self, heard: &Heard) -> Vec<Option<f64>> {
        let targets = self.bout.targets_hz.iter().enumerate();
        let cents = |(index, target_hz): (usize, &f64)| {
            let right = |m: &&strike::HeardMode| m.kind == strike::Kind::Bending && m.number == index + 1;
            heard.modes.iter().find(right).map(|m| bar_physics::units::cents(m.hz, *target_hz))
        };
        targets.map(cents).collect()
    }

    /// Number of the sample at a time of the listener.
    fn number(&self, at_s: f64) -> u64 {
        self.base + (at_s.max(0.0) * self.rate_hz).round() as u64
    }
}
