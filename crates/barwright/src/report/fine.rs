//! A set before its last strokes, as text and JSON.
use super::units::{Units, cents, plain, signed};
use crate::convert::rounded;
use crate::whole_set::WholeSet;
use making::fine::{Class, Evenness, Figure, Judged, Outlier, Sound, Stroke, Verdict};
use serde_json::{Value, json};
use words::tell;

/// Everything that was found.
#[derive(Debug, Clone)]
pub struct Answer<'a> {
    /// The set.
    pub set: &'a WholeSet,
    /// Whom it is for.
    pub class: Class,
    /// Every bar's verdict.
    pub judged: Vec<Judged>,
    /// The last stroke of each bar that wants one, where it was asked for: what it is, or why there is none.
    pub strokes: Vec<Option<Result<Stroke, String>>>,
    /// Rings and levels, where they were asked for.
    pub even: Option<(Vec<Sound>, Evenness)>,
}

/// Said where wood is taken off by hand.
const CAUTION: &str = "Bars at rest in the room for a day, tubes out from under them. Half of what is left, then strike again: wood does not come back. Sanding dust: extraction and a mask; \
                       muffs off only with machines stopped.";

/// The word for a class.
pub fn class_word(class: Class) -> &'static str {
    match class {
        Class::Concert => "concert",
        Class::Working => "working",
        Class::School => "school",
    }
}

/// The class as sheets call it.
pub fn class_words(class: Class) -> String {
    match class {
        Class::Concert => tell!("class-concert"),
        Class::Working => tell!("class-working"),
        Class::School => tell!("class-school"),
    }
}

fn verdict_code(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::NotYet(_) => "not_yet",
        Verdict::Cool(_) => "cool",
        Verdict::Strike(_) => "strike",
        Verdict::Good => "good",
        Verdict::Lower { .. } => "lower",
        Verdict::Flat(_) => "flat",
    }
}

/// A verdict in a few words.
pub fn verdict_words(verdict: &Verdict) -> String {
    match verdict {
        Verdict::NotYet(first) => format!("not yet: {first}"),
        Verdict::Cool(minutes) => format!("put back for {} minutes", plain(minutes.ceil(), 0)),
        Verdict::Strike(why) => format!("strike it: {why}"),
        Verdict::Good => "good enough: stop".to_owned(),
        Verdict::Lower { mode, by_cents, stop_cents } => {
            format!("mode {mode} down {} cents at most; stop at {}", plain(*by_cents, 1), cents(*stop_cents))
        }
        Verdict::Flat(modes) => {
            let modes: Vec<String> = modes.iter().map(ToString::to_string).collect();
            let word = if modes.len() == 1 { "mode" } else { "modes" };
            format!("{word} {} flat: dry it and strike again before anything is cut", modes.join(" and "))
        }
    }
}

/// The public JSON of `fine`; see docs/fine.md.
pub fn to_json(answer: &Answer<'_>) -> Value {
    let bars = answer.set.bars.iter().zip(&answer.judged).zip(&answer.strokes).map(|((bar, judged), stroke)| {
        let heard = bar.heard.as_ref();
        json!({
            "note": bar.note.to_string(), "label": bar.state.label,
            "cents": heard.map(|heard| heard.cents.iter().map(|c| c.map(|c| rounded(c, 2))).collect::<Vec<_>>()),
            "sigma_cents": heard.map(|heard| rounded(heard.sigma_cents, 2)),
            "air_cents": heard.filter(|heard| heard.air_part.known).map(|heard| rounded(heard.air_part.cents, 2)),
            "tolerances": judged.tolerances, "verdict": verdict_code(&judged.verdict), "words": verdict_words(&judged.verdict),
            "step_cents": judged.step_cents.map(|c| rounded(c, 2)), "tomorrow": judged.tomorrow,
            "stroke": stroke.as_ref().map(stroke_json),
        })
    });
    json!({
        "instrument": answer.set.name, "class": class_word(answer.class), "air_sigma_cents": rounded(answer.set.air_sigma_cents(), 2),
        "bars": bars.collect::<Vec<_>>(),
        "even": answer.even.as_ref().map(|(sounds, even)| even_json(sounds, even)),
    })
}

