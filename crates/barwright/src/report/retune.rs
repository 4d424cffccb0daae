//! An instrument that is back, as text and JSON.
use super::units::{Units, cents, cents_with_sigma, plain};
use crate::convert::rounded;
use crate::retuning::{Back, Triage};
use making::fine::Class;
use making::retune::{Lowering, Triaged, Trimming, Work, set_drift};
use serde_json::{Value, json};
use words::tell;

/// What was asked.
#[derive(Debug, Clone)]
pub struct Answer<'a> {
    /// What is known of it.
    pub back: &'a Back,
    /// Whom it is for.
    pub class: Class,
    /// One for each pitch that was asked about.
    pub triages: Vec<Triage>,
    /// Price of an hour, in the maker's money.
    pub rate: Option<f64>,
}

/// Said before wood is taken off an old instrument.
const CAUTION: &str = "Read first, then cut: bars unstrung and at rest in the room for two days. A flat bar is dried before it is cut. Look at every hole for cracks. Sanding dust of old finishes and \
                       rosewood sensitises: extraction and a mask.";

/// The stable word for a piece of work.
pub fn code(work: &Work) -> &'static str {
    match work {
        Work::Leave => "leave",
        Work::Strike(_) => "strike",
        Work::LookAt(_) => "look_at",
        Work::Lower(_) => "lower",
        Work::DryFirst(_) => "dry_first",
        Work::Trim(_) => "trim",
        Work::Replace(_) => "replace",
    }
}

/// A piece of work in words.
pub fn words(work: &Work, units: Units) -> String {
    match work {
        Work::Leave => tell!("work-leave"),
        Work::Strike(why) => tell!("work-strike", why = why.as_str()),
        Work::LookAt(what) => tell!("work-look-at", what = what.as_str()),
        Work::Lower(modes) => {
            let parts: Vec<String> = modes.iter().map(|lowering| lowering_words(lowering, units)).collect();
            tell!("work-lower", parts = parts.join(&tell!("then")))
        }
        Work::DryFirst(Some((rise, sigma))) => {
            tell!("work-dry", cents = cents_with_sigma(*rise, *sigma))
        }
        Work::DryFirst(None) => tell!("work-dry-unknown"),
        Work::Trim(trim) => trim_words(trim, units),
        Work::Replace(why) => tell!("work-replace", why = why.as_str()),
    }
}

fn lowering_words(lowering: &Lowering, units: Units) -> String {
    let head = tell!("lower-mode", mode = lowering.mode, cents = plain(lowering.by_cents, 1));
    match &lowering.stroke {
        Ok(stroke) if stroke.from_m > 0.0 => tell!(
            "lower-about",
            head = head,
            depth = units.depth(stroke.depth_m * 1e3),
            from = units.place(stroke.from_m * 1e3),
            to = units.place(stroke.to_m * 1e3),
        ),
        Ok(stroke) => tell!("lower-centre", head = head, depth = units.depth(stroke.depth_m * 1e3)),
        Err(why) => format!("{head} ({why})"),
    }
}

fn trim_words(trim: &Trimming, units: Units) -> String {
    let then: Vec<String> = trim.then_cents.iter().map(|c| cents(*c)).collect();
    tell!(
        "work-trim",
        each = units.depth(trim.each_end_m * 1e3),
        then = then.join("/"),
        holes = units.depth(trim.holes_off_m * 1e3)
    )
}

/// How many bars need what.
pub fn counted(triage: &Triage) -> String {
    let count = |kind: &str| triage.bars.iter().filter(|bar| code(&bar.work) == kind).count();
    let kinds = [
        ("leave", tell!("count-leave", n = count("leave"))),
        ("lower", tell!("count-lower", n = count("lower"))),
        ("dry_first", tell!("count-dry", n = count("dry_first"))),
        ("trim", tell!("count-trim", n = count("trim"))),
        ("look_at", tell!("count-look", n = count("look_at"))),
        ("strike", tell!("count-strike", n = count("strike"))),
        ("replace", tell!("count-replace", n = count("replace"))),
    ];
    let told: Vec<String> = kinds.into_iter().filter(|(kind, _)| count(kind) > 0).map(|(_, words)| words).collect();
    told.join(", ")
}

