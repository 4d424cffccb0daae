//! The advice in workshop words.
use crate::next::Desk;
use crate::plan::{Bout, Place, lopsided};
use crate::{Band, Decision, RescueOption, Side, Stage, StopReading, priors};

/// "mode 3 (second overtone, ×10)".
pub(crate) fn mode_name(desk: &Desk<'_>, i: usize) -> String {
    let ratio = desk.job.targets.ratios[i];
    match i {
        0 => "mode 1".to_owned(),
        1 => format!("mode 2 (first overtone, ×{ratio})"),
        2 => format!("mode 3 (second overtone, ×{ratio})"),
        _ => format!("mode {} (×{ratio})", i + 1),
    }
}

/// "+12 cents" with the sign always shown.
pub(crate) fn signed(cents: f64) -> String {
    format!("{cents:+.0} cents").replace('-', "−")
}

/// Below this depth a machine pass is too coarse: hand strokes (judgement; a pass takes 0.05 to 0.2 mm, from memory).
const BY_HAND_M: f64 = 0.03e-3;

fn place(band: &Band) -> String {
    let (from, to) = (band.from_m * 1e3, band.to_m * 1e3);
    match band.side {
        Side::Both if band.from_m <= 0.0 => format!("the middle, {to:.0} mm to each side"),
        Side::Both => format!("{from:.0}–{to:.0} mm from the centre, both sides"),
        Side::Left => format!("{from:.0}–{to:.0} mm left of the centre"),
        Side::Right => format!("{from:.0}–{to:.0} mm right of the centre"),
    }
}

fn amount(band: &Band, passes: (u32, u32)) -> String {
    if band.depth_m < BY_HAND_M {
        return "a few light strokes by hand".to_owned();
    }
    match passes {
        (1, 1) => "1 light pass".to_owned(),
        (low, high) if low == high => format!("{low} passes"),
        (low, high) => format!("{low} to {high} passes"),
    }
}

/// The one instruction for a bout: its first sentence is what is read from two metres.
pub(crate) fn cut(bands: &[Band], passes: &[(u32, u32)], stop: &StopReading) -> String {
    let part = |(band, n): (&Band, &(u32, u32))| format!("{}: {}", place(band), amount(band, *n));
    let parts: Vec<String> = bands.iter().zip(passes).map(part).collect();
    format!(
        "Sand {}. Feather the edges, let it cool, strike. Stop early if mode {} reads {}.",
        parts.join("; then "),
        stop.mode,
        signed(stop.cents)
    )
}

pub(crate) fn finished(desk: &Desk<'_>) -> String {
    let read: Vec<String> =
        desk.now.cents.iter().enumerate().map(|(i, c)| format!("mode {} {}", i + 1, signed(*c))).collect();
    let read = read.join(", ");
    match desk.job.targets.stage() {
        Stage::Rough => format!("Rough tuning is done: stop here. Now: {read}. Rest the bar; then find its nodes."),
        Stage::Fine => format!("Tuning is done. Now: {read}. Put the bar to rest and look again when it is cool."),
    }
}

/// What must happen between rough and fine tuning, in order (common practice, no source).
pub(crate) fn pause(desk: &Desk<'_>) -> Vec<String> {
    let headroom = signed(desk.job.targets.headroom_cents);
    vec![
        "Rest the bar and strike it again cool: a warm bar reads flat.".to_owned(),
        "Salt test: mark the node lines of mode 1 at both edges; they have moved since the blank.".to_owned(),
        "Lay the rails to the marks, re-mark the bar on the built frame, then drill. A hole cannot be undone."
            .to_owned(),
        "Round, smooth and finish the bar, underside and hole mouths too; let the finish cure for days.".to_owned(),
        format!(
            "Then tune finely: ask for the next cut with --stage fine (headroom 0 instead of {headroom}), and strike first: drilling and finish have moved the pitch."
        ),
    ]
}

pub(crate) fn unsure(risk: f64) -> String {
    format!(
        "Strike again, three even blows, before cutting: with what is known now even a small cut has a {:.0} % chance of leaving a mode flat.",
        100.0 * risk
    )
}

pub(crate) fn flat_modes(desk: &Desk<'_>, flat: &[usize]) -> String {
    let part = |i: &usize| {
        let below = desk.goal.modes[*i].above(desk.now.cents[*i]);
        format!("{} is {} from its aim", mode_name(desk, *i), signed(below))
    };
    let parts: Vec<String> = flat.iter().map(part).collect();
    format!("{}, and no removal from the arch raises it", parts.join("; "))
}

pub(crate) fn stuck(desk: &Desk<'_>, thin: bool) -> String {
    if thin {
        return format!(
            "the arch is down to the smallest allowed thickness, {:.1} mm, and the modes are still sharp",
            desk.job.limits.min_thickness_m * 1e3
        );
    }
    "no cut brings the sharp modes down without taking another one flat".to_owned()
}

pub(crate) fn rescue(why: &str, options: &[RescueOption]) -> String {
    let first = options.first().map_or(String::new(), |o| format!(" First choice: {}", o.action));
    let mut text = format!("Do not sand the arch: {why}.{first}");
    if !text.ends_with('.') {
        text.push('.');
    }
    text
}

