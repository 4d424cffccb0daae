//! Salt tests side by side, and which face and end lie best.
use super::units::{Units, plain, signed};
use crate::convert::rounded;
use crate::convert::salted::{Salted, SaltedBar};
use making::frame::{BenchNodes, Choice, Doubt, FaceAdvice, FacesPlayer, SaltMean, SaltMove, SaltSpread, SaltTest};
use records::workshop::Face;
use serde_json::{Value, json};

/// A move of fewer standard deviations than this may be the reading's own.
const SURE: f64 = 2.0;

/// The letter on the face.
pub fn face_word(face: Face) -> &'static str {
    match face {
        Face::A => "A",
        Face::B => "B",
    }
}

fn test_json(test: &SaltTest) -> Value {
    let mut lines = nodes_json(&test.nodes);
    for (side, centre) in ["left", "right"].iter().zip(test.centres_m) {
        lines[side]["centre"] = json!(centre.map(|x_m| rounded(x_m * 1e3, 2)));
    }
    lines
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
            "nodes_mm": test_json(&salted.test),
        })
    };
    let means = bar.means();
    let state = |(works, mean): &(usize, SaltMean)| json!({ "works_before": works, "tests": mean.count, "mean_mm": nodes_json(&mean.nodes), "spread_mm": mm(mean.sigma_m) });
    let moved = bar.moved();
    json!({
        "bar": name, "shown_with_face_up": face_word(bar.face), "top_decided": bar.decided,
        "tests": bar.tests.iter().map(test).collect::<Vec<_>>(),
        "states": means.iter().map(state).collect::<Vec<_>>(),
        "model_mm": bar.model.as_ref().map(nodes_json),
        "spread_mm": mm(means.last().and_then(|(_, mean)| mean.sigma_m)),
        "moved_outwards_mm": moved.as_ref().map(|(moved, _)| moved.middles_m().map(|m| rounded(m * 1e3, 2))),
        "moved": moved.map(|(moved, expected)| moved_json(&moved, expected)),
        "doubts": bar.doubts(name).iter().map(doubt_json).collect::<Vec<_>>(),
    })
}

fn mm(length_m: Option<f64>) -> Option<f64> {
    length_m.map(|m| rounded(m * 1e3, 2))
}

