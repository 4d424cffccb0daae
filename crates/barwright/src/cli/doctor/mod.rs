//! `doctor`: whether this computer and the workshop's folder are fit for the work, in words that can be read out to whoever helps.
mod archive;
mod machine;

use super::answer::Form;
use super::new_file::write_new;
use super::workshop::folder;
use crate::error::{Refused, sentence};
use crate::report::units::plain;
use clap::Args;
use jiff::Timestamp;
use records::workshop::{BACKUP_FOLDER, Workshop};
use serde_json::json;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct DoctorArgs {
    /// Write what was found to a new text file, to be read and then sent to whoever helps: what is printed here and nothing more
    #[arg(long, value_name = "FILE")]
    report: Option<PathBuf>,
    /// Write a new ZIP archive with it and with the program's own notes of what went wrong; no names, readings or sounds
    #[arg(long, value_name = "FILE")]
    archive: Option<PathBuf>,
}

/// How it stands with one thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Good,
    Look,
    Bad,
}

/// One thing that was looked at.
#[derive(Debug)]
struct Finding {
    what: &'static str,
    state: State,
    words: String,
    /// The same for somebody else's eyes, where the words may name things.
    for_others: Option<String>,
    /// What helps.
    next: Option<String>,
}

impl Finding {
    fn good(what: &'static str, words: String) -> Self {
        Self { what, state: State::Good, words, for_others: None, next: None }
    }

    fn not_good(what: &'static str, state: State, words: String, next: impl Into<String>) -> Self {
        Self { what, state, words, for_others: None, next: Some(next.into()) }
    }
}

/// Four days of work in a large workshop: some 400 takes of 1 MB a day, and a copy of the record (a judgement).
const ENOUGH_BYTES: u64 = 2_000_000_000;
/// A copy is made on every day of work: one this old means that none is made any more, or that nobody worked.
const OLD_COPY_DAYS: f64 = 14.0;

pub(super) fn doctor(at: Option<&Path>, args: &DoctorArgs, form: Form) -> Result<String, Refused> {
    let mut findings = vec![program(), machine::processors(), machine::browser()];
    findings.extend(machine::sound());
    let folder = folder(at)?;
    findings.extend(disk(&folder));
    findings.extend(workshop(&folder));
    let text = without_home(&in_words(&findings));
    if let Some(to) = &args.report {
        write_new(to, text.as_bytes())?;
    }
    if let Some(to) = &args.archive {
        write_new(to, &archive::of(&for_others(&findings, &folder), &folder)?)?;
    }
    let written = args.report.as_ref().or(args.archive.as_ref());
    let bad = findings.iter().any(|finding| finding.state == State::Bad);
    Ok(form.put(
        || {
            let finding = |finding: &Finding| {
                let state = match finding.state {
                    State::Good => "good",
                    State::Look => "look",
                    State::Bad => "bad",
                };
                json!({ "what": finding.what, "state": state, "words": without_home(&finding.words), "next": finding.next })
            };
            json!({ "fit": !bad, "findings": findings.iter().map(finding).collect::<Vec<_>>() })
        },
        || match written {
            Some(to) => format!("{text}\nWritten to {}: read it before you send it.\n", to.display()),
            None => text.clone(),
        },
    ))
}

fn in_words(findings: &[Finding]) -> String {
    let line = |finding: &Finding| {
        let mark = match finding.state {
            State::Good => "ok   ",
            State::Look => "look ",
            State::Bad => "BAD  ",
        };
        let next = finding.next.as_ref().map_or_else(String::new, |next| format!("       {}\n", sentence(next)));
        format!("{mark}{}: {}\n{next}", finding.what, finding.words)
    };
    findings.iter().map(line).collect()
}

/// The findings for somebody else: a folder may be called after its owner, a problem after the bar it is about.
fn for_others(findings: &[Finding], folder: &Path) -> String {
    let plain = |finding: &Finding| Finding {
        what: finding.what,
        state: finding.state,
        words: finding.for_others.clone().unwrap_or_else(|| finding.words.clone()),
        for_others: None,
        next: finding.next.clone(),
    };
    let findings: Vec<Finding> = findings.iter().map(plain).collect();
    without_home(&in_words(&findings).replace(&folder.display().to_string(), "the workshop's folder"))
}

