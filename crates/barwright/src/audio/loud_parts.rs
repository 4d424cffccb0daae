//! The loud parts of a long recording: cut out as it is read, so that hours need no more memory than a blow.
//!
//! A part begins where the sound rises suddenly, with half a second before it (the listener tells hum from ring by
//! it), and ends where the sound has died away, at the next blow, or after four seconds. Too many parts do no harm: what
//! is no blow is refused by the listener.
use super::blocks::{Blocks, Spec};
use super::channels;
use crate::error::Refused;
use std::collections::VecDeque;
use strike::{Take, Warning};

/// Energy is watched in steps of 5 ms.
const STEP_S: f64 = 0.005;
/// A blow rises this much above the loudest of the steps 5–40 ms before it: 8, as the listener's own search (9 dB).
const RISE: f64 = 8.0;
/// 40 ms: more than two periods of the lowest bar (C2, 65 Hz).
const LOOK_BACK: usize = 8;
/// Steps below this mean square (−80 dB of full scale) are silence, as in the listener.
const SILENCE: f64 = 1e-8;
/// Sound kept from before a blow.
const BEFORE_S: f64 = 0.5;
/// Rises closer than this after a blow belong to it: the mallet bounces, and the listener wants to see that.
const BOUNCE_S: f64 = 0.15;
/// A part is at least this long after the blow; the listener needs a quarter of a second.
const SHORTEST_S: f64 = 0.4;
/// A ring is followed for at most this long: bars are down by 35 dB and more by then.
const LONGEST_S: f64 = 4.0;
/// So long must the sound be back near its level before the blow to have died away.
const QUIET_S: f64 = 0.25;

/// A stretch of one channel around one blow.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Time of its first sample from the start of the recording, in seconds.
    pub at_s: f64,
    /// Samples in −1…1, all finite.
    pub samples: Vec<f32>,
    /// Samples per second.
    pub sample_rate_hz: f64,
}

impl Part {
    /// As the listener takes it.
    pub fn take(&self) -> Take<'_> {
        Take { samples: &self.samples, sample_rate_hz: self.sample_rate_hz }
    }
}

/// A long recording being read.
pub struct LongAudio<'a> {
    blocks: Box<dyn Blocks + 'a>,
    cutter: Cutter,
    ready: VecDeque<Part>,
    /// What was read before it was known to be long, then block after block.
    block: Vec<f32>,
    ended: bool,
}

impl std::fmt::Debug for LongAudio<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("LongAudio").field("at_s", &self.at_s()).finish_non_exhaustive()
    }
}

impl<'a> LongAudio<'a> {
    pub(super) fn new(blocks: Box<dyn Blocks + 'a>, read: Vec<f32>) -> Self {
        let cutter = Cutter::new(blocks.spec());
        Self { blocks, cutter, ready: VecDeque::new(), block: read, ended: false }
    }

    /// Samples per second.
    pub fn sample_rate_hz(&self) -> f64 {
        f64::from(self.blocks.spec().rate_hz)
    }

    /// Channels in the file.
    pub fn channels(&self) -> usize {
        self.blocks.spec().channels
    }

    /// Length in seconds, if the file tells.
    pub fn length_s(&self) -> Option<f64> {
        self.blocks.spec().frames.map(|frames| frames as f64 / self.sample_rate_hz())
    }

    /// How far it has been read, in seconds.
    pub fn at_s(&self) -> f64 {
        self.cutter.frames_done as f64 / self.sample_rate_hz()
    }

    /// Doubts about the recording itself.
    pub fn warnings(&self) -> Vec<Warning> {
        super::doubts(self.blocks.spec())
    }

    /// The next loud part; `None` at the end. `read_on` is called now and then, to show progress.
    ///
    /// # Errors
    /// [`Refused`] as [`super::open_bytes`], for what turns up on the way.
    pub fn next_part(&mut self, read_on: &mut dyn FnMut(&Self)) -> Result<Option<Part>, Refused> {
        while self.ready.is_empty() && !self.ended {
            let block = std::mem::take(&mut self.block);
            self.cutter.push(&block, &mut self.ready);
            self.block = block;
            if !self.blocks.next(&mut self.block)? {
                self.block = Vec::new();
                self.cutter.finish(&mut self.ready);
                self.ended = true;
            }
            read_on(self);
        }
        Ok(self.ready.pop_front())
    }
}

/// Cuts parts out of a stream of interleaved samples.
struct Cutter {
    channels: usize,
    rate_hz: f64,
    step: usize,
    frames_done: u64,
    /// Frames of the step that is not full yet, interleaved.
    pending: Vec<f32>,
    /// Sound before a blow, interleaved, whole steps.
    before: VecDeque<f32>,
    /// Mean squares of the sound and of its second difference, newest last.
    recent: VecDeque<[f64; 2]>,
    open: Option<OpenPart>,
}