/// Each number, its middle, and what the model expects of the middles.
pub fn moved_json(moved: &SaltMove, expected: Option<[f64; 2]>) -> Value {
    let line = |index: usize| {
        let [near, far] = moved.outwards_m[index].map(|m| rounded(m * 1e3, 2));
        json!({ "near": near, "far": far, "middle": mm(Some(moved.middles_m()[index])),
            "model": mm(expected.map(|expected| expected[index])) })
    };
    json!({
        "left": line(0), "right": line(1), "number_sigma_mm": mm(moved.sigma_m), "middle_sigma_mm": mm(moved.middle_sigma_m()),
        "tilts_mm": moved.tilts_m.map(|m| rounded(m * 1e3, 2)),
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
    let moves = moved_rows(bar);
    if !moves.is_empty() {
        let mut table = super::table();
        table.set_header(moved_head(bar));
        for row in moves {
            table.add_row(row);
        }
        text.push_str(&format!("\nThe first and the latest test side by side:\n{}\n", table.trim_fmt()));
    }
    text.extend(agreement(bar, units).iter().map(|line| format!("{line}\n")));
    text.extend(bar.doubts(name).iter().map(doubt_text));
    text
}

/// What the columns of [`rows`] hold.
pub const HEAD: [&str; 8] = ["test", "left, near", "middle", "far", "right, near", "middle", "far", "lean"];

/// Each test, and the model's lines of the bar as it is now: figures in millimetres.
pub fn rows(bar: &SaltedBar) -> Vec<[String; 8]> {
    let cells = |what: String, nodes: &BenchNodes, centres_m: [Option<f64>; 2]| {
        let [left, right] = [nodes.left_m, nodes.right_m];
        let mm = |x_m: f64| plain(x_m * 1e3, 1);
        let [between_left, between_right] = centres_m.map(|x_m| x_m.map_or_else(|| "–".to_owned(), mm));
        let tilts = [left, right].map(|[near, far]| lean(far - near));
        [what, mm(left[0]), between_left, mm(left[1]), mm(right[0]), between_right, mm(right[1]), tilts.join("  ")]
    };
    let test = |salted: &Salted| {
        let when = state_words(bar, salted.works);
        let what = format!("entry {}, {when}, face {} up", salted.number, face_word(salted.face_up));
        cells(what, &salted.test.nodes, salted.test.centres_m)
    };
    let model = bar.model.iter().map(|nodes| cells("model, as it is now".to_owned(), nodes, [None; 2]));
    bar.tests.iter().map(test).chain(model).collect()
}

/// "blank", "after 2 cuts", "as it is now".
pub fn state_words(bar: &SaltedBar, works: usize) -> String {
    match works {
        _ if works == bar.works => "as it is now".to_owned(),
        0 => "blank".to_owned(),
        1 => "after 1 cut".to_owned(),
        _ => format!("after {works} cuts"),
    }
}

/// What the columns of [`moved_rows`] hold.
pub fn moved_head(bar: &SaltedBar) -> [String; 5] {
    let means = bar.means();
    let state = |which: &str, mean: Option<&(usize, SaltMean)>| {
        mean.map_or_else(String::new, |(works, mean)| {
            let of = if mean.count > 1 { format!(", mean of {}", mean.count) } else { String::new() };
            format!("{which}: {}{of}", state_words(bar, *works))
        })
    };
    let words = |text: &str| text.to_owned();
    [
        words("line"),
        state("first", means.first()),
        state("latest", means.last()),
        words("moved outwards"),
        words("by the model"),
    ]
}

/// The oldest and the newest state number by number, and the lean: figures in millimetres. Empty if nothing was cut
/// between the tests.
pub fn moved_rows(bar: &SaltedBar) -> Vec<[String; 5]> {
    let (Some((moved, expected)), means) = (bar.moved(), bar.means()) else { return Vec::new() };
    let [(_, first), .., (_, last)] = means.as_slice() else { return Vec::new() };
    let mm = |x_m: f64| plain(x_m * 1e3, 1);
    let plus_minus = |x_m: f64, sigma_m: Option<f64>| {
        let sigma = sigma_m.map_or_else(String::new, |sigma_m| format!(" ± {}", mm(sigma_m)));
        format!("{}{sigma}", signed(x_m * 1e3, 1))
    };
    let middles = |mean: &SaltMean| [mean.nodes.left_m, mean.nodes.right_m].map(|[near, far]| f64::midpoint(near, far));
    let mut rows = Vec::new();
    for (index, side) in ["left", "right"].into_iter().enumerate() {
        let line = |mean: &SaltMean| if index == 0 { mean.nodes.left_m } else { mean.nodes.right_m };
        for (edge, place) in ["near edge", "far edge"].into_iter().enumerate() {
            let by = plus_minus(moved.outwards_m[index][edge], moved.sigma_m);
            rows.push([format!("{side}, {place}"), mm(line(first)[edge]), mm(line(last)[edge]), by, "–".to_owned()]);
        }
        let by = plus_minus(moved.middles_m()[index], moved.middle_sigma_m());
        let model = expected.map_or_else(|| "–".to_owned(), |expected| signed(expected[index] * 1e3, 1));
        rows.push([format!("{side}, mean"), mm(middles(first)[index]), mm(middles(last)[index]), by, model]);
    }
    let [before, after] = moved.tilts_m;
    rows.push(["lean of both".to_owned(), lean(before), lean(after), "–".to_owned(), "–".to_owned()]);
    rows
}

/// How well repeated tests agree, and how far the nodes moved.
pub fn agreement(bar: &SaltedBar, units: Units) -> Vec<String> {
    let means = bar.means();
    let spread = match SaltSpread::pooled(means.iter().map(|(_, mean)| mean)) {
        Some(spread) => format!(
            "Repeated tests agree within ± {} (one standard deviation of a number).",
            units.place(spread.sigma_m * 1e3)
        ),
        None => "No test was repeated: salt the bar twice in the same state to see how well its lines can be read."
            .to_owned(),
    };
    let moved = bar.moved().map(|(moved, _)| {
        let [left, right] = moved.middles_m().map(|m| plain(m * 1e3, 1));
        format!("Moved outwards since the first test: left {left} mm, right {right} mm.")
    });
    let unsure = bar
        .moved()
        .and_then(|(moved, _)| moved.middle_sigma_m().map(|sigma_m| (moved, sigma_m)))
        .filter(|(moved, sigma_m)| moved.middles_m().iter().any(|m| m.abs() < SURE * sigma_m));
    let unsure =
        unsure.map(|_| "That is no more than the tests' own spread: repeat the test before building on it.".to_owned());
    std::iter::once(spread).chain(moved).chain(unsure).collect()
}

/// "/ 2.1 mm", "\ 0.8 mm", "square".
pub fn lean(tilt_m: f64) -> String {
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
