//! Salt tests side by side, and which face and end lie best.
use super::units::{Units, plain};
use crate::convert::rounded;
use crate::convert::salted::{Salted, SaltedBar};
use making::frame::{BenchNodes, Choice, Doubt, FaceAdvice, FacesPlayer};
use records::workshop::Face;
use serde_json::{Value, json};

/// The letter on the face.
pub fn face_word(face: Face) -> &'static str {
    match face {
        Face::A => "A",
        Face::B => "B",
    }
}

fn nodes_json(nodes: &BenchNodes) -> Value {
    let line = |[near, far]: [f64; 2]| json!({ "near": rounded(near * 1e3, 2), "far": rounded(far * 1e3, 2), "tilt": rounded((far - near) * 1e3, 2) });
    json!({ "left": line(nodes.left_m), "right": line(nodes.right_m) })
}

/// A doubt as programs read it.
pub fn doubt_json(doubt: &Doubt) -> Value {
    json!({ "code": doubt.code, "message": doubt.message, "hint": doubt.hint })
}

/// A doubt as a maker reads it.
pub fn doubt_text(doubt: &Doubt) -> String {
    format!("! {}\n  {}\n", capital(&doubt.message), doubt.hint)
}

/// With a capital, to begin a sentence.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// All tests, the model, how far the nodes moved, and the doubts.
pub fn to_json(bar: &SaltedBar, name: &str) -> Value {
    let test = |salted: &Salted| {
        json!({
            "entry": salted.number, "face_up": face_word(salted.face_up), "works_before": salted.works,
            "nodes_mm": nodes_json(&salted.test.nodes),
        })
    };
    let means = bar.means();
    let moved = means.first().zip(means.last()).filter(|(a, b)| a.0 != b.0);
    json!({
        "bar": name, "shown_with_face_up": face_word(bar.face), "top_decided": bar.decided,
        "tests": bar.tests.iter().map(test).collect::<Vec<_>>(),
        "model_mm": bar.model.as_ref().map(nodes_json),
        "spread_mm": means.last().and_then(|(_, mean)| mean.sigma_m).map(|sigma| rounded(sigma * 1e3, 2)),
        "moved_outwards_mm": moved.map(|(first, last)| last.1.outwards_since_m(&first.1).map(|m| rounded(m * 1e3, 2))),
        "doubts": bar.doubts(name).iter().map(doubt_json).collect::<Vec<_>>(),
    })
}

/// The same for people.
pub fn to_text(bar: &SaltedBar, name: &str, units: Units) -> String {
    if bar.tests.is_empty() {
        return format!(
            "{name} has no salt test that counts{}.\nLay it on foam under its nodes, strew fine salt, tap softly at the \
             centre, and enter both lines: barwright bar LABEL salt --face A --left NEAR:FAR --right NEAR:FAR\n",
            if bar.works > 0 { " since an end was sawn off, or none at all" } else { "" }
        );
    }
    let which = if bar.decided { "the top face" } else { "the top is not decided" };
    let mut table = super::table();
    table.set_header(HEAD);
    for row in rows(bar) {
        table.add_row(row);
    }
    let mut text = format!(
        "{name}. Node lines of mode 1, millimetres from the left end, face {} up ({which}):\n{}\n",
        face_word(bar.face),
        table.trim_fmt()
    );
    text.extend(agreement(bar, units).iter().map(|line| format!("{line}\n")));
    text.extend(bar.doubts(name).iter().map(doubt_text));
    text
}

/// What the columns of [`rows`] hold.
pub const HEAD: [&str; 6] = ["test", "left, near", "far", "right, near", "far", "lean"];

/// Each test, and the model's lines of the bar as it is now: figures in millimetres.
pub fn rows(bar: &SaltedBar) -> Vec<[String; 6]> {
    let cells = |what: String, nodes: &BenchNodes| {
        let [left, right] = [nodes.left_m, nodes.right_m];
        let mm = |x_m: f64| plain(x_m * 1e3, 1);
        let tilts = [left, right].map(|[near, far]| lean(far - near));
        [what, mm(left[0]), mm(left[1]), mm(right[0]), mm(right[1]), tilts.join("  ")]
    };
    let when = |salted: &Salted| {
        if salted.works == bar.works {
            "as it is now".to_owned()
        } else if salted.works == 0 {
            "blank".to_owned()
        } else {
            format!("after {} cuts", salted.works)
        }
    };
    let test = |salted: &Salted| {
        let what = format!("entry {}, {}, face {} up", salted.number, when(salted), face_word(salted.face_up));
        cells(what, &salted.test.nodes)
    };
    let model = bar.model.iter().map(|nodes| cells("model, as it is now".to_owned(), nodes));
    bar.tests.iter().map(test).chain(model).collect()
}

/// How well repeated tests agree, and how far the nodes moved.
pub fn agreement(bar: &SaltedBar, units: Units) -> Vec<String> {
    let means = bar.means();
    let spread = means.last().and_then(|(_, mean)| mean.sigma_m);
    let spread = spread.map(|sigma_m| format!("Repeated tests agree within ± {}.", units.place(sigma_m * 1e3)));
    let moved = means.first().zip(means.last()).filter(|(a, b)| a.0 != b.0).map(|(first, last)| {
        let [left, right] = last.1.outwards_since_m(&first.1).map(|m| plain(m * 1e3, 1));
        format!("Moved outwards since the first test: left {left} mm, right {right} mm.")
    });
    spread.into_iter().chain(moved).collect()
}

