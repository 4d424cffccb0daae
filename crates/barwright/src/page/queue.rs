//! The bars of the record in the order of the compass, each with what it waits for, and which is next.
use crate::bench::{Desk, hold};
use crate::error::Refused;
use jiff::Timestamp;
use records::workshop::{BarRow, Kind, Named, Stage, Workshop};

/// A sanded bar rests so long before it is struck: common practice, no source; the advice says the same.
const REST_MINUTES: i64 = 10;

/// What a bar waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Waits {
    /// A blank that was never struck.
    ToMeasure,
    /// It was worked on and is still warm: so many minutes are left.
    Cooling(i64),
    /// It was worked on, has cooled and was not heard since.
    ToStrike,
    /// It was heard and more wood is to come off.
    ToCut,
    /// It needs a note, a saw, a drill, a finish.
    Elsewhere(Stage),
    /// The nodes are to be read again.
    SecondSalt,
    /// Tuned, or given up, or kept as a reference.
    Done(Stage),
}

/// A bar of the queue.
#[derive(Debug, Clone, PartialEq)]
pub struct QueueBar {
    /// How it is addressed.
    pub id: String,
    /// Note, or "?".
    pub note: String,
    /// Label on its end grain.
    pub label: String,
    /// Instrument.
    pub instrument: Option<String>,
    /// What it waits for.
    pub waits: Waits,
    /// Length, for its silhouette.
    pub length_mm: f64,
    /// Cents of modes 1–3 above their targets at the last reading.
    pub cents: [Option<f64>; 3],
}

/// All bars, and the one to take next.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct QueueView {
    /// Name of the workshop; empty without a record.
    pub workshop: String,
    /// Whether the workshop is simulated.
    pub invented: bool,
    /// Names of the tools whose clock was measured: recorders.
    pub recorders: Vec<String>,
    /// The bars, by instrument and pitch.
    pub bars: Vec<QueueBar>,
}

impl QueueView {
    /// The queue as it stands; without bars where there is no record.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read.
    pub fn of(desk: &Desk) -> Result<Self, Refused> {
        let Some(workshop) = desk.workshop() else { return Ok(Self::default()) };
        let (names, recorders) = {
            let workshop = hold(workshop);
            let tools = workshop.list(Kind::Tool)?;
            let has_clock = |tool: &Named| is_recorder(&workshop, tool);
            let recorders = tools.iter().filter(|tool| has_clock(tool)).map(|tool| tool.name.clone()).collect();
            (workshop.list(Kind::Workshop)?, recorders)
        };
        let now = Timestamp::now();
        let mut bars = Vec::new();
        for row in desk.bars()? {
            let length_mm = desk.length_mm(row.uid)?;
            bars.push(QueueBar {
                id: row.uid.to_string(),
                note: row.note.clone().unwrap_or_else(|| "?".to_owned()),
                label: row.label.clone(),
                instrument: row.instrument.as_ref().map(|(_, name)| name.clone()),
                waits: waits(&row, now),
                length_mm,
                cents: row.cents,
            });
        }
        let workshop = names.into_iter().next().map(|named| named.name).unwrap_or_default();
        Ok(Self { workshop, invented: desk.invented(), recorders, bars })
    }

    /// The bar to take next and why; `here` is the bar that lies on the bench, if any.
    pub fn next(&self, here: Option<&str>) -> Option<(&QueueBar, String)> {
        let place = here.and_then(|id| self.bars.iter().position(|bar| bar.id == id));
        // Onward along the compass from the bar at hand, then from the beginning: the eye and the pile go that way.
        let (before, after) = self.bars.split_at(place.map_or(0, |place| place + 1));
        let onward = || after.iter().chain(before).filter(|bar| Some(bar.id.as_str()) != here);
        let first = |wanted: &dyn Fn(&Waits) -> bool| onward().find(|bar| wanted(&bar.waits));
        let ready = first(&|waits| matches!(waits, Waits::ToCut)).map(|bar| (bar, "it was read after its last cut"));
        let ready = ready.or_else(|| {
            first(&|waits| matches!(waits, Waits::ToStrike)).map(|bar| (bar, "it has cooled since it was worked on"))
        });
        let ready =
            ready.or_else(|| first(&|waits| matches!(waits, Waits::ToMeasure)).map(|bar| (bar, "it was never struck")));
        if let Some((bar, why)) = ready {
            return Some((bar, why.to_owned()));
        }
        let minutes = |bar: &&QueueBar| if let Waits::Cooling(minutes) = bar.waits { Some(minutes) } else { None };
        let soonest = onward().filter(|bar| minutes(bar).is_some()).min_by_key(|bar| minutes(bar))?;
        let left = minutes(&soonest)?;
        Some((soonest, format!("every bar rests; this one is cool first, in {left} min")))
    }
}

