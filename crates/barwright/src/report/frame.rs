//! Rails and drill chart as text, JSON and picture.
use super::pictures::alone;
use super::table;
use super::units::{Units, percent, plain, signed};
use crate::convert::rounded;
use crate::error::Refused;
use making::frame::{FittedBar, FramePlan, Members, Rail, Row, RowFit, Slant, doubts};
use paper::sheets::{FrameBarMark, FrameView, Sheet, frame_view};
use serde_json::{Value, json};
use words::tell;

/// What a row's two rails are called.
pub(super) const RAILS: [&str; 2] = ["player's rail", "far rail"];

/// A sheet as wide as A3 lies: sixty bars with names that can be read.
const WALL: Sheet = Sheet { width_mm: 400.0, lettering_mm: 4.2 };

/// The public JSON of `rails`; see docs/frame.md.
pub fn rails_to_json(plan: &FramePlan) -> Value {
    let mm = |m: f64| rounded(m * 1e3, 3);
    let rail =
        |rail: &Rail| rail.points().iter().map(|(x, y)| json!({ "x_mm": mm(*x), "y_mm": mm(*y) })).collect::<Vec<_>>();
    let bar = |fit: &RowFit, bar: &FittedBar, unfair_m: f64| {
        json!({
            "note": bar.bar.name,
            "row": fit.row.name(),
            "centre_x_mm": mm(bar.bar.centre_x_m),
            "ends_y_mm": bar.ends_y_m().map(mm),
            "cords_mm": bar.cords_m.map(|cord| cord.map(mm)),
            "misses_mm": bar.misses_m().map(|miss| miss.map(mm)),
            "motion": rounded(bar.motion(), 4),
            "end_off_fair_line_mm": mm(unfair_m),
            "read": !bar.interpolated,
            "misread": bar.misread,
        })
    };
    let row = |fit: &RowFit| {
        json!({
            "row": fit.row.name(),
            "player_rail": rail(&fit.rails[0]),
            "far_rail": rail(&fit.rails[1]),
            "span_sigma_mm": fit.span_sigma_m.map(mm),
            "outer_share": fit.outer_share.map(|share| rounded(share, 3)),
            "rms_motion": rounded(fit.rms_motion(), 4),
        })
    };
    let bars: Vec<Value> = plan
        .rows
        .iter()
        .flat_map(|fit| fit.bars.iter().zip(fit.unfair_m()).map(move |(b, u)| bar(fit, b, u)))
        .collect();
    let doubts: Vec<Value> = plan
        .rows
        .iter()
        .flat_map(doubts)
        .map(|d| json!({ "note": d.name, "code": d.code, "message": d.message, "hint": d.hint }))
        .collect();
    let bends: Vec<Value> = plan
        .bends
        .iter()
        .map(|b| json!({ "row": b.row.name(), "after": b.after, "motion_straight": rounded(b.straight, 4), "motion_bent": rounded(b.bent, 4) }))
        .collect();
    json!({
        "view": "instrument: player at the bottom, treble to the right; x from the lowest natural's bass side, y from its outer cord, away from the player",
        "overall_mm": mm(plan.layout.overall_m),
        "rows": plan.rows.iter().map(row).collect::<Vec<_>>(),
        "bars": bars,
        "doubts": doubts,
        "bends": bends,
        "overlap_mm": plan.overlap.map(|o| json!({
            "mean": mm(o.mean_m),
            "bass": mm(o.ends_m[0]),
            "treble": mm(o.ends_m[1]),
            "even_outer_share": o.even_share.map(|s| rounded(s, 3)),
        })),
    })
}

/// Rails first, then what is doubtful, then every bar.
pub fn rails_to_text(plan: &FramePlan, units: Units) -> String {
    let count = |row: Row| plan.rows.iter().filter(|r| r.row == row).map(|r| r.bars.len()).sum::<usize>();
    let mut text = format!(
        "Rails of {} naturals and {} accidentals, {} from the first bar to the last.\n\
         Seen from above, player at the bottom, treble to the right. Along: from the lowest natural's bass side. \
         Away: from its outer cord.\n\n",
        count(Row::Natural),
        count(Row::Accidental),
        units.place(plan.layout.overall_m * 1e3)
    );
    text.push_str(&rail_table(plan, units));
    for fit in &plan.rows {
        let [bass, treble] = fit.span_sigma_m.map(|s| plain(s * 1e3, 1));
        text.push_str(&format!(
            "Distance between the {}' rails: known to ± {bass} mm in the bass, ± {treble} mm in the treble.\n",
            fit.row.name()
        ));
    }
    text.push_str(&doubt_lines(plan));
    text.push('\n');
    text.push_str(&bar_table(plan, units));
    text.push_str(
        "\nBuild the frame, measure the rails where they really are, and only then ask for the holes: barwright drill … --built RAILS.csv\n\
         What it is made of: barwright frame …\n",
    );
    text
}

