//! Doubts about the bar and what sounds beside it.

use super::{is_neighbour, warning};
use crate::merge::Merged;
use crate::naming::{Names, is_shadow, words};
use crate::tones::cents;
use crate::types::{Blow, Context, HeardMode, Kind, Warning};

/// A glide of bending 1 smaller than this is not worth a word.
const GLIDE_CENTS: f64 = 3.0;

/// All of them.
pub(super) fn doubts(
    blows: &[Blow],
    modes: &[HeardMode],
    tones: &[Merged],
    names: &Names,
    context: &Context,
) -> Vec<Warning> {
    let mut all = about_modes(modes, context);
    all.extend(short_ring(blows, tones, names));
    all.extend(stopped(tones, names));
    all.extend(about_tones(modes, tones, names));
    all.extend(two_bars(modes, tones, names));
    all.extend(about_blows(blows, tones, names));
    all
}

/// A ring that ends at once: a hand, or the bar came to lie on something.
fn stopped(tones: &[Merged], names: &Names) -> Option<Warning> {
    let (name, at_s) = names.given.iter().find_map(|name| Some((name, tones[name.tone].stopped_s?)))?;
    Some(warning(
        "hand_on_bar",
        format!(
            "{} stops {at_s:.2} s after the blow instead of dying away; what was heard before is used",
            words(name.kind, name.number)
        ),
        "keep hands and felt off the bar until it has rung out",
    ))
}

/// Another loud tone within a fifth of bending 1 that also has a partner where bending 2 would be,
/// or lies within a whole tone and a quarter.
fn two_bars(modes: &[HeardMode], tones: &[Merged], names: &Names) -> Option<Warning> {
    let first = modes.iter().find(|m| m.kind == Kind::Bending && m.number == 1)?;
    let second = modes.iter().find(|m| m.kind == Kind::Bending && m.number == 2);
    let free = |index: usize| {
        !tones[index].steady
            && !names.covers(index)
            && !is_shadow(tones, index)
            && names.doubtful.iter().all(|name| name.tone != index)
    };
    let partner = |hz: f64| {
        second.is_some_and(|second| {
            let wanted = hz * second.hz / first.hz;
            (0..tones.len()).any(|i| free(i) && cents(wanted, tones[i].hz).abs() < 100.0)
        })
    };
    let other = (0..tones.len()).filter(|i| free(*i) && tones[*i].level_db > -12.0).find(|i| {
        let away = cents(first.hz, tones[*i].hz).abs();
        away > 60.0 && (away < 250.0 || (away < 700.0 && partner(tones[*i].hz)))
    })?;
    Some(warning(
        "two_bars",
        format!(
            "a second loud tone at {:.1} Hz beside bending 1 at {:.1} Hz: two bars seem to ring",
            tones[other].hz, first.hz
        ),
        "strike one bar alone and damp its neighbours",
    ))
}

fn about_modes(modes: &[HeardMode], context: &Context) -> Vec<Warning> {
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
    all
}

/// A ring that cannot be used for long, or a first mode that dies faster than a free bar's: the
/// check recordings have quality factors from 120 up, below 30 a tone is not heard as a bar.
fn short_ring(blows: &[Blow], tones: &[Merged], names: &Names) -> Option<Warning> {
    // Also where damping is why it got no name.
    let mut all = names.given.iter().chain(&names.doubtful);
    let first = all.find(|name| name.kind == Kind::Bending && name.number == 1).map(|name| &tones[name.tone]);
    let quality = first.map_or(f64::INFINITY, |tone| std::f64::consts::PI * tone.hz * tone.decay_s);
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
        let apart = !is_shadow(tones, *index) || rings_on_its_own(first, tone);
        !tone.steady && !names.covers(*index) && apart && is_neighbour(first.hz, tone)
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

/// A line of its own: four half line widths away, ringing about as long as bending 1 or longer. What
/// an uneven decay leaves beside a tone is nearer or shorter.
fn rings_on_its_own(first: &HeardMode, tone: &Merged) -> bool {
    let half_width_hz = 1.0 / (std::f64::consts::TAU * first.decay_s);
    tone.decay_s > 0.7 * first.decay_s && (tone.hz - first.hz).abs() > 4.0 * half_width_hz
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