fn is_recorder(workshop: &Workshop, tool: &Named) -> bool {
    workshop.clock_of(tool.uid).is_ok_and(|clock| clock.is_some())
}

/// What a bar of the record waits for.
pub fn waits(row: &BarRow, now: Timestamp) -> Waits {
    match row.stage {
        Stage::MeasureBlank => Waits::ToMeasure,
        Stage::RoughTune | Stage::FineTune => match row.worked_at {
            Some(at) if !row.heard_after_work => {
                // Begun minutes count whole: "0 min" would read as ready.
                let left_s = REST_MINUTES * 60 - now.duration_since(at).as_secs();
                if left_s > 0 { Waits::Cooling((left_s + 59) / 60) } else { Waits::ToStrike }
            }
            _ if row.heard_after_work => Waits::ToCut,
            _ => Waits::ToStrike,
        },
        Stage::SecondSalt => Waits::SecondSalt,
        Stage::Done | Stage::Reference | Stage::Discarded => Waits::Done(row.stage),
        Stage::GiveNote | Stage::Saw | Stage::Drill | Stage::Finish => Waits::Elsewhere(row.stage),
    }
}

impl Waits {
    /// In words.
    pub fn words(self) -> String {
        match self {
            Self::ToMeasure => "to measure".to_owned(),
            Self::Cooling(minutes) => format!("cooling, {minutes} min"),
            Self::ToStrike => "to strike".to_owned(),
            Self::ToCut => "to cut".to_owned(),
            Self::SecondSalt => "second salt test".to_owned(),
            Self::Elsewhere(stage) | Self::Done(stage) => stage.to_do().to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(id: &str, waits: Waits) -> QueueBar {
        QueueBar {
            id: id.to_owned(),
            note: id.to_owned(),
            label: id.to_owned(),
            instrument: None,
            waits,
            length_mm: 400.0,
            cents: [None; 3],
        }
    }

    fn next(bars: &[(&str, Waits)], here: Option<&str>) -> Option<String> {
        let bars = bars.iter().map(|(id, waits)| bar(id, *waits)).collect();
        let view = QueueView { bars, ..QueueView::default() };
        view.next(here).map(|(bar, _)| bar.id.clone())
    }

    #[test]
    fn the_next_bar_is_one_that_can_be_worked_on() {
        use Waits::{Cooling, Done, ToCut, ToMeasure, ToStrike};
        let bars = [("a", ToMeasure), ("b", Cooling(4)), ("c", ToStrike), ("d", ToCut), ("e", Cooling(2))];
        assert_eq!(next(&bars, None).as_deref(), Some("d"));
        assert_eq!(next(&bars, Some("d")).as_deref(), Some("c"), "not the bar at hand");
        let resting = [("a", Cooling(7)), ("b", Cooling(3)), ("c", Done(Stage::Done))];
        assert_eq!(next(&resting, Some("a")).as_deref(), Some("b"));
        assert_eq!(next(&[("a", Done(Stage::Done))], None), None);
        let along = [("a", ToCut), ("b", ToCut), ("c", ToCut)];
        assert_eq!(next(&along, Some("b")).as_deref(), Some("c"), "onward along the compass");
        assert_eq!(next(&along, Some("c")).as_deref(), Some("a"));
    }
}
