//! From opened recordings to one reading: whole takes as they are, long ones sifted for what rings.
use crate::audio::{LongAudio, Opened, Part};
use crate::error::Refused;
use std::fmt;
use strike::{Context, Heard, Kind, Take, Warning};

/// Numbers kept of a long recording: 32 MB, nearly three minutes at 48 kHz, some fifty rings.
const MOST_KEPT: usize = 8_000_000;
/// Blows whose mode 1 lies farther apart than this are not of one bar: a quarter tone. A bout of sanding between two
/// blows of one recording moves it less.
const ONE_BAR_CENTS: f64 = 50.0;
/// So many blows away from the rest are no mistake in naming.
const LEAST_OTHERS: usize = 2;

/// A recording reduced to what will be heard.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// The whole take, or the ringing parts of a long one in order of time.
    pub parts: Vec<Part>,
    /// Length of the recording in seconds.
    pub length_s: f64,
    /// Whether it was long, and only its parts are here.
    pub long: bool,
    /// Doubts about the recording itself.
    pub warnings: Vec<Warning>,
}

impl Recording {
    /// Takes a whole recording as it is; sifts a long one, calling `read_on` now and then.
    ///
    /// # Errors
    /// [`Refused`] as [`crate::audio::open`] for what turns up on the way, `no_ring_found`, `several_bars`.
    pub fn prepare(
        opened: Opened<'_>,
        context: &Context,
        read_on: &mut dyn FnMut(&LongAudio<'_>),
    ) -> Result<Self, Refused> {
        match opened {
            Opened::Whole(audio) => Ok(Self {
                length_s: audio.samples.len() as f64 / audio.sample_rate_hz,
                warnings: audio.warnings,
                long: false,
                parts: vec![Part { at_s: 0.0, samples: audio.samples, sample_rate_hz: audio.sample_rate_hz }],
            }),
            Opened::Long(mut long) => sift(&mut long, context, read_on),
        }
    }

    /// Its sound, to be kept: the whole take, or the parts of a long one that were heard.
    pub fn into_takes(self) -> Vec<crate::audio::Audio> {
        let audio = |part: Part| crate::audio::Audio {
            samples: part.samples,
            sample_rate_hz: part.sample_rate_hz,
            warnings: Vec::new(),
        };
        self.parts.into_iter().map(audio).collect()
    }
}

/// Hears recordings of one bar together; blows are told by recording and time in it.
///
/// # Errors
/// [`Refused`] as [`super::hear`].
pub fn hear_recordings(recordings: &[Recording], context: &Context, tuned: usize) -> Result<Heard, Refused> {
    // Whole takes first, so that a take the listener leaves out is called by the number the maker knows.
    let whole = recordings.iter().enumerate().filter(|(_, r)| !r.long);
    let order = whole.chain(recordings.iter().enumerate().filter(|(_, r)| r.long));
    let parts: Vec<(usize, &Part)> =
        order.flat_map(|(index, r)| r.parts.iter().map(move |part| (index, part))).collect();
    let takes: Vec<Take<'_>> = parts.iter().map(|(_, part)| part.take()).collect();
    let mut heard = super::hear(&takes, context, tuned)?;
    for blow in &mut heard.blows {
        if let Some((index, part)) = parts.get(blow.take) {
            blow.take = *index;
            blow.at_s += part.at_s;
        }
    }
    heard.warnings.extend(recordings.iter().flat_map(|r| r.warnings.iter().cloned()));
    Ok(heard)
}

/// A part that rings, and how well.
struct Reading {
    part: Part,
    first_hz: Option<f64>,
    /// Standard uncertainty of the loudest tone, in cents: the smaller the clearer.
    sigma_cents: f64,
}

/// Reads a long recording to its end and keeps the clearest rings.
fn sift(
    long: &mut LongAudio<'_>,
    context: &Context,
    read_on: &mut dyn FnMut(&LongAudio<'_>),
) -> Result<Recording, Refused> {
    let mut kept: Vec<Reading> = Vec::new();
    let (mut loud, mut ringing, mut refusal) = (0usize, 0usize, None);
    while let Some(part) = long.next_part(read_on)? {
        loud += 1;
        match strike::listen(&[part.take()], context) {
            Ok(heard) => {
                ringing += 1;
                kept.push(reading(part, &heard));
                drop_least_clear(&mut kept);
            }
            Err(reason) => refusal = Some((part.at_s, reason)),
        }
    }
    let length_s = long.at_s();
    if kept.is_empty() {
        return Err(nothing_rings(length_s, loud, refusal));
    }
    kept.sort_by(|a, b| a.part.at_s.total_cmp(&b.part.at_s));
    refuse_several_bars(&kept)?;
    let mut warnings = long.warnings();
    warnings.push(Warning {
        code: "long_recording",
        message: format!(
            "Of {} of sound {loud} loud parts were looked at, {ringing} of them ring, and the {} clearest were used.",
            clock(length_s),
            kept.len()
        ),
        hint: "Blows on one bar only belong into one recording.".to_owned(),
    });
    Ok(Recording { parts: kept.into_iter().map(|r| r.part).collect(), length_s, long: true, warnings })
}

fn reading(part: Part, heard: &Heard) -> Reading {
    let first = heard.modes.iter().find(|m| m.kind == Kind::Bending && m.number == 1 && m.sure >= super::LEAST_SURE);
    let tones = heard.modes.iter().map(|m| (m.level_db, m.sigma_cents));
    let tones = tones.chain(heard.other.iter().map(|t| (t.level_db, t.sigma_cents)));
    let loudest = tones.max_by(|a, b| a.0.total_cmp(&b.0));
    Reading { first_hz: first.map(|m| m.hz), sigma_cents: loudest.map_or(f64::INFINITY, |t| t.1), part }
}

/// Keeps within [`MOST_KEPT`].
fn drop_least_clear(kept: &mut Vec<Reading>) {
    while kept.len() > 1 && kept.iter().map(|r| r.part.samples.len()).sum::<usize>() > MOST_KEPT {
        let worst = (0..kept.len()).max_by(|a, b| kept[*a].sigma_cents.total_cmp(&kept[*b].sigma_cents));
        kept.swap_remove(worst.unwrap_or(0));
    }
}

fn nothing_rings(length_s: f64, loud: usize, last: Option<(f64, strike::Refusal)>) -> Refused {
    let why =
        last.map_or(String::new(), |(at_s, refusal)| format!("; the last, at {}: {}", clock(at_s), refusal.message));
    Refused::new(
        "no_ring_found",
        format!("in {} of sound {loud} sudden sounds were found and none rings like a bar{why}", clock(length_s)),
        "lay the bar on two soft strips under its nodes, strike it near the microphone and let it ring",
    )
}

/// Refuses a recording in which mode 1 jumps: readings of different bars must never be averaged.
fn refuse_several_bars(kept: &[Reading]) -> Result<(), Refused> {
    let mut first: Vec<(f64, f64)> = kept.iter().filter_map(|r| Some((r.first_hz?, r.part.at_s))).collect();
    first.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some((middle_hz, middle_s)) = first.get(first.len() / 2).copied() else { return Ok(()) };
    let away = |hz: f64| bar_physics::units::cents(hz, middle_hz).abs();
    let others: Vec<(f64, f64)> = first.into_iter().filter(|(hz, _)| away(*hz) > ONE_BAR_CENTS).collect();
    let Some((hz, at_s)) = others.first().filter(|_| others.len() >= LEAST_OTHERS) else { return Ok(()) };
    Err(Refused::new(
        "several_bars",
        format!(
            "mode 1 is {hz:.1} Hz at {} and {middle_hz:.1} Hz at {}, {:.0} cents apart (limit {ONE_BAR_CENTS:.0}): the recording holds several bars, or one that was cut in between",
            clock(*at_s),
            clock(middle_s),
            away(*hz)
        ),
        "cut it into one recording for each bar, and hear them with --folder",
    ))
}

/// A time in a recording: "4:07" or "1:04:07".
pub fn clock(seconds: f64) -> impl fmt::Display {
    let whole = seconds.max(0.0).round() as u64;
    let (hours, minutes, seconds) = (whole / 3600, whole / 60 % 60, whole % 60);
    if hours > 0 { format!("{hours}:{minutes:02}:{seconds:02}") } else { format!("{minutes}:{seconds:02}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_as_a_recorder_shows_them() {
        assert_eq!(clock(0.4).to_string(), "0:00");
        assert_eq!(clock(247.0).to_string(), "4:07");
        assert_eq!(clock(7200.0).to_string(), "2:00:00");
    }

    fn at(first_hz: f64, at_s: f64) -> Reading {
        let part = Part { at_s, samples: vec![0.0; 100], sample_rate_hz: 48_000.0 };
        Reading { part, first_hz: Some(first_hz), sigma_cents: at_s }
    }

    #[test]
    fn several_bars_are_refused_and_one_misnamed_blow_is_not() {
        let one_bar = [at(262.0, 1.0), at(262.3, 5.0), at(300.0, 9.0), at(261.9, 12.0)];
        assert!(refuse_several_bars(&one_bar).is_ok());
        let two_bars = [at(262.0, 1.0), at(262.3, 5.0), at(294.0, 70.0), at(293.9, 80.0), at(262.1, 90.0)];
        let refused = refuse_several_bars(&two_bars).unwrap_err();
        assert_eq!(refused.code, "several_bars");
        assert!(refused.message.contains("Mode 1 is 293.9 Hz at 1:20 and 262.3 Hz at 0:05"), "{refused}");
    }

    #[test]
    fn the_clearest_parts_are_kept_within_the_budget() {
        let big = |sigma: f64| {
            let part = Part { at_s: 0.0, samples: vec![0.0; MOST_KEPT / 2], sample_rate_hz: 48_000.0 };
            Reading { part, first_hz: None, sigma_cents: sigma }
        };
        let mut kept = vec![big(0.1), big(3.0), big(0.2)];
        drop_least_clear(&mut kept);
        let left: Vec<f64> = kept.iter().map(|r| r.sigma_cents).collect();
        assert!(left.len() == 2 && left.iter().all(|s| *s < 1.0), "{left:?}");
    }
}