fn stroke_json(stroke: &Result<Stroke, String>) -> Value {
    match stroke {
        Ok(stroke) => json!({
            "from_mm": rounded(stroke.from_m * 1e3, 0), "to_mm": rounded(stroke.to_m * 1e3, 0), "depth_mm": rounded(stroke.depth_m * 1e3, 3),
            "cents": stroke.cents.iter().map(|c| rounded(*c, 2)).collect::<Vec<_>>(),
        }),
        Err(why) => json!({ "why_not": why }),
    }
}

fn even_json(sounds: &[Sound], even: &Evenness) -> Value {
    let sound = |(sound, expected): (&Sound, &Option<f64>)| {
        json!({
            "note": sound.name, "ring_s": sound.ring_s.map(|s| s.map(|s| rounded(s, 3))), "by_neighbours_s": expected.map(|s| rounded(s, 3)),
            "level_db": sound.level_db.map(|db| rounded(db, 1)), "modes_2_3_db": sound.balance_db.map(|db| db.map(|db| rounded(db, 1))),
            "holes_off_mm": sound.node_miss_mm.map(|mm| rounded(mm, 1)),
        })
    };
    json!({
        "sounds": sounds.iter().zip(&even.expected_ring_s).map(sound).collect::<Vec<_>>(),
        "outliers": even.outliers.iter().map(|outlier| json!({
            "note": sounds[outlier.bar].name, "what": figure_code(outlier.figure), "by": rounded(outlier.by, 2), "look_at": outlier.causes,
        })).collect::<Vec<_>>(),
    })
}

fn figure_code(figure: Figure) -> &'static str {
    match figure {
        Figure::Ring => "ring",
        Figure::Loudness => "loudness",
        Figure::Mode2 => "mode_2",
        Figure::Mode3 => "mode_3",
    }
}

/// How many bars have which verdict, in words.
pub fn counted(judged: &[Judged]) -> String {
    let count = |code: &str| judged.iter().filter(|judged| verdict_code(&judged.verdict) == code).count();
    let parts = [
        ("good", "good enough"),
        ("lower", "to lower"),
        ("flat", "flat"),
        ("strike", "to strike"),
        ("cool", "cooling"),
        ("not_yet", "not ready"),
    ];
    let told: Vec<String> = parts
        .iter()
        .filter_map(|(code, words)| {
            let n = count(code);
            (n > 0).then(|| format!("{n} {words}"))
        })
        .collect();
    told.join(", ")
}

/// The same for people.
pub fn to_text(answer: &Answer<'_>, units: Units) -> String {
    let set = answer.set;
    let mut table = super::table();
    table.set_header(["note", "bar", "mode 1", "mode 2", "mode 3", "allowed", "what to do"]);
    for (bar, judged) in set.bars.iter().zip(&answer.judged) {
        let cents_of = |mode: usize| match bar.heard.as_ref().and_then(|heard| heard.cents.get(mode)) {
            Some(Some(value)) => cents(*value),
            Some(None) => "?".to_owned(),
            None => "–".to_owned(),
        };
        let tolerances: Vec<String> = judged.tolerances.iter().map(|t| plain(*t, 0)).collect();
        table.add_row([
            bar.note.to_string(),
            bar.state.label.clone(),
            cents_of(0),
            cents_of(1),
            cents_of(2),
            format!("±{}", tolerances.join("/")),
            verdict_words(&judged.verdict),
        ]);
    }
    let mut text = format!(
        "{}: {} of {} bars, {} class.\n{}\n",
        set.name,
        counted(&answer.judged),
        set.bars.len(),
        class_word(answer.class),
        table.trim_fmt()
    );
    text.push_str(&air_words(set));
    for (bar, stroke) in set.bars.iter().zip(&answer.strokes) {
        match stroke {
            Some(Ok(stroke)) => text.push_str(&format!("{}: {}\n", bar.note, stroke_words(stroke, units))),
            Some(Err(why)) => text.push_str(&format!("{}: {}\n", bar.note, crate::error::sentence(why))),
            None => {}
        }
    }
    let steps: Vec<String> = set
        .bars
        .iter()
        .zip(&answer.judged)
        .filter_map(|(bar, judged)| Some(format!("{} {}", bar.note, cents(judged.step_cents?))))
        .collect();
    if !steps.is_empty() {
        text.push_str(&format!("Steps against their neighbours: {}.\n", steps.join(", ")));
    }
    let tomorrow: Vec<String> = set
        .bars
        .iter()
        .zip(&answer.judged)
        .filter_map(|(bar, judged)| Some(format!("{} ({})", bar.note, judged.tomorrow.as_ref()?)))
        .collect();
    if !tomorrow.is_empty() {
        text.push_str(&format!("Strike again tomorrow: {}.\n", tomorrow.join(", ")));
    }
    if let Some((sounds, even)) = &answer.even {
        text.push_str(&even_words(sounds, even));
    }
    text + CAUTION + "\n"
}

