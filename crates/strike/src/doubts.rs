//! Doubts worth telling the maker, and words for tones that are no mode of the bar.

use crate::merge::Merged;
use crate::naming::{Names, is_shadow, words};
use crate::tones::cents;
use crate::types::{Blow, Context, HeardMode, Kind, Warning};
use realfft::RealFftPlanner;

/// Multiples of a common base are exact within this many cents.
pub(crate) const HARMONIC_CENTS: f64 = 6.0;
/// So many flat crests may be chance.
pub(crate) const MOST_CLIPPED: usize = 2;
/// A glide of bending 1 smaller than this is not worth a word.
const GLIDE_CENTS: f64 = 3.0;

/// Facts about the takes that are not in the tones.
#[derive(Debug, Clone)]
pub(crate) struct Facts {
    pub clipped_crests: usize,
    pub bounce_s: Option<f64>,
    pub lowest_rate_hz: f64,
    /// Highest frequency that came through, where the recording is band-limited.
    pub edge_hz: Option<f64>,
    pub refused_takes: Vec<String>,
}

impl Default for Facts {
    fn default() -> Self {
        Self {
            clipped_crests: 0,
            bounce_s: None,
            lowest_rate_hz: f64::INFINITY,
            edge_hz: None,
            refused_takes: Vec::new(),
        }
    }
}

impl Facts {
    /// What holds of two takes together.
    pub fn join(mut self, other: Self) -> Self {
        self.refused_takes.extend(other.refused_takes);
        Self {
            clipped_crests: self.clipped_crests.max(other.clipped_crests),
            bounce_s: self.bounce_s.or(other.bounce_s),
            lowest_rate_hz: self.lowest_rate_hz.min(other.lowest_rate_hz),
            edge_hz: self.edge_hz.or(other.edge_hz),
            ..self
        }
    }
}

/// 50 or 60 if the frequency is one of the first twenty multiples of that mains frequency, within
/// 0.4 % (the grid's own wander is ±0.2 Hz in 50).
pub(crate) fn mains_base(hz: f64) -> Option<u32> {
    [50u32, 60].into_iter().find(|base| {
        let order = (hz / f64::from(*base)).round();
        (1.0..=20.0).contains(&order) && (hz / (order * f64::from(*base)) - 1.0).abs() < 4e-3
    })
}

/// Base and number of tones of an exact harmonic series: at least four neighbours (1:2:3:4 or
/// 2:3:4:5) within [`HARMONIC_CENTS`], or six of the first ten multiples.
///
/// A bar's own tones give at most three (1:4:10 or 1:3:6); distortion adds the second and third.
/// Tones weaker than −35 dB, shadows and mains are not counted.
pub(crate) fn harmonic_series(tones: &[Merged]) -> Option<(f64, usize)> {
    let loud: Vec<f64> = (0..tones.len())
        .filter(|i| tones[*i].level_db > -35.0 && !is_shadow(tones, *i))
        .map(|i| (tones[i].hz, tones[i].steady))
        .filter(|(hz, steady)| !(*steady && mains_base(*hz).is_some()))
        .map(|(hz, _)| hz)
        .collect();
    let has = |hz: f64| loud.iter().any(|tone| cents(hz, *tone).abs() < HARMONIC_CENTS);
    let mut best = None;
    for base in loud.iter().flat_map(|hz| (1..=4).map(move |k| hz / f64::from(k))) {
        let present: Vec<bool> = (1..=10).map(|k| has(base * f64::from(k))).collect();
        let count = present.iter().filter(|p| **p).count();
        let starts_low = present[..5].windows(4).any(|run| run.iter().all(|p| *p));
        if (starts_low || count >= 6) && best.is_none_or(|(_, most)| count > most) {
            best = Some((base, count));
        }
    }
    best
}

/// What an unnamed tone may be.
pub(crate) fn maybe(tones: &[Merged], index: usize, names: &Names) -> String {
    let tone = &tones[index];
    if tone.steady {
        return mains_base(tone.hz).map_or("a steady tone, not the bar".into(), |base| {
            format!("mains hum ({} × {base} Hz)", (tone.hz / f64::from(base)).round())
        });
    }
    if let Some(name) = names.doubtful.iter().find(|name| name.tone == index) {
        return format!("perhaps {} (probability {:.2})", words(name.kind, name.number), name.sure);
    }
    let named = |number: usize| names.given.iter().find(|n| n.kind == Kind::Bending && n.number == number);
    if is_shadow(tones, index) {
        return "beside a much louder tone: an uneven decay or a neighbour".into();
    }
    if let Some(first) = named(1) {
        let base = tones[first.tone].hz;
        let order = (tone.hz / base).round();
        if (2.0..=5.0).contains(&order) && cents(base * order, tone.hz).abs() < HARMONIC_CENTS {
            return format!("{order} times bending 1: distortion or a tube");
        }
        if is_neighbour(base, tone) {
            return "a neighbour bar or tube".into();
        }
    }
    "unnamed".into()
}