/// What the decision rests on, and its doubts.
pub(crate) fn reasons(desk: &Desk<'_>) -> Vec<String> {
    let mut out = Vec::new();
    let diary = &desk.belief.diary;
    match diary.latest.as_ref().and_then(|reading| reading.temperature_c) {
        Some(t) if !(priors::ROOM_C.0..=priors::ROOM_C.1).contains(&t) => out.push(format!(
            "The reading at {t:.1} °C was brought to {:.0}–{:.0} °C at {:.1} ± {:.1} cents per °C (generic wood, not this bar's own).",
            priors::ROOM_C.0, priors::ROOM_C.1, priors::DRIFT_CENTS_PER_C, priors::DRIFT_SIGMA_CENTS_PER_C
        )),
        None if diary.latest.is_some() => out.push(format!(
            "The bar's temperature was not noted: {:.1} cents of doubt were added.", priors::UNKNOWN_TEMPERATURE_CENTS
        )),
        _ => {}
    }
    for i in 0..desk.goal.modes.len() {
        let chance = desk.flat_now(i);
        if chance > priors::RISK_LIMIT && chance < 0.5 {
            out.push(format!("{} may be flat already: {:.0} % chance.", mode_name(desk, i), 100.0 * chance));
        }
    }
    for (i, below) in desk.now.twin_below.iter().enumerate().filter(|(_, below)| **below > 0.0) {
        out.push(format!(
            "A torsion mode lies {below:.0} cents below {}: with turned grain the two mix and may trade places, so bouts are kept to what the lower one may fall.",
            mode_name(desk, i)
        ));
    }
    let targets_hz: Vec<f64> = desk.goal.modes.iter().map(|m| m.target_hz).collect();
    for (i, hz) in desk.belief.crossings(&targets_hz).into_iter().filter(|(i, _)| desk.now.twin_below[*i] <= 0.0) {
        out.push(format!(
            "{} has yet to pass a torsion mode at {hz:.0} Hz: where the grain turns it may jump there by 30 to 60 cents, to the sharp or the flat side. Take small bouts until it is past.",
            capital(mode_name(desk, i))
        ));
    }
    out.extend(diary.remarks.iter().cloned());
    out
}

fn capital(text: String) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// Why this bout and not more.
pub(crate) fn plan(desk: &Desk<'_>, bout: &Bout) -> Vec<String> {
    let hand_sigma = desk.belief.gaussian.sigma(crate::belief::slot::LN_HAND);
    let mut out = vec![format!(
        "Your hand is believed to take {:.2} ± {:.2} of the depth intended; the depths allow for it.",
        desk.belief.hand(),
        desk.belief.hand() * hand_sigma
    )];
    out.extend(bout.bands.iter().filter(|band| band.side != Side::Both).map(|band| one_sided(desk, band)));
    let near =
        desk.goal.modes.iter().zip(&desk.now.cents).any(|(m, c)| m.above(*c) <= priors::NEAR_CENTS && !m.met(*c));
    if near {
        out.push("Near the aim a bout takes at most half of what is left.".to_owned());
    }
    let risk = match bout.risk {
        r if r < 0.001 => "less than 0.1 %".to_owned(),
        r => format!("{:.1} %", 100.0 * r),
    };
    out.push(format!("Chance that this bout leaves a mode flat: {risk} (limit {:.0} %).", 100.0 * priors::RISK_LIMIT));
    out
}

/// Why a band goes to one side alone.
fn one_sided(desk: &Desk<'_>, band: &Band) -> String {
    let place = Place { from_m: band.from_m, to_m: band.to_m };
    let found = lopsided(desk.belief, &place);
    format!(
        "From {:.0} to {:.0} mm the {} is {:.1} ± {:.1} mm thicker than the other side: taking it there alone evens the nodes and tunes alike.",
        band.from_m * 1e3,
        band.to_m * 1e3,
        if band.side == Side::Left { "left" } else { "right" },
        found.left_over_right_m.abs() * 1e3,
        found.sigma_m * 1e3
    )
}

/// Short cautions for this step; never instead of the machine's manual.
pub(crate) fn cautions(desk: &Desk<'_>, decision: Decision, bout: Option<&Bout>) -> Vec<String> {
    // Shorter bars bring the fingers to the belt. Memory: 250 mm.
    const SHORT_M: f64 = 0.25;
    let mut out: Vec<String> = Vec::new();
    match decision {
        Decision::Cut => {
            out.push(
                "Dust: extraction on first, respirator as well. Hearing protection while the machine runs.".into(),
            );
            out.push("Sand on the side of the belt that moves down; follow the machine's own manual.".into());
            if desk.belief.length_m() < SHORT_M {
                out.push("Short bar: hold it in a holder with a stop, no knuckle within reach of the belt.".into());
            }
            out.push("A warm bar reads flat: rest it 10 minutes before striking.".into());
        }
        Decision::Rescue => {
            out.push("If the bar was sanded in the last 10 minutes it is warm and reads flat: rest it and strike again before anything else.".into());
            out.push("Sawing ends: guard on, bar clamped in a carrier, hands out of the line of cut.".into());
        }
        Decision::Finished | Decision::Wait => {}
    }
    if let Some(thinnest_m) = bout.map(|bout| thinnest_after(desk, bout)) {
        let limit_m = desk.job.limits.min_thickness_m;
        if thinnest_m < limit_m + 1e-3 {
            out.push(format!(
                "Thinnest place after this bout {:.1} mm, limit {:.1} mm: caliper it.",
                thinnest_m * 1e3,
                limit_m * 1e3
            ));
        }
    }
    out
}

fn thinnest_after(desk: &Desk<'_>, bout: &Bout) -> f64 {
    let length_m = desk.belief.length_m();
    let hand = desk.belief.hand();
    let left = |x: f64| desk.belief.thickness_at(x).0 - hand * crate::depth_at(&bout.bands, length_m, x);
    let steps = 200;
    (0..=steps).map(|i| left(length_m * f64::from(i) / f64::from(steps))).fold(f64::INFINITY, f64::min)
}