/// The public JSON of `retune`; see docs/retuning.md.
pub fn to_json(answer: &Answer<'_>) -> Value {
    let back = answer.back;
    json!({
        "instrument": back.set.name, "class": super::fine::class_word(answer.class),
        "certificate": back.certificate.as_ref().map(|certificate| json!({ "date": certificate.date, "a4_hz": certificate.a4_hz })),
        "since": back.since.map(|since| since.to_string()), "heard": back.heard(), "bars": back.set.bars.len(),
        "pitches": answer.triages.iter().map(|triage| triage_json(back, triage, answer.rate)).collect::<Vec<_>>(),
    })
}

fn triage_json(back: &Back, triage: &Triage, rate: Option<f64>) -> Value {
    let drift = set_drift(&triage.bars);
    json!({
        "a4_hz": triage.a4_hz, "hours": rounded(triage.minutes / 60.0, 2), "price": rate.map(|rate| rounded(rate * triage.minutes / 60.0, 2)),
        "drift": drift.map(|drift| json!({ "median_cents": rounded(drift.median_cents, 2), "half_within_cents": rounded(drift.half_within_cents, 2), "bars": drift.bars })),
        "bars": back.set.bars.iter().zip(&triage.bars).map(|(bar, told)| bar_json(bar, told)).collect::<Vec<_>>(),
    })
}

fn bar_json(bar: &crate::whole_set::SetBar, told: &Triaged) -> Value {
    let mut value = json!({
        "note": bar.note.to_string(), "label": bar.state.label,
        "drift_cents": told.drift_cents.iter().map(|c| c.map(|c| rounded(c, 2))).collect::<Vec<_>>(),
        "work": code(&told.work), "words": words(&told.work, Units::Mm), "minutes": rounded(told.minutes, 1),
    });
    if let Work::Trim(trim) = &told.work {
        value["trim"] = json!({
            "each_end_mm": rounded(trim.each_end_m * 1e3, 2), "then_cents": trim.then_cents.iter().map(|c| rounded(*c, 2)).collect::<Vec<_>>(),
            "holes_off_mm": rounded(trim.holes_off_m * 1e3, 2),
        });
    }
    value
}

/// The same for people; every bar of the pitch that takes least work.
pub fn to_text(answer: &Answer<'_>, units: Units) -> String {
    let back = answer.back;
    let mut text = match &back.certificate {
        Some(certificate) => format!(
            "{}, certified on {} at A4 = {} Hz.\n",
            back.set.name,
            certificate.date,
            plain(certificate.a4_hz, 2)
        ),
        None => format!(
            "{}: no certificate in the record, so how far it went is not known; each bar is held against its target.\n",
            back.set.name
        ),
    };
    text.push_str(&format!("{} of {} bars heard since it came back.\n", back.heard(), back.set.bars.len()));
    text.push_str(&super::fine::air_words(&back.set));
    for triage in &answer.triages {
        let price =
            answer.rate.map_or_else(String::new, |rate| format!(", {}", plain(rate * triage.minutes / 60.0, 0)));
        text.push_str(&format!(
            "At A4 = {} Hz: {}; some {} hours at the bench (guesses){price}.\n",
            plain(triage.a4_hz, 2),
            counted(triage),
            plain(triage.minutes / 60.0, 1)
        ));
    }
    let least = answer.triages.iter().min_by(|a, b| a.minutes.total_cmp(&b.minutes));
    let Some(triage) = least else { return text };
    if let Some(drift) = set_drift(&triage.bars) {
        text.push_str(&format!(
            "The set as a whole went {} cents; half of its {} bars lie within {} cents of that.\n",
            cents(drift.median_cents),
            drift.bars,
            plain(drift.half_within_cents, 1)
        ));
    }
    let mut table = super::table();
    table.set_header(["note", "bar", "went, modes 1/2/3", "what to do", "minutes"]);
    for (bar, told) in back.set.bars.iter().zip(&triage.bars) {
        table.add_row([
            bar.note.to_string(),
            bar.state.label.clone(),
            went(told),
            words(&told.work, units),
            plain(told.minutes, 0),
        ]);
    }
    text.push_str(&format!("\n{}\nIn this order: put away what must dry; look at what is hurt; lower; trim; new bars last. Certify it anew afterwards.\n{CAUTION}\n", table.trim_fmt()));
    text
}

/// How far each mode of a bar went, in words.
pub fn went(told: &Triaged) -> String {
    let list: Vec<String> = told.drift_cents.iter().map(|c| c.map_or_else(|| "?".to_owned(), cents)).collect();
    list.join("/")
}
