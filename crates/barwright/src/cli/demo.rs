//! `demo`: an invented workshop. A simulated bar is struck, heard, advised and cut by a clumsy hand until it is
//! tuned; the sound is synthetic, everything else is the real thing.
mod invented;
mod years;

use super::answer::Form;
use super::args::DemoArgs;
use super::serve::open_page;
use crate::audio;
use crate::bench::Bench;
use crate::convert;
use crate::error::Refused;
use crate::page::ServeOptions;
use crate::report;
use indicatif::{ProgressBar, ProgressStyle};
use making::virtual_bench::{self, VirtualBar};
use making::{Advice, Decision, Event, Job};
use records::Note;
use std::io::Write;
use std::time::Duration;
use strike::synth::{self, SynthMode};

/// More bouts than this and the demo gives up, saying so.
const MOST_BOUTS: u32 = 16;
const A4_HZ: f64 = 440.0;
/// Temperature of the invented workshop, of the bar too.
const BAR_C: f64 = 21.0;
const RATE_HZ: f64 = 48_000.0;
/// Ring recorded after each blow; bass bars ring about this long.
const RING_S: f64 = 1.5;
/// Silence before the blow.
const LEAD_S: f64 = 0.3;
/// Peak level of a blow and the noise of the room below it: about 54 dB apart, a quiet workshop.
const PEAK: f64 = 0.5;
const NOISE_RMS: f64 = 0.001;

/// How the demo ended.
struct Outcome {
    bench: Bench,
    ending: String,
}

pub(super) fn run(args: &DemoArgs, form: Form) -> Result<String, Refused> {
    if let Some(years) = args.years {
        return years::run(args, years, form);
    }
    let note: Note = args.note.parse()?;
    if let Some(path) = args.bar_out.as_deref().filter(|path| path.exists()) {
        let message = format!("{} exists already; it is left as it is", path.display());
        return Err(Refused::new("exists", message, "give another name, or move the old file away"));
    }
    let progress = if form.json { ProgressBar::hidden() } else { progress() };
    let tell = Teller { progress, quiet: form.json };
    let outcome = work(&note, args.seed, &tell)?;
    tell.progress.finish_and_clear();
    let Outcome { bench, ending } = outcome;
    if let Some(path) = &args.bar_out {
        bench.file().save_new(path)?;
    }
    let answer = if form.json {
        format!("{}\n", to_json(&bench, args.seed)?)
    } else {
        let table = report::bouts::table(bench.bouts(), form.units);
        format!("Invented workshop, simulated bar {note}, seed {}.\n\n{table}\n{ending}\n", args.seed)
    };
    if args.no_serve {
        return Ok(answer);
    }
    // The page runs until it is interrupted: the table must be seen before.
    super::say(&answer);
    // The folder is removed when the page ends.
    let (_folder, desk) = invented::workshop(&bench, args.seed)?;
    open_page(desk, ServeOptions { port: args.port, open: !args.no_open, lan: None })
}

fn progress() -> ProgressBar {
    let bar = ProgressBar::new_spinner();
    // The template is a constant; should it ever be wrong, the plain spinner serves as well.
    if let Ok(style) = ProgressStyle::with_template("{spinner} {elapsed:>4}  {msg}") {
        bar.set_style(style);
    }
    bar.enable_steady_tick(Duration::from_millis(120));
    bar
}

/// Tells how far the demo is, on stderr; nothing with `--json`, where stderr is for refusals.
struct Teller {
    progress: ProgressBar,
    quiet: bool,
}

impl Teller {
    /// What is being done just now, beside the spinner.
    fn doing(&self, what: String) {
        self.progress.set_message(what);
    }

    /// A line that stays: above the spinner, or plain where stderr is no terminal.
    fn line(&self, line: String) {
        if self.quiet {
            return;
        }
        if self.progress.is_hidden() {
            // Nobody is left to tell if stderr is closed.
            let _ = writeln!(std::io::stderr(), "{line}");
        } else {
            self.progress.println(line);
        }
    }
}