/// What the air has to do with the cents above.
pub fn air_words(set: &WholeSet) -> String {
    let known = |moisture: bool| {
        set.bars
            .iter()
            .filter_map(|bar| bar.heard.as_ref())
            .any(|heard| heard.air_part.known && heard.air_part.with_moisture == moisture)
    };
    match set.reference {
        None => "The order names no temperature for its pitch: cents are as they were heard. Ask, and enter it.\n"
            .to_owned(),
        Some(reference) if known(true) || known(false) => format!(
            "Cents are at {}, from readings with their temperature{}; what the air is reckoned to do is good to ±{} cents for all bars alike.\n",
            super::climate::air_words(reference),
            if known(true) { " and the logged humidity" } else { " (humidity not logged for long enough)" },
            plain(set.air_sigma_cents(), 1)
        ),
        Some(_) => "No reading has its temperature noted: cents are as they were heard.\n".to_owned(),
    }
}

fn stroke_words(stroke: &Stroke, units: Units) -> String {
    let effect: Vec<String> = stroke.cents.iter().map(|c| signed(*c, 1)).collect();
    let place = if stroke.from_m > 0.0 {
        format!(
            "{} to {} from the centre, both sides",
            units.place(stroke.from_m * 1e3),
            units.place(stroke.to_m * 1e3)
        )
    } else {
        format!("over the centre, {} wide", units.place(2e3 * stroke.to_m))
    };
    format!(
        "{place}, {} deep: light strokes by hand; modes move {} cents.",
        units.depth(stroke.depth_m * 1e3),
        effect.join("/")
    )
}

fn even_words(sounds: &[Sound], even: &Evenness) -> String {
    let heard = sounds.iter().filter(|sound| sound.ring_s[0].is_some()).count();
    if even.outliers.is_empty() {
        return format!("Rings and levels of {heard} bars with kept sound: no bar stands out.\n");
    }
    let mut text = format!(
        "Rings and levels of {heard} bars with kept sound; these stand out (loudness only tells where all were recorded alike):\n"
    );
    for outlier in &even.outliers {
        text.push_str(&format!("{} {}. Look at, in this order:\n", sounds[outlier.bar].name, outlier_words(outlier)));
        for (i, cause) in outlier.causes.iter().enumerate() {
            text.push_str(&format!("  {}. {cause}\n", i + 1));
        }
    }
    text
}

/// How a bar stands out.
pub fn outlier_words(outlier: &Outlier) -> String {
    let db = format!("{} dB", signed(outlier.by, 1));
    match outlier.figure {
        Figure::Ring => format!("rings {} times as long as its neighbours", plain(outlier.by, 2)),
        Figure::Loudness => format!("is {db} against its neighbours"),
        Figure::Mode2 => format!("has {db} more of mode 2 than its neighbours"),
        Figure::Mode3 => format!("has {db} more of mode 3 than its neighbours"),
    }
}