/// Within a whole tone and a quarter of bending 1, weak, and ringing.
fn is_neighbour(first_hz: f64, tone: &Merged) -> bool {
    cents(first_hz, tone.hz).abs() < 250.0 && (-50.0..-12.0).contains(&tone.level_db)
}

fn warning(code: &'static str, message: String, hint: &str) -> Warning {
    Warning { code, message, hint: hint.to_owned() }
}

/// All doubts, the ones about the recording first.
pub(crate) fn warnings(
    facts: &Facts,
    blows: &[Blow],
    modes: &[HeardMode],
    tones: &[Merged],
    names: &Names,
    context: &Context,
) -> Vec<Warning> {
    let mut all = recording(facts);
    all.extend(about_modes(blows, modes, context));
    all.extend(about_tones(modes, tones, names));
    all.extend(about_blows(blows, tones, names));
    if let Some(why) = &names.why_not {
        all.push(warning(
            "not_named",
            format!("no mode is named: {why}"),
            "strike one bar alone, and give its bar file or at least its note",
        ));
    }
    if context.expected.is_empty() && !modes.is_empty() {
        all.push(warning(
            "named_by_ratio_only",
            "the modes are named by their ratios alone, no bar file was given".into(),
            "give the bar file, or compare a blow at the centre with one at a corner",
        ));
    }
    all
}

fn recording(facts: &Facts) -> Vec<Warning> {
    let mut all = Vec::new();
    if facts.clipped_crests > MOST_CLIPPED {
        all.push(warning(
            "clipped",
            format!("{} crests are cut off at the same level (limit {MOST_CLIPPED})", facts.clipped_crests),
            "too loud: strike softer or move the microphone away",
        ));
    }
    if let Some(gap) = facts.bounce_s {
        all.push(warning(
            "double_blow",
            format!("two blows lie {:.0} ms apart (limit 150 ms); only what follows the last is used", gap * 1e3),
            "let the mallet bounce back freely, or strike again",
        ));
    }
    if facts.lowest_rate_hz < 16_000.0 {
        all.push(warning(
            "low_rate",
            format!(
                "the sample rate is {:.0} Hz (limit 16000): no mode above {:.0} Hz can be heard",
                facts.lowest_rate_hz,
                0.48 * facts.lowest_rate_hz
            ),
            "record at 44100 or 48000 samples a second",
        ));
    }
    if let Some(edge) = facts.edge_hz {
        all.push(warning(
            "narrow_band",
            format!("nothing above {edge:.0} Hz came through (limit 8000): no mode above it can be heard"),
            "record to WAV on the device itself, not over a call or a headset",
        ));
    }
    for message in &facts.refused_takes {
        all.push(warning("take_unused", message.clone(), "record this take again"));
    }
    all
}

fn about_modes(blows: &[Blow], modes: &[HeardMode], context: &Context) -> Vec<Warning> {
    let mut all = Vec::new();
    for mode in modes {
        let Some((early, late)) = mode.early_hz.zip(mode.late_hz) else { continue };
        let glide = cents(early, late);
        if glide.abs() > GLIDE_CENTS {
            all.push(warning(
                "glide",
                format!(
                    "{} glides by {glide:+.1} cents while it rings (limit {GLIDE_CENTS}); the frequency given is the average weighted with its energy",
                    words(mode.kind, mode.number)
                ),
                "compare readings taken the same way: always the average, or always the early value",
            ));
        }
    }
    for expected in &context.expected {
        let found = modes.iter().any(|m| m.kind == expected.kind && m.number == expected.number);
        if !found && expected.kind == Kind::Bending && expected.number <= 3 {
            all.push(warning(
                "mode_missing",
                format!(
                    "{} was expected near {:.1} Hz and not heard clearly",
                    words(expected.kind, expected.number),
                    expected.hz
                ),
                if expected.number == 2 {
                    "strike nearer the end, about a quarter of the length in"
                } else {
                    "strike nearer the end"
                },
            ));
        }
    }
    all.extend(short_ring(blows, modes));
    all
}

/// A ring that cannot be used for long, or a first mode that dies faster than a free bar's: the
/// check recordings have quality factors from 120 up, below 30 a tone is not heard as a bar.
fn short_ring(blows: &[Blow], modes: &[HeardMode]) -> Option<Warning> {
    let first = modes.iter().find(|m| m.kind == Kind::Bending && m.number == 1);
    let quality = first.map_or(f64::INFINITY, |m| std::f64::consts::PI * m.hz * m.decay_s);
    let usable_s = blows.iter().map(|blow| blow.usable_s).fold(0.0, f64::max);
    let message = if quality < 60.0 {
        format!("bending 1 dies fast: quality factor {quality:.0} (limit 60)")
    } else if usable_s < 0.25 {
        format!("the ring could be used for {:.2} s only (limit 0.25 s)", usable_s)
    } else {
        return None;
    };
    let hint = "keep hands and felt off the bar, support it at its nodes only";
    Some(warning("short_ring", message, hint))
}

