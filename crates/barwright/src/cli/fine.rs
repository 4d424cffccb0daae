//! `fine`: a whole set before its last strokes, and whether it is even.
use super::all_cores::on_all_cores;
use super::answer::Form;
use super::workshop::open;
use crate::convert;
use crate::error::Refused;
use crate::report::fine::{Answer, to_json, to_text};
use crate::whole_set::{SetBar, WholeSet, sounds};
use bar_physics::Wanted;
use clap::{Args, ValueEnum};
use jiff::Timestamp;
use making::fine::{Class, Judged, Stroke, Verdict, evenness, judge, stroke};
use records::workshop::Kind;
use std::path::Path;

#[derive(Debug, Args)]
pub(crate) struct FineArgs {
    /// The instrument
    instrument: String,
    /// Whom it is for: what is good enough
    #[arg(long, value_enum, default_value = "working")]
    class: ClassWord,
    /// Also where to take each last stroke, and how deep
    #[arg(long)]
    places: bool,
    /// Also ring, loudness and balance across the compass, from the kept sounds
    #[arg(long)]
    even: bool,
}

/// Whom an instrument is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum ClassWord {
    /// ±1 cent in the middle (modes 2 and 3: ±3, ±5), twice that at the ends
    Concert,
    /// ±2, ±5, ±10 cents
    Working,
    /// ±3, ±8, ±15 cents
    School,
}

impl From<ClassWord> for Class {
    fn from(word: ClassWord) -> Self {
        match word {
            ClassWord::Concert => Self::Concert,
            ClassWord::Working => Self::Working,
            ClassWord::School => Self::School,
        }
    }
}

pub(super) fn fine(at: Option<&Path>, args: &FineArgs, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let found = workshop.find(Kind::Instrument, &args.instrument)?;
    let set = WholeSet::of(&workshop, found.uid, &found.name)?;
    let class = args.class.into();
    let judged = judge(&set.fine_bars(Timestamp::now()), class);
    let strokes = if args.places { strokes(&set, &judged) } else { vec![None; set.bars.len()] };
    let even = if args.even {
        let sounds = sounds(&workshop, &set)?;
        let even = evenness(&sounds);
        Some((sounds, even))
    } else {
        None
    };
    let answer = Answer { set: &set, class, judged, strokes, even };
    Ok(form.put(|| to_json(&answer), || to_text(&answer, form.units)))
}

/// The last stroke of each bar that wants one.
fn strokes(set: &WholeSet, judged: &[Judged]) -> Vec<Option<Result<Stroke, String>>> {
    let bars: Vec<(&SetBar, &Judged)> = set.bars.iter().zip(judged).collect();
    on_all_cores(&bars, &|(bar, judged)| match judged.verdict {
        Verdict::Lower { mode, by_cents, .. } => {
            Some(stroke_of(bar, judged, mode, by_cents).map_err(|error| error.to_string()))
        }
        _ => None,
    })
}

fn stroke_of(bar: &SetBar, judged: &Judged, mode: usize, by_cents: f64) -> Result<Stroke, Refused> {
    let file = &bar.state.file;
    let solid = convert::bar(file)?.bar;
    let modes = bar_physics::solid::modes(&solid, Wanted { bending: bar.ratios.len(), torsion: 0, sideways: 0 })?;
    let heard = bar.heard.as_ref().map_or(&[][..], |heard| &heard.cents);
    let above: Vec<f64> =
        heard.iter().zip(&judged.tolerances).map(|(cents, allowed)| cents.unwrap_or(0.0) + allowed).collect();
    let least_m = convert::job(file)?.limits.min_thickness_m;
    Ok(stroke(&solid, &modes, mode, (by_cents, &above, least_m))?)
}
