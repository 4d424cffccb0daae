//! `certificate`: what an instrument was when it was done, sealed.
use super::answer::Form;
use super::fine::ClassWord;
use super::new_file::write_new;
use super::workshop::open;
use crate::certified::document::Given;
use crate::certified::{self, Sealed};
use crate::error::Refused;
use crate::report::certificate as report;
use crate::retuning::last_certificate;
use crate::whole_set::WholeSet;
use clap::{Args, Subcommand};
use jiff::{Timestamp, ToSpan, civil::Date, tz::TimeZone};
use records::workshop::Kind;
use serde_json::json;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct CertificateArgs {
    #[command(subcommand)]
    what: CertificateCommand,
}

#[derive(Debug, Subcommand)]
enum CertificateCommand {
    /// Give a certificate for an instrument as it was last heard, and keep it in the record
    Give(GiveArgs),
    /// Show the last certificate of an instrument, with the advice for its owner
    Show {
        /// The instrument
        instrument: String,
        /// Write its file (a new one)
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Say whether a certificate's file is as it was sealed; needs no record
    Verify {
        /// The file
        file: PathBuf,
        /// The print of the workshop's key, as the paper shows it
        #[arg(long, value_name = "PRINT")]
        key: Option<String>,
    },
}

#[derive(Debug, Args)]
struct GiveArgs {
    /// The instrument
    instrument: String,
    /// Whom it is for: what was good enough
    #[arg(long, value_enum, default_value = "working")]
    class: ClassWord,
    /// Who tuned it
    #[arg(long)]
    by: Option<String>,
    /// Years until the next visit (from memory: the first after one to three)
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(i32).range(1..=20))]
    next_visit: i32,
    /// Write its file (a new one), for the customer
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub(super) fn certificate(at: Option<&Path>, args: &CertificateArgs, form: Form) -> Result<String, Refused> {
    match &args.what {
        CertificateCommand::Give(give) => given(at, give, form),
        CertificateCommand::Show { instrument, out } => {
            let workshop = open(at)?;
            let found = workshop.find(Kind::Instrument, instrument)?;
            let (_, sealed) = last_certificate(&workshop, found.uid, None)?.ok_or_else(|| {
                let hint = "give one: barwright certificate give NAME";
                Refused::new("no_certificate", format!("{} has no certificate", found.name), hint)
            })?;
            told(&sealed, out.as_deref(), form)
        }
        CertificateCommand::Verify { file, key } => verify(file, key.as_deref(), form),
    }
}

fn given(at: Option<&Path>, args: &GiveArgs, form: Form) -> Result<String, Refused> {
    let mut workshop = open(at)?;
    let found = workshop.find(Kind::Instrument, &args.instrument)?;
    let set = WholeSet::of(&workshop, found.uid, &found.name)?;
    let date: Date = Timestamp::now().to_zoned_datetime(TimeZone::system()).date();
    let given = Given {
        workshop: workshop.list(Kind::Workshop)?.first().map_or_else(String::new, |named| named.name.clone()),
        date,
        next_visit: date.checked_add(args.next_visit.years()).unwrap_or(date),
        tuned_by: args.by.clone(),
        class: args.class.into(),
    };
    let sealed = certified::give(&mut workshop, &set, &given, Timestamp::now())?;
    told(&sealed, args.out.as_deref(), form)
}

fn told(sealed: &Sealed, out: Option<&Path>, form: Form) -> Result<String, Refused> {
    if let Some(path) = out {
        write_new(path, sealed.text()?.as_bytes())?;
    }
    let value = serde_json::to_value(sealed)
        .map_err(|error| Refused::new("not_a_certificate", error.to_string(), "try again"))?;
    Ok(form.put(|| value, || report::to_text(sealed)))
}

fn verify(file: &Path, key: Option<&str>, form: Form) -> Result<String, Refused> {
    let text = std::fs::read_to_string(file).map_err(|error| {
        let message = format!("{} cannot be read: {error}", file.display());
        Refused::new("unreadable", message, "check the name and the folder")
    })?;
    let about = |refused: Refused| refused.about_file(file);
    let sealed = Sealed::read(&text).map_err(about)?;
    let checked = sealed.check().map_err(about)?;
    let plain = |print: &str| print.split_whitespace().collect::<String>().to_lowercase();
    if let Some(wanted) = key.filter(|wanted| plain(wanted) != plain(&checked.key_print)) {
        let message = format!("it was sealed with the key {}, not {wanted}", checked.key_print);
        return Err(about(Refused::new("other_key", message, "another workshop's, or a new key: ask the workshop")));
    }
    let known = key.map_or_else(
        || format!("Compare the key's print with the paper: {}.\n", checked.key_print),
        |_| "It was sealed with that key.\n".to_owned(),
    );
    let certificate = &sealed.certificate;
    Ok(form.put(
        || json!({ "true": true, "sha256": checked.sha256, "key": checked.key_print, "instrument": certificate.instrument, "date": certificate.date }),
        || format!("{} of {}, {}: as it was sealed.\n{known}", certificate.instrument, certificate.workshop, certificate.date),
    ))
}