fn rail_table(plan: &FramePlan, units: Units) -> String {
    let mut table = table();
    table.set_header(["rail", "bass: along, away", "bend", "treble: along, away", "off square"]);
    let place = |(x, y): (f64, f64)| format!("{}, {}", units.place(x * 1e3), units.place(y * 1e3));
    for fit in &plan.rows {
        for (name, rail) in RAILS.iter().zip(&fit.rails) {
            let points = rail.points();
            let (first, last) = (points[0], points[points.len() - 1]);
            let bend = points.get(1).filter(|_| points.len() > 2).map_or_else(|| "–".to_owned(), |p| place(*p));
            let slope = rail.slope_at(f64::midpoint(first.0, points[1].0));
            table.add_row([
                format!("{}, {name}", fit.row.name()),
                place(first),
                bend,
                place(last),
                format!("{}° {}", plain(slope.atan().to_degrees().abs(), 1), Slant::of(slope).sign()),
            ]);
        }
    }
    format!("{table}\n")
}

pub(super) fn doubt_lines(plan: &FramePlan) -> String {
    let mut text = String::new();
    for doubt in plan.rows.iter().flat_map(doubts) {
        text.push_str(&format!(
            "! {}\n  {}\n",
            crate::error::sentence(&doubt.message),
            crate::error::sentence(&doubt.hint)
        ));
    }
    for (a, b, space_m) in &plan.layout.tight {
        text.push_str(&format!(
            "! Accidentals {a} and {b} have only {} mm between them.
",
            plain(space_m * 1e3, 1)
        ));
    }
    text.push_str(&overlap_line(plan));
    for bend in &plan.bends {
        text.push_str(&format!(
            "A bend of the {}' rails at the post after {} would lower the motion at the cords from {} to {} of the centre's: --bend-after {}\n",
            bend.row.name(),
            bend.after,
            percent(bend.straight),
            percent(bend.bent),
            bend.after
        ));
    }
    text
}

/// How the rows' ends meet, and the share that would even it out where they drift apart.
fn overlap_line(plan: &FramePlan) -> String {
    /// Less than this is not seen along a row.
    const DRIFT_M: f64 = 0.01;
    let Some(overlap) = plan.overlap else { return String::new() };
    let [bass, treble] = overlap.ends_m.map(|m| plain(m * 1e3, 0));
    let mut line = format!(
        "The accidentals lie over the naturals' ends by {bass} mm in the bass and {treble} mm in the treble.\n"
    );
    let drifts = (overlap.ends_m[0] - overlap.ends_m[1]).abs() > DRIFT_M;
    if let Some(share) = overlap.even_share.filter(|share| drifts && (0.0..=2.0).contains(share)) {
        let share = plain(share, 2);
        line.push_str(&format!(
            "  Even all along: --outer-share-from {share} --outer-share-to {share}; look what it does at the nodes.\n"
        ));
    }
    line
}

fn bar_table(plan: &FramePlan, units: Units) -> String {
    let mut table = table();
    table.set_header([
        "bar",
        "middle along",
        "player's end away",
        "misses: player's rail, far rail",
        "motion",
        "end off line",
    ]);
    for fit in &plan.rows {
        for (bar, unfair_m) in fit.bars.iter().zip(fit.unfair_m()) {
            let [player, far] = bar.misses_m().map(|[left, right]| signed(f64::midpoint(left, right) * 1e3, 1));
            let misses = if bar.interpolated { "not read".to_owned() } else { format!("{player}, {far} mm") };
            let mark = if bar.misread { " ! misread" } else { "" };
            table.add_row([
                bar.bar.name.clone(),
                units.place(bar.bar.centre_x_m * 1e3),
                units.place(bar.ends_y_m()[0] * 1e3),
                format!("{misses}{mark}"),
                if bar.interpolated { "–".to_owned() } else { percent(bar.motion()) },
                format!("{} mm", signed(unfair_m * 1e3, 1)),
            ]);
        }
    }
    format!("{table}\n")
}

/// The frame from above.
///
/// # Errors
/// [`Refused`] if a value cannot be drawn.
pub fn picture(plan: &FramePlan, members: Option<&Members>, title: &str) -> Result<String, Refused> {
    alone(frame_view(&view(plan, members, title, WALL)), "check the lengths and widths of the bars for a wrong unit")
}

