//! `rehearse`: invented bars on all cores, tuned by the advice and an invented hand.
use super::all_cores::on_all_cores;
use super::answer::Form;
use super::args::RehearseArgs;
use crate::error::Refused;
use crate::progress;
use crate::report::rehearse::{Part, to_json, to_text};
use indicatif::ProgressBar;
use making::virtual_bench::{self, Adviser, LAST_STEP, Task};
use records::Note;
use std::time::Instant;

/// C2 counted from A4.
const C2_ABOVE_A4: i32 = -33;

pub(super) fn run(args: &RehearseArgs, form: Form) -> Result<String, Refused> {
    let (low, high) = notes(&args.notes)?;
    let advisers: &[Adviser] = if args.greedy { &[Adviser::Planner, Adviser::Greedy] } else { &[Adviser::Planner] };
    let rows: Vec<Vec<Task>> =
        advisers.iter().map(|adviser| virtual_bench::row(args.bars, low, high, args.seed, *adviser)).collect();
    let bars: usize = rows.iter().map(Vec::len).sum();
    let progress = if form.json { ProgressBar::hidden() } else { progress::bar(Some(bars as u64), "invented bars") };
    let clock = Instant::now();
    let parts: Vec<Part> = rows.iter().map(|tasks| work(tasks, &progress)).collect();
    progress.finish_and_clear();
    let elapsed_s = clock.elapsed().as_secs_f64();
    Ok(if form.json { format!("{}\n", to_json(&parts, args.seed)) } else { to_text(&parts, args.seed, elapsed_s) })
}

/// Rehearses the tasks on all cores; the answer is in their order whatever the order they end in.
fn work(tasks: &[Task], progress: &ProgressBar) -> Part {
    let runs = on_all_cores(tasks, &|task: &Task| {
        let run = virtual_bench::rehearse(task.seed, task.note_hz(), task.adviser);
        progress.inc(1);
        (*task, run)
    });
    Part { runs }
}

/// Steps above C2 of "C2-C7".
fn notes(text: &str) -> Result<(u32, u32), Refused> {
    let refuse = |message: String| {
        Refused::new("wrong_notes", message, "give the lowest and the highest note within C2-C7, e.g. C3-B3")
    };
    let (low, high) = text.split_once('-').unwrap_or((text, text));
    let step = |name: &str| -> Result<u32, Refused> {
        let note: Note = name.parse().map_err(|_| refuse(format!("\"{name}\" is not a note")))?;
        u32::try_from(note.semitones_above_a4() - C2_ABOVE_A4)
            .ok()
            .filter(|step| *step <= LAST_STEP)
            .ok_or_else(|| refuse(format!("{name} lies outside C2-C7, the notes the virtual bench knows sizes for")))
    };
    let (low, high) = (step(low)?, step(high)?);
    if low > high {
        return Err(refuse(format!("{text} runs downward")));
    }
    Ok((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_are_steps_above_c2() {
        assert_eq!(notes("C2-C7").ok(), Some((0, 60)));
        assert_eq!(notes("C3").ok(), Some((12, 12)));
        for wrong in ["C1-C3", "C5-C3", "X2-C3", "C2-D7"] {
            assert_eq!(notes(wrong).map_err(|e| e.to_json()["error"]["code"].clone()), Err("wrong_notes".into()));
        }
    }
}
