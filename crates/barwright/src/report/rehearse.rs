//! What became of the rehearsed bars, as text and as JSON.
use super::next::decision_name;
use super::units;
use crate::convert::rounded;
use making::virtual_bench::{Adviser, Run, Tally, Task};
use making::{Decision, MakingError};
use serde_json::{Value, json};

/// The bars of one adviser.
pub struct Part {
    /// Each bar and what came of it, in order.
    pub runs: Vec<(Task, Result<Run, MakingError>)>,
}

/// Up to this many bars are listed one by one.
const MOST_LISTED: usize = 61;
const OCTAVES: [&str; 5] = ["C2–B2", "C3–B3", "C4–B4", "C5–B5", "C6–C7"];

impl Part {
    fn adviser(&self) -> Adviser {
        self.runs.first().map_or(Adviser::Planner, |(task, _)| task.adviser)
    }

    /// Tallies by octave that has bars, and of all.
    fn tallies(&self) -> Vec<(&'static str, Tally)> {
        let mut all = Tally::default();
        let mut octaves = vec![Tally::default(); OCTAVES.len()];
        for (task, run) in &self.runs {
            octaves[task.octave() as usize - 2].add(run);
            all.add(run);
        }
        let named = OCTAVES.into_iter().zip(octaves).filter(|(_, tally)| tally.bars > 0);
        named.chain([("all", all)]).collect()
    }
}

/// The counts first, then the bars one by one if they are few.
pub fn to_text(parts: &[Part], seed: u64, elapsed_s: f64) -> String {
    let mut text = String::new();
    for part in parts {
        let tallies = part.tallies();
        let Some((_, all)) = tallies.last() else { continue };
        let adviser = if part.adviser() == Adviser::Planner { "barwright's advice" } else { "plain greedy advice" };
        text.push_str(&format!(
            "{} invented bars with {adviser}, seeds from {seed}: {} tuned to within ±2, ±5 and ±10 cents in modes 1, 2 and 3.\n\n",
            all.bars, all.within
        ));
        text.push_str(&format!("{}\n", table(&tallies)));
        if all.saved > 0 {
            text.push_str(&format!("Rescues saved {} bars, {:.1} kg of wood.\n", all.saved, all.saved_kg));
        }
        text.push('\n');
        if part.runs.len() <= MOST_LISTED {
            text.push_str(&format!("{}\n\n", bars(part)));
        }
    }
    text.push_str(&format!(
        "Wood and hand are invented: the figures say how the advice copes with them, not with your bars. Took {elapsed_s:.0} s.\n"
    ));
    text
}

fn table(tallies: &[(&str, Tally)]) -> String {
    let mut table = super::table();
    table.set_header([
        "notes",
        "bars",
        "within",
        "flat",
        "called done, outside",
        "lost",
        "undecided",
        "refused",
        "bouts: half, 9 in 10, most",
        "within in 8 bouts",
    ]);
    for (name, t) in tallies {
        let percent = |n: usize| format!("{:.1} %", 100.0 * n as f64 / t.bars.max(1) as f64);
        let bouts = |share: f64| t.bouts(share).map_or("—".to_owned(), |b| b.to_string());
        table.add_row([
            (*name).to_owned(),
            t.bars.to_string(),
            percent(t.within),
            t.flat.to_string(),
            t.deceived.to_string(),
            t.lost.to_string(),
            t.undecided.to_string(),
            t.refused.to_string(),
            format!("{}, {}, {}", bouts(0.5), bouts(0.9), bouts(1.0)),
            percent(t.within_bouts(8)),
        ]);
    }
    table.trim_fmt()
}

fn ending(run: &Run) -> &'static str {
    match run.decision {
        Decision::Finished if run.within() => "tuned",
        Decision::Finished => "called done, outside",
        Decision::Rescue => "lost",
        _ => "undecided",
    }
}

fn bars(part: &Part) -> String {
    let mut table = super::table();
    table.set_header(["note", "seed", "bouts", "rescues", "final cents", "ending"]);
    for (task, run) in &part.runs {
        let (note, seed) = (task.note(), task.seed.to_string());
        match run {
            Ok(run) => {
                let cents: Vec<String> = run.end_cents.iter().map(|c| units::cents(*c)).collect();
                table.add_row([
                    note,
                    seed,
                    run.bouts.to_string(),
                    run.rescues.to_string(),
                    cents.join(" / "),
                    ending(run).to_owned(),
                ]);
            }
            Err(error) => {
                table.add_row([note, seed, "—".into(), "—".into(), "—".into(), format!("refused: {error}")]);
            }
        }
    }
    table.trim_fmt()
}

/// The public JSON of `rehearse`; see docs/command-line.md.
pub fn to_json(parts: &[Part], seed: u64) -> Value {
    let tally = |(name, t): &(&str, Tally)| {
        json!({
            "notes": name, "bars": t.bars, "within": t.within, "flat": t.flat, "outside": t.deceived, "lost": t.lost,
            "undecided": t.undecided, "refused": t.refused, "saved": t.saved, "saved_kg": rounded(t.saved_kg, 3),
            "bouts": { "half": t.bouts(0.5), "nine_in_ten": t.bouts(0.9), "most": t.bouts(1.0) },
            "within_in_8_bouts": t.within_bouts(8),
        })
    };
    let bar = |(task, run): &(Task, Result<Run, MakingError>)| match run {
        Ok(run) => json!({
            "note": task.note(), "seed": task.seed, "bouts": run.bouts, "rescues": run.rescues,
            "cents": run.end_cents.iter().map(|c| rounded(*c, 2)).collect::<Vec<_>>(),
            "within": run.within(), "flat": run.flat_through_advice(), "decision": decision_name(run.decision),
        }),
        Err(error) => json!({ "note": task.note(), "seed": task.seed, "refused": error.to_string() }),
    };
    let part = |part: &Part| {
        json!({
            "advice": if part.adviser() == Adviser::Planner { "planner" } else { "greedy" },
            "octaves": part.tallies().iter().map(tally).collect::<Vec<_>>(),
            "bars": part.runs.iter().map(bar).collect::<Vec<_>>(),
        })
    };
    json!({ "invented": true, "seed": seed, "rehearsals": parts.iter().map(part).collect::<Vec<_>>() })
}