/// The frame from above for a sheet.
pub fn view(plan: &FramePlan, members: Option<&Members>, title: &str, sheet: Sheet) -> FrameView {
    let marked: Vec<String> = plan.rows.iter().flat_map(doubts).map(|d| d.name).collect();
    let mark = |fit: &RowFit, bar: &FittedBar| {
        let player_end = bar.ends_y_m()[0];
        let line = |line: [f64; 2]| line.map(|y| (player_end + y) * 1e3);
        FrameBarMark {
            name: words::note(&bar.bar.name),
            accidental: fit.row == Row::Accidental,
            centre_x_mm: bar.bar.centre_x_m * 1e3,
            width_mm: bar.bar.width_m * 1e3,
            ends_y_mm: bar.ends_y_m().map(|y| y * 1e3),
            nodes_y_mm: if bar.interpolated {
                Vec::new()
            } else {
                vec![line(bar.nodes.player_m), line(bar.nodes.away_m)]
            },
            doubtful: marked.contains(&bar.bar.name),
        }
    };
    FrameView {
        title: title.to_owned(),
        description: format!(
            "The frame from above with {} bars; {} of them are to be looked at again.",
            plan.rows.iter().map(|r| r.bars.len()).sum::<usize>(),
            marked.len()
        ),
        bars: plan.rows.iter().flat_map(|fit| fit.bars.iter().map(move |bar| mark(fit, bar))).collect(),
        rails_mm: plan
            .rows
            .iter()
            .flat_map(|fit| {
                fit.rails.iter().map(|rail| rail.points().iter().map(|(x, y)| (x * 1e3, y * 1e3)).collect())
            })
            .collect(),
        posts_mm: members.map_or_else(Vec::new, |m| m.posts.iter().map(|p| (p.x_m * 1e3, p.y_m * 1e3)).collect()),
        tubes_mm: members.map_or_else(Vec::new, |m| tubes(plan, m)),
        boards_x_mm: members.map(|m| m.between_x_m.map(|x| x * 1e3)),
        sheet,
    }
}

/// Room for a tube under each bar, in millimetres: middle and diameter.
fn tubes(plan: &FramePlan, members: &Members) -> Vec<(f64, f64, f64)> {
    let bars = plan.rows.iter().flat_map(|fit| fit.bars.iter().map(move |bar| (fit, bar)));
    let of = |(fit, bar): (&RowFit, &FittedBar)| {
        let (_, widest_m) = members.widest_tube_m.iter().find(|(name, _)| *name == bar.bar.name)?;
        let x = bar.bar.centre_x_m;
        let y = f64::midpoint(fit.rails[0].y_at(x), fit.rails[1].y_at(x));
        Some((x * 1e3, y * 1e3, widest_m * 1e3))
    };
    bars.filter_map(of).collect()
}

/// The bars of a row that are to be looked at again.
pub fn doubtful(row: &RowFit) -> Vec<String> {
    doubts(row).into_iter().map(|doubt| doubt.name).collect()
}

/// Everything doubtful about a frame and its parts: what is wrong, and what helps, as sentences.
pub fn words_of_doubts(plan: &FramePlan, members: &Members) -> Vec<(String, String)> {
    let sentence = crate::error::sentence;
    let all = plan.rows.iter().flat_map(doubts).chain(members.doubts.iter().cloned());
    let mut told: Vec<(String, String)> = all
        .map(|doubt| {
            (
                format!("{}.", sentence(&doubt.message).trim_end_matches('.')),
                format!("{}.", sentence(&doubt.hint).trim_end_matches('.')),
            )
        })
        .collect();
    for bend in &plan.bends {
        told.push((
            tell!(
                "doubt-bend",
                row = bend.row.words(),
                after = words::note(&bend.after),
                straight = percent(bend.straight),
                bent = percent(bend.bent),
            ),
            tell!("doubt-bend-hint", after = bend.after.as_str()),
        ));
    }
    told
}

/// What to do next about a planned frame, in one sentence.
pub fn verdict(plan: &FramePlan) -> String {
    let all: Vec<making::frame::Doubt> = plan.rows.iter().flat_map(doubts).collect();
    let names = |code: &str| all.iter().filter(|d| d.code == code).map(|d| d.name.as_str()).collect::<Vec<_>>();
    let again = [names("misread"), names("leans_across")].concat();
    let (missed, unread) = (names("off_the_node"), names("not_read"));
    let list = |names: &[&str]| match names {
        [first, second, third, _, ..] => format!("{first}, {second}, {third} and {} more", names.len() - 3),
        names => names.join(", "),
    };
    if !again.is_empty() {
        format!("Salt {} again before you build.", list(&again))
    } else if !missed.is_empty() {
        format!("The cords miss {} by too much.", list(&missed))
    } else if !unread.is_empty() {
        format!("The rails fit. {} still to be salted; build and drill nothing by guesses.", list(&unread))
    } else {
        "The rails fit every bar. Build the frame.".to_owned()
    }
}