/// The user's name often stands in the path of his folder: it is nobody else's affair.
fn without_home(text: &str) -> String {
    let home = directories::BaseDirs::new().map(|dirs| dirs.home_dir().display().to_string());
    match home.filter(|home| home.len() > 1) {
        Some(home) => text.replace(&home, "~"),
        None => text.to_owned(),
    }
}

fn program() -> Finding {
    let words =
        format!("barwright {} on {} {}", env!("CARGO_PKG_VERSION"), std::env::consts::OS, std::env::consts::ARCH);
    Finding::good("program", words)
}

fn disk(folder: &Path) -> Option<Finding> {
    // Where the folder is not there yet, what it will lie in.
    let there = folder.ancestors().find(|path| path.exists())?;
    Some(match fs4::available_space(there) {
        Ok(free) if free >= ENOUGH_BYTES => Finding::good("disk", format!("{} GB free", plain(free as f64 * 1e-9, 1))),
        Ok(free) => Finding::not_good(
            "disk",
            State::Look,
            format!("only {} GB free", plain(free as f64 * 1e-9, 1)),
            "make room: sounds and daily copies need some hundred megabytes on a day of work",
        ),
        Err(error) => {
            Finding::not_good("disk", State::Look, format!("its room is not known ({error})"), "look at it yourself")
        }
    })
}

fn workshop(folder: &Path) -> Vec<Finding> {
    if !folder.exists() {
        return vec![Finding::not_good(
            "workshop",
            State::Look,
            format!("none yet in {}", folder.display()),
            "set one up: barwright workshop new --name NAME",
        )];
    }
    let mut findings = Vec::new();
    findings.push(match tempfile::NamedTempFile::new_in(folder) {
        Ok(_) => Finding::good("folder", format!("{} can be written", folder.display())),
        Err(error) => Finding::not_good(
            "folder",
            State::Bad,
            format!("{} cannot be written ({error})", folder.display()),
            "give your user the right to write there, or take another folder: --workshop",
        ),
    });
    let record = match Workshop::open(folder, Timestamp::now()) {
        Ok(record) => record,
        Err(error) => {
            let for_others = Some(error.code.to_owned());
            findings.push(Finding { for_others, ..Finding::not_good("record", State::Bad, error.message, error.hint) });
            return findings;
        }
    };
    findings.push(match record.check(|_, _| ()) {
        Ok(report) if report.sound() => Finding::good(
            "record",
            format!(
                "sound: {} things, {} events, {} takes, {} photographs",
                report.things, report.events, report.takes, report.photos
            ),
        ),
        Ok(report) => Finding {
            for_others: Some(format!("{} problems", report.problems.len())),
            ..Finding::not_good(
                "record",
                State::Bad,
                format!("{} problems: {}", report.problems.len(), report.problems.join(" ")),
                "keep the folder as it is; restore the newest sound copy into a new one to compare: barwright restore",
            )
        },
        Err(error) => {
            let for_others = Some(error.code.to_owned());
            Finding { for_others, ..Finding::not_good("record", State::Bad, error.message, error.hint) }
        }
    });
    findings.push(copies(folder));
    findings
}

/// The newest of the automatic copies.
fn copies(folder: &Path) -> Finding {
    let newest = std::fs::read_dir(folder.join(BACKUP_FOLDER))
        .ok()
        .and_then(|entries| entries.flatten().filter_map(|entry| entry.metadata().ok()?.modified().ok()).max());
    let days = match newest.map(|at| at.elapsed()) {
        Some(Ok(age)) => Some(age.as_secs_f64() / 86_400.0),
        Some(Err(_)) => {
            let words = "the newest is dated later than now".to_owned();
            return Finding::not_good(
                "copies",
                State::Look,
                words,
                "set this computer's clock: events are dated by it",
            );
        }
        None => None,
    };
    match days {
        Some(days) if days < OLD_COPY_DAYS => {
            Finding::good("copies", format!("the newest is {} days old", plain(days.floor(), 0)))
        }
        Some(days) => Finding::not_good(
            "copies",
            State::Look,
            format!("the newest is {} days old", plain(days.floor(), 0)),
            "one is made on every day of work; make one on another disk: barwright backup FOLDER",
        ),
        None => Finding::not_good(
            "copies",
            State::Look,
            "there is none yet".to_owned(),
            "one is made on every day of work; make one on another disk: barwright backup FOLDER",
        ),
    }
}