/// A part that is being recorded.
struct OpenPart {
    start_frame: u64,
    samples: Vec<f32>,
    /// Steps since the blow.
    steps: usize,
    /// Steps in a row near the level before the blow.
    quiet_steps: usize,
    level_before: f64,
}

impl Cutter {
    fn new(spec: &Spec) -> Self {
        let rate_hz = f64::from(spec.rate_hz);
        Self {
            channels: spec.channels.max(1),
            rate_hz,
            step: ((STEP_S * rate_hz).round() as usize).max(4),
            frames_done: 0,
            pending: Vec::new(),
            before: VecDeque::new(),
            recent: VecDeque::new(),
            open: None,
        }
    }

    fn steps_in(&self, seconds: f64) -> usize {
        (seconds * self.rate_hz / self.step as f64).round() as usize
    }

    fn push(&mut self, block: &[f32], ready: &mut VecDeque<Part>) {
        let whole = self.step * self.channels;
        let mut rest = block;
        while !rest.is_empty() {
            let (now, later) = rest.split_at(rest.len().min(whole - self.pending.len()));
            self.pending.extend_from_slice(now);
            rest = later;
            if self.pending.len() == whole {
                let step = std::mem::take(&mut self.pending);
                self.take_step(&step, ready);
                self.pending = step;
                self.pending.clear();
            }
        }
    }

    fn finish(&mut self, ready: &mut VecDeque<Part>) {
        let rest = std::mem::take(&mut self.pending);
        if let Some(open) = &mut self.open {
            open.samples.extend_from_slice(&rest);
        }
        self.close(ready);
    }

    fn take_step(&mut self, step: &[f32], ready: &mut VecDeque<Part>) {
        let now = self.levels(step);
        // The step just before may hold the beginning of the rise.
        let earlier = self.recent.len().saturating_sub(1);
        let loudest = |order: usize| self.recent.iter().take(earlier).map(|level| level[order]).fold(SILENCE, f64::max);
        let rises = earlier > 0 && (0..2).any(|order| now[order] > RISE * loudest(order));
        let (bounce, shortest, longest, quiet) =
            (self.steps_in(BOUNCE_S), self.steps_in(SHORTEST_S), self.steps_in(LONGEST_S), self.steps_in(QUIET_S));
        if rises && self.open.as_ref().is_none_or(|open| open.steps > bounce) {
            self.close(ready);
            self.begin();
        }
        if let Some(open) = &mut self.open {
            open.samples.extend_from_slice(step);
            open.steps += 1;
            // 3 dB above what was there before the blow: the ring is drowned.
            open.quiet_steps = if now[0] < 2.0 * open.level_before + SILENCE { open.quiet_steps + 1 } else { 0 };
            if open.steps >= longest || (open.steps >= shortest && open.quiet_steps >= quiet) {
                self.close(ready);
            }
        } else {
            self.before.extend(step);
            let most = self.steps_in(BEFORE_S) * step.len();
            self.before.drain(..self.before.len().saturating_sub(most));
        }
        self.recent.push_back(now);
        if self.recent.len() > LOOK_BACK {
            self.recent.pop_front();
        }
        self.frames_done += self.step as u64;
    }

    /// Opens a part with the sound before it.
    fn begin(&mut self) {
        let samples: Vec<f32> = self.before.drain(..).collect();
        let frames = (samples.len() / self.channels) as u64;
        let tail = &samples[..samples.len().saturating_sub(self.step * self.channels)];
        let level_before = self.levels(tail)[0];
        let start_frame = self.frames_done - frames;
        self.open = Some(OpenPart { start_frame, samples, steps: 0, quiet_steps: 0, level_before });
    }

    fn close(&mut self, ready: &mut VecDeque<Part>) {
        let Some(open) = self.open.take() else { return };
        ready.push_back(Part {
            at_s: open.start_frame as f64 / self.rate_hz,
            samples: channels::chosen(&open.samples, self.channels),
            sample_rate_hz: self.rate_hz,
        });
    }

    /// Mean squares of the loudest channel and of its second difference (where a mallet's click stands out of hum).
    fn levels(&self, interleaved: &[f32]) -> [f64; 2] {
        let frames = (interleaved.len() / self.channels).max(1) as f64;
        (0..self.channels).fold([0.0; 2], |most, channel| {
            let (mut sums, mut last) = ([0.0; 2], [0.0; 2]);
            for (n, value) in interleaved.iter().skip(channel).step_by(self.channels).enumerate() {
                let value = f64::from(*value);
                sums[0] += value * value;
                if n >= 2 {
                    sums[1] += (value - 2.0 * last[1] + last[0]).powi(2);
                }
                last = [last[1], value];
            }
            [most[0].max(sums[0] / frames), most[1].max(sums[1] / frames)]
        })
    }
}