fn about_tones(modes: &[HeardMode], tones: &[Merged], names: &Names) -> Vec<Warning> {
    let mut all = Vec::new();
    // 1.5 %: a quarter of a tone, where a hum pulls a short ring's reading.
    let near = |tone: &&Merged| modes.iter().find(|m| (tone.hz / m.hz - 1.0).abs() < 0.015);
    let hums = tones.iter().filter(|tone| tone.steady && tone.level_db > -40.0);
    if let Some((tone, mode)) = hums.filter_map(|tone| Some((tone, near(&tone)?))).next() {
        all.push(warning(
            "hum_near_mode",
            format!(
                "a steady tone at {:.1} Hz lies beside {} at {:.1} Hz",
                tone.hz,
                words(mode.kind, mode.number),
                mode.hz
            ),
            "switch the collector, lamps and chargers off for this reading",
        ));
    }
    for name in names.given.iter().filter(|name| !name.blended.is_empty()) {
        all.push(warning(
            "blended",
            format!(
                "{} cannot be told from {} tones beside it; the frequency is their mean and the sigma their spread",
                words(name.kind, name.number),
                name.blended.len()
            ),
            "strike once in the middle and once at a corner, and give the bar file",
        ));
    }
    let Some(first) = modes.iter().find(|m| m.kind == Kind::Bending && m.number == 1) else {
        return all;
    };
    let stranger = tones.iter().enumerate().find(|(index, tone)| {
        !tone.steady && !names.covers(*index) && !is_shadow(tones, *index) && is_neighbour(first.hz, tone)
    });
    if let Some((_, tone)) = stranger {
        all.push(warning(
            "neighbour_tone",
            format!(
                "a tone at {:.1} Hz, {:.0} dB, lies {:+.0} cents from bending 1: a neighbour bar or tube",
                tone.hz,
                tone.level_db,
                cents(first.hz, tone.hz)
            ),
            "take the bar off the frame or damp its neighbours and cover the tubes",
        ));
    }
    all
}

/// Blows whose reading of a mode is too far from the others' to be used.
fn about_blows(blows: &[Blow], tones: &[Merged], names: &Names) -> Vec<Warning> {
    let mut all = Vec::new();
    for name in &names.given {
        for (blow, off) in &tones[name.tone].left_out {
            let at_s = blows.get(*blow).map_or(0.0, |blow| blow.at_s);
            all.push(warning(
                "blow_left_out",
                format!(
                    "{} of blow {} at {at_s:.2} s lies {off:+.1} cents from the other blows' and was left out",
                    words(name.kind, name.number),
                    blow + 1
                ),
                "listen to that blow again: a hand on the bar, a knock, or a bar that moved on its supports",
            ));
        }
    }
    all
}

/// Upper edge of a band-limited recording: above it the noise lies 25 dB lower, up to half the
/// sample rate. `None` if the band is open or the edge is above 8 kHz.
pub(crate) fn edge_hz(samples: &[f64], sample_rate_hz: f64) -> Option<f64> {
    const WIDTH_HZ: f64 = 250.0;
    let length = samples.len().min((2.0 * sample_rate_hz) as usize);
    let mut buffer: Vec<f64> = samples[..length]
        .iter()
        .enumerate()
        .map(|(n, x)| x * (std::f64::consts::PI * (n as f64 + 0.5) / length as f64).sin().powi(2))
        .collect();
    buffer.resize(length.next_power_of_two(), 0.0);
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(buffer.len());
    let mut spectrum = plan.make_output_vec();
    plan.process(&mut buffer, &mut spectrum).ok()?;
    let bins = (WIDTH_HZ / sample_rate_hz * buffer.len() as f64) as usize;
    if bins < 4 {
        return None;
    }
    let mut levels: Vec<f64> = spectrum
        .chunks_exact(bins)
        .map(|band| {
            let mut power: Vec<f64> = band.iter().map(|z| z.norm_sqr()).collect();
            let (_, median, _) = power.select_nth_unstable_by(bins / 2, f64::total_cmp);
            10.0 * median.max(1e-30).log10()
        })
        .collect();
    // The last band may straddle half the sample rate.
    levels.pop();
    let top = *levels.last()?;
    // Two bands in a row: a single one may just hold a loud tone.
    let below = 1 + levels.windows(2).rposition(|pair| pair.iter().all(|l| *l > top + 25.0))?;
    let quiet = &levels[below + 1..];
    // A steep edge: within two bands the level is at the upper floor.
    let steep = quiet.iter().skip(2).all(|level| *level < top + 10.0) && quiet.len() > 4;
    let edge = (below + 1) as f64 * WIDTH_HZ;
    (steep && edge < 8000.0).then_some(edge)
}

/// A harmonic series where modes could still be named by prediction.
pub(crate) fn harmonic_warning(base_hz: f64, count: usize) -> Warning {
    warning(
        "exact_harmonics",
        format!(
            "{count} tones are exact multiples of {base_hz:.1} Hz (within {HARMONIC_CENTS} cents); the tones of a bar are not"
        ),
        "make sure that this is the bar itself and not a voice, a string or a looped sample",
    )
}
