//! `demo --years`: a whole invented marimba through tuning, certificate, years of playing, and retuning.
use super::{Teller, progress};
use crate::bench::Desk;
use crate::certified::{self, Sealed, document::Given};
use crate::cli::answer::Form;
use crate::cli::args::DemoArgs;
use crate::cli::say;
use crate::cli::serve::open_page;
use crate::error::Refused;
use crate::invented_set::{InventedSet, Mended, NAME};
use crate::page::ServeOptions;
use crate::report;
use crate::retuning::Triage;
use crate::whole_set::{WholeSet, sounds};
use indicatif::ProgressBar;
use jiff::{Timestamp, ToSpan, tz::TimeZone};
use making::fine::{Class, evenness, judge};
use making::retune::set_drift;
use records::workshop::Kind;
use serde_json::json;

/// C2 to C7.
const COMPASS: [i32; 2] = [36, 96];
const CLASS: Class = Class::Working;

/// What happened, in words, one paragraph a stage.
struct Story {
    paragraphs: Vec<String>,
    sealed: [Sealed; 2],
    mended: Mended,
}

pub(super) fn run(args: &DemoArgs, years: i64, form: Form) -> Result<String, Refused> {
    let bar = if form.json { ProgressBar::hidden() } else { progress() };
    let tell = Teller { progress: bar, quiet: form.json };
    tell.line(format!(
        "Invented workshop, {NAME} C2 to C7: simulated bars, simulated years; everything else is the real thing."
    ));
    let no_folder = |error: std::io::Error| {
        Refused::new("not_saved", format!("no folder could be made: {error}"), "make room on the disk")
    };
    let folder = tempfile::tempdir().map_err(no_folder)?;
    // It ends about now, so that nothing in its record lies in the future.
    let start = Timestamp::now() - (24 * (365 * years + 150)).hours();
    tell.doing("61 bars are planned, made and struck".to_owned());
    let mut set = InventedSet::new(folder.path(), COMPASS, args.seed, start, true)?;
    let story = story(&mut set, years, &tell)?;
    tell.progress.finish_and_clear();
    let answer = if form.json {
        format!("{}\n", to_json(&story, args.seed, years))
    } else {
        format!("Invented workshop, {NAME}, seed {}.\n\n{}\n", args.seed, story.paragraphs.join("\n\n"))
    };
    if args.no_serve {
        return Ok(answer);
    }
    say(&answer);
    open_page(Desk::of_record(set.workshop, true), ServeOptions { port: args.port, open: !args.no_open, lan: None })
}

fn story(set: &mut InventedSet, years: i64, tell: &Teller) -> Result<Story, Refused> {
    let mut paragraphs = Vec::new();
    let mut say = |words: String| {
        tell.line(words.clone());
        paragraphs.push(words);
    };
    let whole = WholeSet::of(&set.workshop, set.instrument, NAME)?;
    let judged = judge(&whole.fine_bars(set.now()), CLASS);
    say(format!("Tuned: {} of {} bars.", report::fine::counted(&judged), whole.bars.len()));
    tell.doing("the kept sounds are heard again".to_owned());
    let sounds = sounds(&set.workshop, &whole)?;
    let even = evenness(&sounds);
    let named: Vec<String> = even
        .outliers
        .iter()
        .map(|outlier| format!("{} {}", sounds[outlier.bar].name, report::fine::outlier_words(outlier)))
        .collect();
    let heard = sounds.iter().filter(|sound| sound.ring_s[0].is_some()).count();
    say(format!(
        "Evenness: {heard} rings heard; stands out: {}.",
        if named.is_empty() { "none".to_owned() } else { named.join("; ") }
    ));
    let first = certify(set)?;
    say(format!(
        "Certified on {}. {}.",
        first.certificate.date,
        report::certificate::seal_words(&first).replace('\n', ", ")
    ));
    tell.doing("years go by".to_owned());
    set.years_later(years)?;
    tell.doing("the maker works through the bars".to_owned());
    let mended = set.mend(CLASS)?;
    say(format!("{years} years later: {}", triage_words(&mended.first)));
    say(format!(
        "Retuned with a hand that misses depths by 15 %: {} cuts, {} pairs of ends sawn, {} bars dried first. Now: {}.",
        mended.cuts,
        mended.trims,
        mended.dried,
        report::retune::counted(&mended.last)
    ));
    let second = certify(set)?;
    say(format!("Certified again on {}.", second.certificate.date));
    Ok(Story { paragraphs, sealed: [first, second], mended })
}

fn certify(set: &mut InventedSet) -> Result<Sealed, Refused> {
    let whole = WholeSet::of(&set.workshop, set.instrument, NAME)?;
    let date = set.now().to_zoned_datetime(TimeZone::UTC).date();
    let given = Given {
        workshop: set.workshop.list(Kind::Workshop)?.first().map_or_else(String::new, |named| named.name.clone()),
        date,
        next_visit: date.checked_add(2.years()).unwrap_or(date),
        tuned_by: None,
        class: CLASS,
    };
    let now = set.now();
    certified::give(&mut set.workshop, &whole, &given, now)
}

fn triage_words(triage: &Triage) -> String {
    let drift = set_drift(&triage.bars).map_or_else(String::new, |drift| {
        format!(
            "the set went {} cents, half of its bars within {} of that. ",
            report::units::cents(drift.median_cents),
            report::units::plain(drift.half_within_cents, 1)
        )
    });
    format!(
        "{drift}{}; some {} hours.",
        report::retune::counted(triage),
        report::units::plain(triage.minutes / 60.0, 0)
    )
}

fn to_json(story: &Story, seed: u64, years: i64) -> serde_json::Value {
    let count = |triage: &Triage| {
        let mut counts = serde_json::Map::new();
        for bar in &triage.bars {
            let entry = counts.entry(report::retune::code(&bar.work)).or_insert(json!(0));
            *entry = json!(entry.as_u64().unwrap_or(0) + 1);
        }
        counts
    };
    json!({
        "invented": true, "seed": seed, "years": years, "story": story.paragraphs,
        "triage": count(&story.mended.first), "afterwards": count(&story.mended.last),
        "cuts": story.mended.cuts, "trims": story.mended.trims, "dried": story.mended.dried,
        "certificates": story.sealed.iter().map(|sealed| sealed.seal.sha256.clone()).collect::<Vec<_>>(),
    })
}
