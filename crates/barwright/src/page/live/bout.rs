//! What is known of the bar and of the blows to come.
use crate::bench::{Entered, hold};
use crate::convert;
use crate::error::Refused;
use crate::page::state::PageState;
use records::workshop::{Kind, Uid};
use strike::{Clock, Context, StrikePlace};

/// What is known of the bar for this bout.
pub(super) struct Bout {
    /// Revision of the bench it follows from.
    pub(super) revision: u64,
    pub(super) tuned: usize,
    /// Targets of the tuned modes, if the bar has a note.
    pub(super) targets_hz: Vec<f64>,
    pub(super) context: Context,
    /// The reading that is not whole yet: a mode is missing that another blow may give.
    pub(super) entered: Option<Entered>,
}

/// What the listener may expect of the bar as it stands.
pub(super) fn bout(
    state: &PageState,
    name: &str,
    struck: Option<StrikePlace>,
    clock: Option<Clock>,
) -> Result<(Context, Bout), Refused> {
    state.on_bench(name, |bench| {
        let context = Context { clock, ..bench.context(struck)? };
        let targets = convert::targets(bench.file());
        let targets_hz = targets
            .map(|(note_hz, targets)| targets.ratios.iter().map(|ratio| note_hz * ratio).collect())
            .unwrap_or_default();
        let bout = Bout {
            revision: bench.revision(),
            tuned: bench.tuned(),
            targets_hz,
            context: context.clone(),
            entered: None,
        };
        Ok((context, bout))
    })
}

/// The recorder of that name and its clock; none for an empty name or without a record.
pub(super) fn recorder(state: &PageState, name: &str) -> Result<(Option<Uid>, Option<Clock>), Refused> {
    let Some(workshop) = state.desk().workshop().filter(|_| !name.trim().is_empty()) else { return Ok((None, None)) };
    let workshop = hold(workshop);
    let found = workshop.find(Kind::Tool, name)?;
    let clock = workshop.clock_of(found.uid)?;
    let clock = clock.map(|clock| Clock { offset_ppm: clock.offset_ppm, sigma_ppm: clock.sigma_ppm });
    Ok((Some(found.uid), clock))
}

pub(super) fn place(word: &str) -> Option<StrikePlace> {
    match word {
        "centre" => Some(StrikePlace::Centre),
        "quarter" => Some(StrikePlace::Quarter),
        "corner" => Some(StrikePlace::Corner),
        "end" => Some(StrikePlace::End),
        _ => None,
    }
}

/// A temperature that a bar in a workshop can have; anything else was mistyped and is left out.
pub(super) fn sensible(temperature_c: Option<f64>) -> Option<f64> {
    temperature_c.filter(|celsius| (-30.0..=80.0).contains(celsius))
}
