//! Copies, checks, everything out and in.
use super::args::ImportArgs;
use super::{folder, open};
use crate::cli::answer::Form;
use crate::error::Refused;
use crate::progress;
use jiff::Timestamp;
use records::workshop::{ArchiveLimits, restore as restore_record};
use serde_json::json;
use std::path::Path;

pub(in crate::cli) fn backup(at: Option<&Path>, to: &Path, form: Form) -> Result<String, Refused> {
    let report = open(at)?.backup(to)?;
    let (takes, photos) = (report.takes, report.photos);
    let lost = match takes.lost + photos.lost {
        0 => String::new(),
        n => format!("{n} takes or photographs are missing or altered here; run `barwright check`.\n"),
    };
    Ok(form.put(
        || {
            json!({ "record": report.record,
                "takes_copied": takes.copied, "takes_there": takes.there, "takes_lost": takes.lost,
                "photos_copied": photos.copied, "photos_there": photos.there, "photos_lost": photos.lost })
        },
        || {
            format!(
                "Copied and verified: {} ({} takes and {} photographs copied, {} files were there).\n{lost}",
                report.record.display(),
                takes.copied,
                photos.copied,
                takes.there + photos.there
            )
        },
    ))
}

pub(in crate::cli) fn restore(from: &Path, into: &Path) -> Result<String, Refused> {
    restore_record(from, into)?;
    Ok(format!("Brought back into {}. Look at it with --workshop, then move it where it shall stay.\n", into.display()))
}

pub(in crate::cli) fn check(at: Option<&Path>, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let bar = progress::bar(Some(0), "checked");
    let report = workshop.check(|done, all| progress::at(&bar, done, all))?;
    bar.finish_and_clear();
    if !report.sound() {
        let message = format!("{} problems: {}", report.problems.len(), report.problems.join(" "));
        let hint = "keep the folder as it is, and restore the newest sound backup into a new one to compare";
        return Err(Refused::new("damaged", message, hint));
    }
    Ok(form.put(
        || {
            json!({ "ok": true, "things": report.things, "events": report.events, "takes": report.takes,
            "photos": report.photos })
        },
        || {
            format!(
                "The record is sound: {} things, {} events, {} takes, {} photographs looked at.\n",
                report.things, report.events, report.takes, report.photos
            )
        },
    ))
}

pub(in crate::cli) fn export(at: Option<&Path>, to: &Path, form: Form) -> Result<String, Refused> {
    let workshop = open(at)?;
    let bar = progress::bar(Some(0), "events written");
    let report = workshop.export(to, Timestamp::now(), |done, all| progress::at(&bar, done, all))?;
    bar.finish_and_clear();
    Ok(form.put(
        || {
            json!({ "things": report.things, "events": report.events, "takes": report.takes,
                "takes_lost": report.takes_lost, "photos": report.photos, "photos_lost": report.photos_lost })
        },
        || {
            format!(
                "Written: {} ({} things, {} events, {} takes, {} photographs; {} of these files are missing).\n",
                to.display(),
                report.things,
                report.events,
                report.takes,
                report.photos,
                report.takes_lost + report.photos_lost
            )
        },
    ))
}

pub(in crate::cli) fn import(at: Option<&Path>, args: &ImportArgs, form: Form) -> Result<String, Refused> {
    let mut workshop = open(at)?;
    if args.from.is_dir() {
        return super::recordings::import(&mut workshop, args, form);
    }
    let extension = args.from.extension().and_then(|extension| extension.to_str()).unwrap_or("").to_lowercase();
    if matches!(extension.as_str(), "csv" | "xlsx" | "ods" | "xls") {
        return super::sheet::import(&mut workshop, args, form);
    }
    let report = workshop.import(&args.from, args.dry_run, ArchiveLimits::default())?;
    let diverged: Vec<String> = report.diverged.iter().map(ToString::to_string).collect();
    Ok(form.put(
        || {
            json!({ "dry_run": args.dry_run, "things_new": report.things_new, "events_new": report.events_new,
                "events_known": report.events_known, "takes_new": report.takes_new,
                "photos_new": report.photos_new, "diverged": diverged })
        },
        || {
            let verb = if args.dry_run { "Would bring" } else { "Brought" };
            let apart = match diverged.len() {
                0 => String::new(),
                n => {
                    format!("{n} went on differently here and there; left as they are here: {}.\n", diverged.join(", "))
                }
            };
            format!(
                "{verb} {} new things, {} new events, {} takes, {} photographs into {}; {} events were here already.\n{apart}",
                report.things_new,
                report.events_new,
                report.takes_new,
                report.photos_new,
                folder(at).unwrap_or_default().display(),
                report.events_known
            )
        },
    ))
}