/// "/ 2.1 mm", "\ 0.8 mm", "square".
fn lean(tilt_m: f64) -> String {
    // Half a millimetre is what salt shows (common practice, no source).
    if tilt_m.abs() < 0.25e-3 {
        "square".to_owned()
    } else {
        format!("{} {} mm", if tilt_m > 0.0 { "/" } else { "\\" }, plain(tilt_m.abs() * 1e3, 1))
    }
}

/// What the face of one way is called: `rolled` is against the face that the lines are shown with.
fn way(bar: &SaltedBar, choice: &Choice) -> (Face, &'static str) {
    let other = if bar.face == Face::A { Face::B } else { Face::A };
    let face = if choice.rolled { other } else { bar.face };
    (face, if choice.faces == FacesPlayer::LeftEnd { "left" } else { "right" })
}

/// The ways of laying a bar, for programs.
pub fn faces_json(bar: &SaltedBar, name: &str, advice: &FaceAdvice, from_bars: bool) -> Value {
    let deg = |rad: f64| rounded(rad.to_degrees(), 2);
    let choice = |choice: &Choice| {
        let (face, end) = way(bar, choice);
        json!({
            "top": face_word(face), "end_to_player": end, "lean_deg": choice.lean_rad.map(deg),
            "left_over_deg": choice.left_over_rad.map(deg), "rms_deg": deg(choice.rms_rad()),
        })
    };
    json!({
        "bar": name, "best": advice.best, "choices": advice.choices.iter().map(choice).collect::<Vec<_>>(),
        "face_is_free": advice.face_is_free, "end_is_free": advice.end_is_free,
        "rails_from": if from_bars { "the row's bars" } else { "common practice" }, "arched": bar.works > 0,
    })
}

/// The way to take: of those that are still open the best one.
pub fn best<'a>(bar: &SaltedBar, advice: &'a FaceAdvice) -> &'a Choice {
    // Once the arch is begun, the face is what it is; a half turn is still free.
    let open = advice.choices.iter().filter(|choice| !choice.rolled);
    let turned = open.min_by(|a, b| a.rms_rad().total_cmp(&b.rms_rad())).filter(|_| bar.works > 0);
    turned.unwrap_or(&advice.choices[advice.best.min(3)])
}

/// What to do, in one sentence or two.
pub fn face_instruction(bar: &SaltedBar, advice: &FaceAdvice) -> String {
    let (face, end) = way(bar, best(bar, advice));
    if bar.works > 0 {
        format!("The arch is begun, the face stays. Turn the {end} end to the player.")
    } else if advice.face_is_free {
        format!("Either face will do; take the fairer one. Turn the {end} end to the player.")
    } else {
        format!("Face {} up, the {end} end to the player. The arch goes into the other face.", face_word(face))
    }
}

/// What the columns of [`choice_rows`] hold.
pub const CHOICE_HEAD: [&str; 4] = ["top", "end to the player", "lines lean, player's and far rail", "left over"];

/// The four ways of laying the bar, the one to take marked.
pub fn choice_rows(bar: &SaltedBar, advice: &FaceAdvice) -> Vec<[String; 4]> {
    let deg = |rad: f64| plain(rad.to_degrees(), 1);
    let both = |pair: [f64; 2]| format!("{}°  {}°", deg(pair[0]), deg(pair[1]));
    let row = |choice: &Choice| {
        let (face, end) = way(bar, choice);
        let mark = if choice == best(bar, advice) { " *" } else { "" };
        [format!("{}{mark}", face_word(face)), end.to_owned(), both(choice.lean_rad), both(choice.left_over_rad)]
    };
    advice.choices.iter().map(row).collect()
}

/// Where the rails' angles come from.
pub fn rails_words(from_bars: bool) -> &'static str {
    if from_bars {
        "The rails' angles follow from the lengths of the row's bars in the record."
    } else {
        "The rails' angles are the usual ones (common practice, no source): too few bars of the row are in the record."
    }
}

/// The same for people: what to do first.
pub fn faces_text(bar: &SaltedBar, name: &str, advice: &FaceAdvice, from_bars: bool) -> String {
    let mut table = super::table();
    table.set_header(CHOICE_HEAD);
    for row in choice_rows(bar, advice) {
        table.add_row(row);
    }
    let best = best(bar, advice);
    let (face, _) = way(bar, best);
    let then = match (bar.works, bar.decided) {
        (0, false) => format!("Then enter it, before anything is cut: barwright bar LABEL top {}\n", face_word(face)),
        (0, true) if face != bar.face => format!("Face {} is entered as the top.\n", face_word(bar.face)),
        _ => String::new(),
    };
    format!(
        "{name}: {}\nLeft over against the rails: {}° (root mean square of both).\n\n{}\n{}\n{then}",
        face_instruction(bar, advice),
        plain(best.rms_rad().to_degrees(), 1),
        table.trim_fmt(),
        rails_words(from_bars)
    )
}