/// Strikes, asks, cuts, until there is nothing more to cut.
fn work(note: &Note, seed: u64, tell: &Teller) -> Result<Outcome, Refused> {
    tell.line(format!("Invented workshop, simulated bar {note}: synthetic blows through the real listener."));
    let mut bar = VirtualBar::new(seed, note.hz(A4_HZ))?;
    let mut bench = Bench::in_memory(convert::file_of_job(&before_the_last_reading(bar.job()), note)?, true);
    for bout in 1..=MOST_BOUTS {
        tell.doing(format!("bout {bout}: striking and listening"));
        strike_and_hear(&bar, &mut bench, seed.wrapping_add(u64::from(bout)))?;
        tell.doing(format!("bout {bout}: where to cut next"));
        let advice = bench.advise()?;
        tell.line(format!("bout {bout}: {}. {}", readings(&bench), advice.instruction));
        match advice.decision {
            Decision::Cut => {
                let passes = passes(&advice);
                bar.cut(&advice.bands, passes)?;
                bench.cut(&advice.bands, passes)?;
            }
            // The bar of the demo has cooled and lies still: another blow is all that "wait" can ask for.
            Decision::Wait => {}
            Decision::Finished => {
                let cuts = bench.file().log().iter().filter(|entry| entry.key() == "cut").count();
                let ending = format!("Tuned in {cuts} bouts of cutting. {}\n{}", advice.instruction, truth(&bar)?);
                return Ok(Outcome { bench, ending });
            }
            Decision::Rescue => return Ok(Outcome { bench, ending: advice.instruction.clone() }),
        }
    }
    Ok(Outcome { bench, ending: format!("Not finished after {MOST_BOUTS} bouts; the demo stops here.") })
}

/// Passes entered: the middle of the range advised.
fn passes(advice: &Advice) -> Option<u32> {
    advice.passes.map(|(low, high)| low.midpoint(high).max(1))
}

/// The virtual bench reads its sawn bar by itself; here that reading is taken by listening instead.
fn before_the_last_reading(job: &Job) -> Job {
    let mut job = job.clone();
    if matches!(job.log.last(), Some(Event::Heard(_))) {
        job.log.pop();
    }
    job
}

/// The hidden bar's own modes, which neither the listener nor the advice ever saw.
fn truth(bar: &VirtualBar) -> Result<String, Refused> {
    let cents: Vec<String> = bar.true_cents()?.into_iter().map(report::units::cents).collect();
    let (thinnest_mm, limit_mm) = (1e3 * bar.hidden().underside.thinnest().1, 1e3 * bar.job().limits.min_thickness_m);
    Ok(format!(
        "The hidden bar's true modes lie {} cents from their targets; its thinnest wood is {thinnest_mm:.1} mm (limit {limit_mm:.0}).",
        cents.join(", ")
    ))
}

/// One blow: at the quarter, where every tuned mode sounds; in the middle if only mode 1 is tuned, for there
/// the twisting mode next to it is silent.
fn strike_and_hear(bar: &VirtualBar, bench: &mut Bench, seed: u64) -> Result<(), Refused> {
    let (place, told) = match bench.tuned() {
        1 => (virtual_bench::StrikePlace::Centre, strike::StrikePlace::Centre),
        _ => (virtual_bench::StrikePlace::Quarter, strike::StrikePlace::Quarter),
    };
    let struck = bar.strike(place)?;
    let loudness: f64 = struck.iter().map(|m| m.amplitude).sum();
    let modes: Vec<SynthMode> = struck
        .iter()
        // A blow starts every mode from rest: as sines.
        .map(|m| SynthMode {
            hz: m.hz,
            decay_s: m.decay_s,
            amplitude: PEAK * m.amplitude / loudness,
            phase_rad: -std::f64::consts::FRAC_PI_2,
        })
        .collect();
    let samples = synth::blow(&modes, RATE_HZ, RING_S, LEAD_S, NOISE_RMS, seed);
    let wav = audio::write_wav(&samples, RATE_HZ as u32)?;
    bench.hear_at(&wav, Some(told), Some(BAR_C))?;
    Ok(())
}

/// The last reading in cents from the targets.
fn readings(bench: &Bench) -> String {
    let Some(row) = bench.bouts().last() else { return String::new() };
    let mode = |m: &crate::bench::BoutMode| match m.cents {
        Some(cents) => format!("mode {} {}", m.mode, report::units::cents(cents)),
        None => format!("mode {} not heard", m.mode),
    };
    row.modes.iter().map(mode).collect::<Vec<_>>().join(", ")
}

fn to_json(bench: &Bench, seed: u64) -> Result<serde_json::Value, Refused> {
    let bouts: Vec<serde_json::Value> = bench.bouts().iter().map(report::bouts::to_json).collect();
    Ok(serde_json::json!({
        "invented": true,
        "seed": seed,
        "bouts": bouts,
        "next": report::next::to_json(&*bench.advise()?),
    }))
}
