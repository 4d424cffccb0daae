//! The command line: arguments in, text or JSON out, an exit status.
//!
//! Exit status 0: done; 1: refused with a reason; 2: wrong usage. Answers go to stdout in one piece once they
//! are complete; refusals and progress go to stderr.
mod all_cores;
mod answer;
mod arch;
mod args;
mod assign;
mod calendar;
mod certificate;
mod climate;
mod cutlist;
mod demo;
mod devices;
mod doctor;
mod fine;
mod frame;
mod listen;
mod manual;
mod modes;
mod new_file;
mod plan;
mod rehearse;
mod retune;
mod serve;
mod sheet;
mod stock;
mod tubes;
mod workshop;

use crate::diary::{self, Happened};
use crate::error::Refused;
use answer::Subject;
use args::{Cli, Command, SchemaOf};
use clap::{CommandFactory, Parser};
use jiff::Timestamp;
use std::ffi::OsString;
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

pub use all_cores::on_all_cores;
pub use args::{DemoArgs, Place, Struck};

const DONE: u8 = 0;
const REFUSED: u8 = 1;
const WRONG_USAGE: u8 = 2;

/// Runs the program with these arguments, the first being its own name.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    let cli = match Cli::try_parse_from(&args) {
        Ok(cli) => cli,
        Err(error) => return ExitCode::from(usage(&error, args.iter().any(|arg| arg == "--json"))),
    };
    let json = cli.json;
    let command = command_of(&args);
    diary::note_panics();
    match execute(cli) {
        Ok(answer) => ExitCode::from(say(&answer)),
        Err(refused) => {
            diary::note(Happened::Refused(&command, &refused.code), Timestamp::now());
            let text = if json { format!("{}\n", refused.to_json()) } else { format!("{refused}\n") };
            // Nobody is left to tell if stderr is closed.
            let _ = std::io::stderr().write_all(text.as_bytes());
            ExitCode::from(REFUSED)
        }
    }
}

/// The name of the command that was given, as the program itself has it: nothing of what was typed is kept.
fn command_of(args: &[OsString]) -> String {
    let known = Cli::command();
    let typed = args.iter().skip(1).filter_map(|arg| arg.to_str());
    typed
        .filter_map(|word| known.find_subcommand(word))
        .map(|command| command.get_name().to_owned())
        .next()
        .unwrap_or_default()
}

/// Whether the program has these commands and options; values that are missing or stand for others are not looked at.
///
/// # Errors
/// What it does not know, in words.
#[doc(hidden)]
pub fn knows(words: &[String]) -> Result<(), String> {
    use clap::error::ErrorKind as Kind;
    let name = std::iter::once("barwright".to_owned());
    match Cli::try_parse_from(name.chain(words.iter().cloned())) {
        Err(error) if matches!(error.kind(), Kind::UnknownArgument | Kind::InvalidSubcommand) => Err(error.to_string()),
        _ => Ok(()),
    }
}

