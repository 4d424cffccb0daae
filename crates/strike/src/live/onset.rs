//! Blows in a stream: the same rises of short-time energy as in a take, seen as they come.

use super::tape::Tape;
use crate::blows::{FAINTEST, HOP_S, LOOK_BACK, RISE, refine};

/// Hops remembered: the two of the newest frame, and the frames it is compared with.
const KEPT: usize = LOOK_BACK + 3;
/// A frame must stand above the noise floor by this (6 dB), so that a slow swell of the noise is
/// no blow even where it starts from nothing.
const ABOVE_FLOOR: f64 = 4.0;
/// Blocks of the floor: mean energies of forty hops (0.1 s), ten of them (1 s).
const BLOCK_HOPS: usize = 40;
const BLOCKS: usize = 10;

/// Energies of the take (order 0) or its first or second difference.
#[derive(Clone, Default)]
struct Watch {
    hops: [f64; KEPT],
    blocks: [f64; BLOCKS],
    block: f64,
}

impl Watch {
    fn add(&mut self, hop: f64) {
        self.hops.rotate_left(1);
        self.hops[KEPT - 1] = hop;
    }

    /// Energy of the frame that ends `back` hops ago.
    fn frame(&self, back: usize) -> f64 {
        self.hops[KEPT - 1 - back] + self.hops[KEPT - 2 - back]
    }

    /// Whether the newest frame rises above all before it; the frame just before overlaps it.
    fn rises(&self) -> bool {
        let background = (2..=LOOK_BACK + 1).map(|back| self.frame(back)).fold(0.0, f64::max);
        self.frame(0) > RISE * background
    }

    /// Noise energy of a frame: the quietest tenth of a second of the last one.
    fn floor(&self) -> f64 {
        2.0 * self.blocks.iter().copied().fold(f64::INFINITY, f64::min)
    }
}

/// Finds blows hop by hop.
pub(super) struct Onsets {
    pub hop: usize,
    watches: [Watch; 3],
    /// Last two samples of the hop before.
    last: [f64; 2],
    samples: Vec<f64>,
    scratch: Vec<f64>,
    /// Direct voltage of the microphone, followed over about half a second.
    mean: f64,
    in_block: usize,
    /// Hops since the start of the stream, as far as that matters.
    hops: usize,
    /// Energy of a frame that is silence.
    silence: f64,
}

impl Onsets {
    pub fn new(sample_rate_hz: f64) -> Self {
        let hop = ((HOP_S * sample_rate_hz).round() as usize).max(4);
        Self {
            hop,
            watches: Default::default(),
            last: [0.0; 2],
            samples: Vec::with_capacity(hop + 2),
            scratch: Vec::with_capacity(2 * hop + 2),
            mean: 0.0,
            in_block: 0,
            hops: 0,
            silence: (2 * hop) as f64 * 0.5 * crate::refuse::SILENCE.powi(2),
        }
    }

    /// Takes the newest hop of the tape. Gives the stream index of a blow in it or just before.
    ///
    /// `loudest` is the energy of the loudest frame of the ring that still goes on, if one does: a
    /// much fainter rise is part of it. The noise floor follows only while nothing rings.
    pub fn hop(&mut self, tape: &Tape, loudest: Option<f64>) -> Option<usize> {
        let end = tape.end();
        self.samples.clear();
        self.samples.extend_from_slice(&self.last);
        self.samples.extend(tape.stretch(end - self.hop, end).1.iter().map(|x| f64::from(*x)));
        let x = &self.samples;
        self.last = [x[x.len() - 2], x[x.len() - 1]];
        let hop_mean = x[2..].iter().sum::<f64>() / self.hop as f64;
        self.mean += 0.005 * (hop_mean - self.mean);
        let energies = [
            x[2..].iter().map(|x| (x - self.mean).powi(2)).sum::<f64>(),
            x[1..].windows(2).map(|w| (w[1] - w[0]).powi(2)).sum(),
            x.windows(3).map(|w| (w[2] - 2.0 * w[1] + w[0]).powi(2)).sum(),
        ];
        for (watch, energy) in self.watches.iter_mut().zip(energies) {
            watch.add(energy);
        }
        self.hops = self.hops.saturating_add(1);
        if loudest.is_none() {
            self.follow_floor();
        }
        self.rise(tape, loudest.unwrap_or(0.0))
    }

    /// Energy of the newest frame.
    pub fn energy(&self) -> f64 {
        self.watches[0].frame(0)
    }

    /// Mean square of the noise.
    pub fn floor(&self) -> f64 {
        self.watches[0].floor() / (2 * self.hop) as f64
    }

    /// Begins the noise floor anew: what is heard now is the noise (a machine was switched on).
    pub fn forget_floor(&mut self) {
        for watch in &mut self.watches {
            let now = watch.hops.iter().sum::<f64>() / KEPT as f64;
            watch.blocks = [now; BLOCKS];
            watch.block = 0.0;
        }
        self.in_block = 0;
    }

    fn follow_floor(&mut self) {
        self.in_block += 1;
        for watch in &mut self.watches {
            watch.block += watch.hops[KEPT - 1] / BLOCK_HOPS as f64;
            if self.in_block == BLOCK_HOPS {
                watch.blocks.rotate_left(1);
                watch.blocks[BLOCKS - 1] = watch.block;
                watch.block = 0.0;
            }
        }
        self.in_block %= BLOCK_HOPS;
    }

    fn rise(&mut self, tape: &Tape, loudest: f64) -> Option<usize> {
        // The start of a stream is no rise: the first frames have nothing to be compared with.
        if self.hops < 2 * KEPT || self.energy() < self.silence {
            return None;
        }
        let start = tape.end().checked_sub(2 * self.hop)?;
        let mut first: Option<usize> = None;
        for (order, watch) in self.watches.iter().enumerate() {
            let audible = if order == 0 { FAINTEST * loudest } else { 0.0 };
            if watch.rises() && watch.frame(0) > (ABOVE_FLOOR * watch.floor()).max(audible) {
                let (from, stretch) = tape.stretch(start.saturating_sub(order), start + 2 * self.hop);
                self.scratch.clear();
                self.scratch.extend(stretch.iter().map(|x| f64::from(*x) - self.mean));
                let at = from + refine(&self.scratch, order, start - from, self.hop);
                first = Some(first.map_or(at, |known| known.min(at)));
            }
        }
        first
    }
}
