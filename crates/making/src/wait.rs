//! When not to cut yet.
use crate::next::Desk;
use crate::priors;
use crate::words::mode_name;

/// Why to wait and what to do meanwhile; `None` if a decision can be made.
pub(crate) fn reason(desk: &Desk<'_>) -> Option<String> {
    unheard(desk)
        .or_else(|| temperature(desk))
        .or_else(|| doubt(desk))
        .or_else(|| caliper(desk))
        .or_else(|| blank(desk))
        .or_else(|| mode_missing(desk))
        .or_else(|| unclear(desk))
}

/// All modes read as they should, but not surely so: another strike costs no wood.
pub(crate) fn at_the_edge(desk: &Desk<'_>) -> Option<String> {
    (desk.goal.met(&desk.now.cents) && desk.now.readings < priors::UNMET_CHANCE.len()).then(|| {
        "Strike again, three even blows: all modes read within tolerance, but one lies near its edge.".to_owned()
    })
}

/// A mode reads flat, but by so little that another strike may show that it is not: too soon to give up.
pub(crate) fn perhaps_flat(desk: &Desk<'_>, flat: &[usize]) -> Option<String> {
    // Beyond 19 in 20 there is no use in striking again.
    const SURE: f64 = 0.95;
    let doubtful = flat.iter().find(|i| desk.flat_now(**i) < SURE)?;
    (desk.now.readings < priors::UNMET_CHANCE.len()).then(|| {
        format!(
            "Strike again, three even blows: {} reads flat by a hair ({:.0} % chance that it is). If it is warm, rest it first.",
            mode_name(desk, *doubtful),
            100.0 * desk.flat_now(*doubtful)
        )
    })
}

fn unheard(desk: &Desk<'_>) -> Option<String> {
    let diary = &desk.belief.diary;
    if let Some(how) = diary.unheard_change {
        return Some(format!(
            "Strike the bar first: it was {how} and not heard since. If it is warm from sanding, let it rest 10 minutes."
        ));
    }
    if diary.heard_bending.iter().any(|heard| *heard) {
        return None;
    }
    Some("Strike the bar first: nothing has been heard of it yet.".to_owned())
}

fn temperature(desk: &Desk<'_>) -> Option<String> {
    let t = desk.belief.diary.latest.as_ref()?.temperature_c?;
    let outside = (t - t.clamp(priors::ROOM_C.0, priors::ROOM_C.1)).abs();
    (outside > priors::TOO_FAR_FROM_ROOM_C).then(|| {
        format!(
            "Let the bar come to room temperature: it was heard at {t:.1} °C, and pitch moves about {:.1} cents per °C. Then strike it again.",
            priors::DRIFT_CENTS_PER_C
        )
    })
}

fn doubt(desk: &Desk<'_>) -> Option<String> {
    let text = desk.belief.diary.latest_doubt.as_ref()?;
    Some(format!("Strike again before cutting: {text}."))
}

fn caliper(desk: &Desk<'_>) -> Option<String> {
    let doubt = desk.belief.diary.caliper_doubt.as_ref()?;
    Some(format!("Caliper again before cutting, from the top face at {:.0} mm: {}.", doubt.x_m * 1e3, doubt.text))
}

/// A blank is sawn before it is sanded.
fn blank(desk: &Desk<'_>) -> Option<String> {
    // More than this above the aim means millimetres all over the arch: a saw's work.
    const SAWING_CENTS: f64 = 300.0;
    let highest = desk.now.cents.iter().zip(&desk.goal.modes).map(|(c, m)| m.above(*c)).fold(0.0, f64::max);
    (!desk.belief.diary.shaped && highest > SAWING_CENTS).then(|| {
        format!("Saw the arch first: this is a blank, {highest:.0} cents above its aim. Enter the sawn shape, then strike it.")
    })
}

fn mode_missing(desk: &Desk<'_>) -> Option<String> {
    let heard = &desk.belief.diary.heard_bending;
    let missing = |i: &usize| {
        !heard.get(*i).copied().unwrap_or(false) && desk.now.sigma(*i) > desk.goal.modes[*i].tolerance_cents
    };
    let i = (0..desk.goal.modes.len()).find(missing)?;
    let place = match i {
        0 => "strike the centre",
        1 => "strike at a quarter of the length, a finger on the centre",
        _ => "strike nearer the end",
    };
    Some(format!(
        "Strike again to hear {}: {place}. It has not been heard since the bar was last cut.",
        mode_name(desk, i)
    ))
}

fn unclear(desk: &Desk<'_>) -> Option<String> {
    let i = (0..desk.goal.modes.len()).find(|i| desk.unclear(*i))?;
    Some(format!(
        "Strike again, three even blows: {} is known only to ±{:.0} cents, and any cut may leave it flat.",
        mode_name(desk, i),
        desk.now.sigma(i)
    ))
}