/// A long match: one arm a command.
fn execute(cli: Cli) -> Result<String, Refused> {
    let form = answer::Form { json: cli.json, units: cli.units, language: cli.language };
    let at = cli.workshop.as_deref();
    match cli.command {
        Command::Modes(args) => modes::modes(&Subject::read(&args.bar)?, &args.wanted, form),
        Command::Listen(args) => listen::listen(&args, form),
        Command::Clock(args) => workshop::clock(at, &args, form),
        Command::Next { bar, stage } => answer::next(&Subject::read(&bar)?, stage, form),
        Command::Arch(args) => {
            let find = |name: &str| Subject::read(Path::new(name));
            arch::arch(&Subject::read_all(&args.bars)?, &args.wanted, &find, form)
        }
        Command::Saw(args) => arch::saw(&Subject::read(&args.bar)?, &args.wanted, form),
        Command::Rescue(args) => arch::rescue(&Subject::read(&args.bar)?, &args.wanted, form),
        Command::Check { bar: Some(bar) } => answer::check(&Subject::read(&bar)?, form),
        Command::Plan(args) => plan::plan(&args, form),
        Command::Calendar(args) => calendar::plan_days(at, &args, form),
        Command::Stock(args) => stock::stock(at, &args, form),
        Command::Assign(args) => assign::assign_blanks(at, &args, form),
        Command::Cutlist(args) => cutlist::cutlist(at, &args, form),
        Command::Rails(args) => frame::rails(at, &args, form),
        Command::Frame(args) => frame::frame(at, &args, form),
        Command::Drill(args) => frame::drill(at, &args, form),
        Command::Fine(args) => fine::fine(at, &args, form),
        Command::Certificate(args) => certificate::certificate(at, &args, form),
        Command::Retune(args) => retune::retune(at, &args, form),
        Command::Sheet(args) => sheet::sheet(at, &args, form),
        Command::Book(args) => sheet::book(at, &args, form),
        Command::Climate(args) => climate::climate(at, &args, form),
        Command::Tubes(args) => tubes::tubes(at, &args, form),
        Command::Check { bar: None } => workshop::check(at, form),
        Command::Bar(args) => workshop::bar(at, &args, form),
        Command::Bars(args) => workshop::bars(at, &args, form),
        Command::Salt(args) => workshop::salt(at, &args, form),
        Command::Workshop { what: None } => workshop::summary(at, form),
        Command::Workshop { what: Some(workshop::WorkshopCommand::New { name }) } => {
            workshop::new(at, &name).map(|text| form.told(text))
        }
        Command::Instrument { what } => workshop::instrument(at, &what).map(|text| form.told(text)),
        Command::Board(args) => workshop::board(at, form.units, &args).map(|text| form.told(text)),
        Command::Person { name } => workshop::person(at, &name).map(|text| form.told(text)),
        Command::Tool { name, grit } => workshop::tool(at, &name, grit).map(|text| form.told(text)),
        Command::Backup { to } => workshop::backup(at, &to, form),
        Command::Restore { from, into } => workshop::restore(&from, &into).map(|text| form.told(text)),
        Command::Export { to } => workshop::export(at, &to, form),
        Command::Import(args) => workshop::import(at, &args, form),
        Command::Relisten => workshop::relisten(at, form),
        Command::Rehearse(args) => rehearse::run(&args, form),
        Command::Schema { of: SchemaOf::Bar } => Ok(records::schema_text()),
        Command::Schema { of: SchemaOf::Event } => Ok(records::workshop::event_schema_text()),
        Command::Schema { of: SchemaOf::Manifest } => Ok(records::workshop::manifest_schema_text()),
        Command::Demo(args) => demo::run(&args, form),
        Command::Serve(args) => serve::run(at, &args),
        Command::Doctor(args) => doctor::doctor(at, &args, form),
        Command::Licences => Ok(include_str!("../../notices.txt").to_owned()),
        Command::Manual { page, find } => manual::read(page.as_deref(), find.as_deref(), form),
        Command::Man { to } => manual::pages(&to, form),
        Command::Completions { shell } => Ok(manual::completions(shell)),
        Command::Devices { what } => devices::run(at, what.as_ref(), form),
    }
}

/// Prints the answer; a reader that has gone (`| head`) is no failure, a full disk is.
fn say(answer: &str) -> u8 {
    let mut out = std::io::stdout().lock();
    match out.write_all(answer.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            let _ = writeln!(std::io::stderr(), "The answer cannot be written: {error}.");
            REFUSED
        }
        _ => DONE,
    }
}

/// Help and version end well; anything else is wrong usage.
fn usage(error: &clap::Error, json: bool) -> u8 {
    let wrong = error.use_stderr();
    if wrong && json {
        let text = error.to_string();
        // Clap's first paragraph says what is wrong; the usage follows after an empty line.
        let lines: Vec<&str> = text.lines().take_while(|line| !line.is_empty()).map(str::trim).collect();
        let message = lines.join(" ").trim_start_matches("error: ").to_owned();
        let refused = Refused::new("usage", message, "see barwright --help");
        let _ = writeln!(std::io::stderr(), "{}", refused.to_json());
    } else {
        let _ = error.print();
    }
    if wrong { WRONG_USAGE } else { DONE }
}
