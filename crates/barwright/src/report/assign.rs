//! Which blank becomes which bar, as text, JSON and table.
use super::units::{Units, plain};
use crate::convert::rounded;
use making::assign::{Assignment, Given, Place};
use making::wood::Blank;
use serde_json::{Value, json};

/// What the solid says of a blank in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Thickness of the centre in the blank's own wood.
    pub centre_m: Option<f64>,
    /// Why it cannot be made.
    pub why_not: Option<String>,
}

/// What was asked and what came of it.
#[derive(Debug, Clone, Copy)]
pub struct Answer<'a> {
    /// The bars.
    pub places: &'a [Place],
    /// The blanks.
    pub blanks: &'a [Blank],
    /// The matching.
    pub found: &'a Assignment,
    /// One for each that is given.
    pub pairs: &'a [Pair],
}

fn mm(m: f64) -> f64 {
    rounded(m * 1e3, 2)
}

/// The public JSON of `assign`; see docs/wood.md.
pub fn to_json(answer: &Answer<'_>, entered: Option<usize>) -> Value {
    let given = |(given, pair): (&Given, &Pair)| {
        json!({
            "note": answer.places[given.place].name, "blank": answer.blanks[given.blank].label,
            "centre_mm": pair.centre_m.map(mm), "why_not": pair.why_not, "reasons": given.reasons,
        })
    };
    json!({
        "given": answer.found.given.iter().zip(answer.pairs).map(given).collect::<Vec<_>>(),
        "empty": answer.found.empty.iter().map(|(place, why)| json!({ "note": answer.places[*place].name, "why": why })).collect::<Vec<_>>(),
        "spare": answer.found.spare.iter().map(|blank| &answer.blanks[*blank].label).collect::<Vec<_>>(),
        "cost": rounded(answer.found.cost, 4), "entered": entered,
    })
}

/// The same for people.
pub fn to_text(answer: &Answer<'_>, entered: Option<usize>, instrument: Option<&str>, units: Units) -> String {
    let mut table = super::table();
    table.set_header(["bar", "blank", "centre", "why"]);
    for (given, pair) in answer.found.given.iter().zip(answer.pairs) {
        let centre = pair.centre_m.map_or_else(|| "cannot be made".to_owned(), |m| units.depth(m * 1e3));
        let mut reasons = given.reasons.clone();
        reasons.extend(pair.why_not.clone());
        let (bar, blank) = (answer.places[given.place].name.clone(), answer.blanks[given.blank].label.clone());
        table.add_row([bar, blank, centre, reasons.join("; ")]);
    }
    let mut text = format!(
        "{} of {} bars have a blank; {} blanks are left over.\n{}\n",
        answer.found.given.len(),
        answer.places.len(),
        answer.found.spare.len(),
        table.trim_fmt()
    );
    for (place, why) in &answer.found.empty {
        text.push_str(&format!("! {} has none: {why}.\n", answer.places[*place].name));
    }
    if !answer.found.spare.is_empty() {
        let spare = answer.found.spare.iter().map(|blank| {
            let blank = &answer.blanks[*blank];
            format!("{} ({} mm)", blank.label, plain(blank.size_m[0] * 1e3, 0))
        });
        text.push_str(&format!("Left over, longest first: {}.\n", spare.collect::<Vec<_>>().join(", ")));
    }
    text.push_str(&match (entered, instrument) {
        (Some(count), Some(name)) => format!("{count} notes are given in {name}.\n"),
        _ => "Nothing was entered; --enter-in INSTRUMENT gives the notes in the record. Look at face, grain and colour first.\n".to_owned(),
    });
    text
}

/// The answer as lines of a table, the head first.
pub fn to_lines(answer: &Answer<'_>) -> Vec<Vec<String>> {
    let head = ["note", "blank", "centre_mm", "reasons"].map(str::to_owned).to_vec();
    let given = answer.found.given.iter().zip(answer.pairs).map(|(given, pair)| {
        vec![
            answer.places[given.place].name.clone(),
            answer.blanks[given.blank].label.clone(),
            pair.centre_m.map_or_else(String::new, |m| mm(m).to_string()),
            given.reasons.join("; "),
        ]
    });
    let empty = answer
        .found
        .empty
        .iter()
        .map(|(place, why)| vec![answer.places[*place].name.clone(), String::new(), String::new(), why.clone()]);
    std::iter::once(head).chain(given).chain(empty).collect()
}
