//! The stock of blanks as text, JSON and table.
use super::units::{Units, plain, signed};
use crate::convert::rounded;
use making::wood::{Blank, Confidence, Drying, Grade, Verdict};
use serde_json::{Value, json};
use words::tell;

/// A blank of the list.
#[derive(Debug, Clone)]
pub struct Line<'a> {
    /// Its figures.
    pub blank: &'a Blank,
    /// The board it came from.
    pub board: Option<&'a str>,
    /// What its weighings tell.
    pub drying: Option<Drying>,
    /// What it is good for.
    pub grade: Grade,
}

/// Said where wood is handled and bought.
const CAUTION: &str = "Dust of rosewoods, padauk and their kin sensitises skin and lungs: extraction and a mask, as local rules say. Check the trade rules for \
                       a species before buying, shipping or exporting; keep the papers.";

/// The word for a verdict.
pub fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Top => "top and middle",
        Verdict::Middle => "middle",
        Verdict::Bass => "bass",
        Verdict::Reject => "reject",
        Verdict::Wait => "wait",
    }
}

/// What it is good for and how sure that is, in the sheet's language.
pub fn verdict_words(grade: &Grade) -> String {
    let verdict = match grade.verdict {
        Verdict::Top => tell!("verdict-top"),
        Verdict::Middle => tell!("verdict-middle"),
        Verdict::Bass => tell!("verdict-bass"),
        Verdict::Reject => tell!("verdict-reject"),
        Verdict::Wait => tell!("verdict-wait"),
    };
    let sure = match grade.confidence {
        Confidence::Good => tell!("sure-good"),
        Confidence::Fair => tell!("sure-fair"),
        Confidence::Low => tell!("sure-low"),
    };
    format!("{verdict} ({sure})")
}

fn confidence_word(confidence: Confidence) -> &'static str {
    match confidence {
        Confidence::Good => "good",
        Confidence::Fair => "fair",
        Confidence::Low => "low",
    }
}

/// Speed of sound along the grain: the square root of stiffness over density.
pub fn speed_m_s(blank: &Blank) -> Option<f64> {
    blank.e_over_rho.map(f64::sqrt)
}

/// How far it is from rest.
pub(crate) fn drying_words(drying: &Drying) -> String {
    let rate = tell!("drying-rate", percent = signed(100.0 * drying.share_per_week, 2));
    match drying.days_left {
        _ if drying.at_rest => tell!("drying-at-rest", rate = rate),
        Some([least, best, most]) => tell!(
            "drying-weeks",
            weeks = plain(best / 7.0, 0),
            least = plain(least / 7.0, 0),
            most = plain(most / 7.0, 0),
            rate = rate,
        ),
        None => tell!("drying-unknown", rate = rate),
    }
}

/// The public JSON of `stock`; see docs/wood.md.
pub fn to_json(lines: &[Line<'_>], room: Option<[f64; 3]>) -> Value {
    let line = |line: &Line<'_>| {
        let blank = line.blank;
        json!({
            "label": blank.label, "board": line.board, "size_mm": blank.size_m.map(|m| rounded(m * 1e3, 2)),
            "density_kg_m3": blank.density_kg_m3.map(|value| rounded(value, 1)),
            "e_over_rho_m2_s2": blank.e_over_rho.map(|value| rounded(value, 0)),
            "speed_m_s": speed_m_s(blank).map(|value| rounded(value, 1)),
            "q": blank.quality.map(|value| rounded(value, 1)), "tilt_mm": blank.tilt_m.map(|m| rounded(m * 1e3, 2)),
            "moisture_percent": blank.moisture_percent, "colour": blank.colour, "defects": blank.defects,
            "drying": line.drying.map(|drying| json!({
                "percent_per_week": rounded(100.0 * drying.share_per_week, 3), "at_rest": drying.at_rest,
                "days_left": drying.days_left.map(|days| days.map(|day| rounded(day, 1))),
                "last_mass_g": drying.last_mass_kg.map(|kg| rounded(kg * 1e3, 1)),
            })),
            "verdict": verdict_word(line.grade.verdict), "confidence": confidence_word(line.grade.confidence), "reasons": line.grade.reasons,
        })
    };
    json!({
        "blanks": lines.iter().map(line).collect::<Vec<_>>(),
        "room": room.map(|[temperature, humidity, moisture]| json!({
            "temperature_c": temperature, "humidity_percent": humidity, "equilibrium_moisture_percent": rounded(moisture, 2) })),
    })
}

/// The same for people.
pub fn to_text(lines: &[Line<'_>], room: Option<[f64; 3]>, units: Units) -> String {
    let mut table = super::table();
    table.set_header([
        "blank",
        "length × width × thickness",
        "kg/m³",
        "m/s along the grain",
        "Q",
        "lean",
        "verdict",
        "sure",
    ]);
    for line in lines {
        let blank = line.blank;
        let figure = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| plain(value, 0));
        let [length, width, thickness] = blank.size_m.map(|m| units.place(m * 1e3));
        table.add_row([
            blank.label.clone(),
            format!("{length} × {width} × {thickness}"),
            figure(blank.density_kg_m3),
            figure(speed_m_s(blank)),
            figure(blank.quality),
            blank.tilt_m.map_or_else(|| "–".to_owned(), |m| format!("{} mm", signed(m * 1e3, 1))),
            verdict_word(line.grade.verdict).to_owned(),
            confidence_word(line.grade.confidence).to_owned(),
        ]);
    }
    let mut text = format!("{} blanks without a note.\n{}\n", lines.len(), table.trim_fmt());
    for line in lines {
        let mut words = line.grade.reasons.clone();
        words.extend(line.drying.as_ref().map(drying_words));
        if !words.is_empty() {
            text.push_str(&format!("{}: {}.\n", line.blank.label, words.join("; ")));
        }
    }
    if let Some([temperature, humidity, moisture]) = room {
        text.push_str(&format!(
            "At {} °C and {} % wood comes to {} % of moisture (Hailwood–Horrobin; oily rosewoods hold less, from memory).\n",
            plain(temperature, 1),
            plain(humidity, 0),
            plain(moisture, 1)
        ));
    }
    text + CAUTION + "\n"
}

/// The list as lines of a table, the head first.
pub fn to_lines(lines: &[Line<'_>]) -> Vec<Vec<String>> {
    const HEAD: [&str; 10] = [
        "label",
        "length_mm",
        "width_mm",
        "thickness_mm",
        "density_kg_m3",
        "speed_m_s",
        "q",
        "tilt_mm",
        "verdict",
        "reasons",
    ];
    let cell = |value: Option<f64>, digits| value.map_or_else(String::new, |value| rounded(value, digits).to_string());
    let line = |line: &Line<'_>| {
        let blank = line.blank;
        let [length, width, thickness] = blank.size_m.map(|m| rounded(m * 1e3, 2).to_string());
        vec![
            blank.label.clone(),
            length,
            width,
            thickness,
            cell(blank.density_kg_m3, 1),
            cell(speed_m_s(blank), 1),
            cell(blank.quality, 1),
            cell(blank.tilt_m.map(|m| m * 1e3), 2),
            verdict_word(line.grade.verdict).to_owned(),
            line.grade.reasons.join("; "),
        ]
    };
    std::iter::once(HEAD.map(str::to_owned).to_vec()).chain(lines.iter().map(line)).collect()
}
