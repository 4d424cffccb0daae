//! The salt tests of all bars, a line each, and how well salt is read in this shop.
use super::salt::{doubt_json, lean, moved_json, state_words};
use super::units::{Units, plain, signed};
use crate::convert::rounded;
use crate::convert::salted::SaltedBar;
use making::frame::{SaltMean, SaltSpread, SaltTest};
use serde_json::{Value, json};

/// A few tests may agree by chance; half a millimetre is what salt shows at best (common practice, no source).
const LEAST_SIGMA_MM: f64 = 0.5;

/// The latest state's mean; only bars with tests are listed.
fn latest(bar: &SaltedBar) -> Option<(usize, SaltMean)> {
    bar.means().pop()
}

fn tilt_m(mean: &SaltMean) -> f64 {
    SaltTest { nodes: mean.nodes, centres_m: [None; 2] }.tilt_m()
}

/// For programs.
pub fn to_json(bars: &[(String, &SaltedBar)], spread: Option<SaltSpread>) -> Value {
    let mm = |m: f64| rounded(m * 1e3, 2);
    let bar = |(name, bar): &(String, &SaltedBar)| {
        let latest = latest(bar).map(|(works, mean)| {
            let [left, right] = [mean.nodes.left_m, mean.nodes.right_m].map(|[near, far]| mm(f64::midpoint(near, far)));
            json!({ "works_before": works, "tests": mean.count, "left_mm": left, "right_mm": right, "tilt_mm": mm(tilt_m(&mean)) })
        });
        json!({
            "bar": name, "tests": bar.tests.len(), "works": bar.works, "latest": latest,
            "moved": bar.moved().map(|(moved, expected)| moved_json(&moved, expected)),
            "doubts": bar.doubts(name).iter().map(doubt_json).collect::<Vec<_>>(),
        })
    };
    json!({
        "bars": bars.iter().map(bar).collect::<Vec<_>>(),
        "spread_mm": spread.map(|spread| mm(spread.sigma_m)), "repeats": spread.map_or(0, |spread| spread.repeats),
    })
}

/// For people.
pub fn to_text(bars: &[(String, &SaltedBar)], spread: Option<SaltSpread>, units: Units) -> String {
    if bars.is_empty() {
        return "No bar has a salt test that counts. Enter one: barwright bar LABEL salt --face A --left NEAR:FAR --right \
                NEAR:FAR; or many from a table: barwright salt TABLE.csv\n"
            .to_owned();
    }
    let mut table = super::table();
    table.set_header(["bar", "tests", "latest", "left", "right", "lean", "moved outwards", "doubts"]);
    for (name, bar) in bars {
        let Some((works, mean)) = latest(bar) else { continue };
        let middle = |[near, far]: [f64; 2]| plain(f64::midpoint(near, far) * 1e3, 1);
        let moved = bar
            .moved()
            .map_or_else(|| "–".to_owned(), |(moved, _)| moved.middles_m().map(|m| signed(m * 1e3, 1)).join("  "));
        table.add_row([
            name.clone(),
            bar.tests.len().to_string(),
            state_words(bar, works),
            middle(mean.nodes.left_m),
            middle(mean.nodes.right_m),
            lean(tilt_m(&mean)),
            moved,
            bar.doubts(name).len().to_string(),
        ]);
    }
    format!(
        "Node lines of mode 1, millimetres from the left end:\n{}\n{}",
        table.trim_fmt(),
        spread_text(spread, units)
    )
}

fn spread_text(spread: Option<SaltSpread>, units: Units) -> String {
    match spread {
        Some(spread) => format!(
            "One number is read within ± {} here (one standard deviation, from {} repetition{}): give `rails` --sigma {}.\n",
            units.place(spread.sigma_m * 1e3),
            spread.repeats,
            if spread.repeats == 1 { "" } else { "s" },
            rounded((spread.sigma_m * 1e3).max(LEAST_SIGMA_MM), 1)
        ),
        None => "No test was repeated yet: salt one bar twice to see how well its lines can be read.\n".to_owned(),
    }
}
