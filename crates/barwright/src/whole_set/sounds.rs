//! How the bars of a set sound, from their last kept takes.
use super::{SetBar, WholeSet};
use crate::audio::Audio;
use crate::bench::Bench;
use crate::cli::on_all_cores;
use crate::convert::salted_nodes;
use crate::error::Refused;
use making::fine::Sound;
use records::workshop::{Body, Workshop};
use strike::{Heard, Kind, StrikePlace, Take};

/// Time constants in 60 dB.
const CONSTANTS_IN_60_DB: f64 = 6.907_755_278_982_137;
/// Loudness is taken over so many seconds after the blow.
const LOUD_S: f64 = 0.1;

/// The sounds of a set: rings, levels and balance of each bar's last kept take, heard anew. A bar without one has none of them.
///
/// # Errors
/// [`Refused`] if the record cannot be read.
pub fn sounds(workshop: &Workshop, set: &WholeSet) -> Result<Vec<Sound>, Refused> {
    let takes: Vec<(usize, Vec<Audio>, Option<StrikePlace>)> = set
        .bars
        .iter()
        .enumerate()
        .filter_map(|(i, bar)| Some(last_takes(workshop, bar).transpose()?.map(|(takes, place)| (i, takes, place))))
        .collect::<Result<_, Refused>>()?;
    let heard = on_all_cores(&takes, &|(i, takes, place)| {
        let views: Vec<Take<'_>> = takes.iter().map(Audio::take).collect();
        let bench = Bench::in_memory(set.bars[*i].state.file.clone(), false);
        let context = bench.context(*place).ok()?;
        crate::hearing::hear(&views, &context, bench.tuned()).ok()
    });
    let mut sounds = Vec::new();
    for (i, bar) in set.bars.iter().enumerate() {
        let found = takes.iter().zip(&heard).find(|((at, _, _), _)| *at == i);
        let sound = found.and_then(|((_, takes, _), heard)| Some(sound(bar, takes, heard.as_ref()?)));
        let mut sound = sound.unwrap_or_else(|| silent(bar));
        sound.node_miss_mm = drilled_miss_mm(workshop, bar)?;
        sounds.push(sound);
    }
    Ok(sounds)
}

fn silent(bar: &SetBar) -> Sound {
    Sound {
        name: bar.note.to_string(),
        semitone: bar.note.semitones_above_a4(),
        ring_s: [None; 3],
        level_db: None,
        balance_db: [None; 2],
        node_miss_mm: None,
    }
}

fn sound(bar: &SetBar, takes: &[Audio], heard: &Heard) -> Sound {
    let mode = |number: usize| heard.modes.iter().find(|mode| mode.kind == Kind::Bending && mode.number == number);
    let ring = |number: usize| mode(number).map(|mode| CONSTANTS_IN_60_DB * mode.decay_s);
    let against = |number: usize| Some(mode(number)?.level_db - mode(1)?.level_db);
    // The loudest blow that was heard: its energy soon after, all modes together, of which mode 1 is most.
    let level = heard.blows.iter().filter_map(|blow| {
        let take = takes.get(blow.take)?;
        let from = (blow.at_s * take.sample_rate_hz) as usize;
        let part = take.samples.get(from..)?;
        let part = &part[..part.len().min((LOUD_S * take.sample_rate_hz) as usize)];
        let mean = part.iter().map(|sample| f64::from(*sample).powi(2)).sum::<f64>() / part.len().max(1) as f64;
        (mean > 0.0).then(|| 10.0 * mean.log10())
    });
    Sound {
        ring_s: [ring(1), ring(2), ring(3)],
        level_db: level.reduce(f64::max),
        balance_db: [against(2), against(3)],
        ..silent(bar)
    }
}

/// The takes of a reading, and where the bar was struck.
type Struck = (Vec<Audio>, Option<StrikePlace>);

/// Those of the last reading that kept its sound.
fn last_takes(workshop: &Workshop, bar: &SetBar) -> Result<Option<Struck>, Refused> {
    let history = workshop.history(bar.row.uid)?;
    let reading = history.standing().into_iter().rev().find_map(|standing| match standing.body {
        Body::Heard(reading) if !reading.takes.is_empty() => Some(reading.clone()),
        _ => None,
    });
    let Some(reading) = reading else { return Ok(None) };
    let takes = reading.takes.iter().map(|sha256| crate::audio::read(&workshop.takes().read(sha256)?));
    let takes = takes.collect::<Result<Vec<Audio>, Refused>>()?;
    Ok(Some((takes, reading.struck.as_deref().and_then(place))))
}

fn place(word: &str) -> Option<StrikePlace> {
    [StrikePlace::Centre, StrikePlace::Quarter, StrikePlace::Corner, StrikePlace::End]
        .into_iter()
        .find(|place| crate::convert::place_word(*place) == word)
}

/// How far a drilled bar's holes miss its node lines at most, in millimetres, where both are known.
///
/// # Errors
/// [`Refused`] if the record cannot be read.
pub fn drilled_miss_mm(workshop: &Workshop, bar: &SetBar) -> Result<Option<f64>, Refused> {
    let Some(drilled) = &bar.state.drilled else { return Ok(None) };
    let Some(nodes) = salted_nodes(&bar.state, &workshop.history(bar.row.uid)?) else { return Ok(None) };
    let misses = drilled.holes.iter().map(|hole| {
        let line = |line: [f64; 2]| {
            let middle = (f64::midpoint(hole.near_mm, hole.far_mm) - 500.0 * (line[0] + line[1])).abs();
            (middle, (hole.near_mm - 1e3 * line[0]).abs().max((hole.far_mm - 1e3 * line[1]).abs()))
        };
        // The line it belongs to is the one it is nearer to.
        let [left, right] = [line(nodes.left_m), line(nodes.right_m)];
        if left.0 < right.0 { left.1 } else { right.1 }
    });
    Ok(misses.reduce(f64::max))
}
