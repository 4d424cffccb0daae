//! Rails and drill chart as text, JSON and picture.
use super::pictures::alone;
use super::table;
use super::units::{Units, percent, plain, signed};
use crate::convert::rounded;
use crate::error::Refused;
use making::frame::{DrilledBar, FittedBar, FramePlan, Hole, LEAST_WOOD_M, Rail, Row, RowFit, Slant, doubts};
use paper::sheets::{FrameBarMark, FrameView, Sheet, frame_view};
use serde_json::{Value, json};

const RAILS: [&str; 2] = ["player's rail", "far rail"];

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
        "\nBuild the frame, measure the rails where they really are, and only then ask for the holes: barwright drill … --built RAILS.csv\n",
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

fn doubt_lines(plan: &FramePlan) -> String {
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

/// The public JSON of `drill`; see docs/frame.md.
pub fn drill_to_json(bars: &[DrilledBar], built: bool) -> Value {
    let mm = |m: f64| rounded(m * 1e3, 3);
    let hole = |hole: &Hole| {
        json!({
            "from_player_end_mm": { "left": mm(hole.from_player_end_m[0]), "right": mm(hole.from_player_end_m[1]) },
            "from_left_end_mm": { "near": mm(hole.bench_m[0]), "far": mm(hole.bench_m[1]) },
            "angle_deg": rounded(hole.angle_rad.to_degrees(), 2),
            "leans": hole.slant().sign(),
            "wood_over_mm": mm(hole.over_m),
            "wood_under_mm": hole.under_m.map(mm),
            "weak": hole.is_weak(),
            "steep": hole.is_steep(),
        })
    };
    let bars: Vec<Value> = bars
        .iter()
        .map(|bar| {
            json!({
                "note": bar.name,
                "row": bar.row.name(),
                "player_hole": hole(&bar.holes[0]),
                "far_hole": hole(&bar.holes[1]),
                "may_be_drilled": built && !bar.interpolated && !bar.misread,
            })
        })
        .collect();
    json!({ "on_the_built_frame": built, "bars": bars })
}

/// The drill chart.
pub fn drill_to_text(plan: &FramePlan, bars: &[DrilledBar], diameter_mm: f64, built: bool, units: Units) -> String {
    let head = if built {
        "Drill chart, from the rails as built.\n"
    } else {
        "NOT FOR DRILLING: from the plan, not from the rails as built.\n"
    };
    let below = bars.first().map_or(0.0, |b| b.holes[0].over_m * 1e3 + diameter_mm / 2.0);
    let mut text = format!(
        "{head}Top face up, the arrow to the player. Every number from the end that faces the player, on the bar's left and right side.\n\
         Drill {}, axis {} below the top face in every bar. Lay each bar on the rails and check both marks before drilling.\n\
         Mind the mirror: on the outer rails naturals lean \"/\" and accidentals \"\\\".\n\n",
        units.place(diameter_mm),
        units.depth(below)
    );
    let mut table = table();
    table.set_header([
        "bar",
        "player's hole: left",
        "right",
        "angle",
        "far hole: left",
        "right",
        "angle",
        "wood over, under",
        "",
    ]);
    for bar in bars {
        let [player, far] = &bar.holes;
        let side = |hole: &Hole, side: usize| units.place(hole.from_player_end_m[side] * 1e3);
        let angle = |hole: &Hole| format!("{}° {}", plain(hole.angle_rad.to_degrees().abs(), 1), hole.slant().sign());
        table.add_row([
            bar.name.clone(),
            side(player, 0),
            side(player, 1),
            angle(player),
            side(far, 0),
            side(far, 1),
            angle(far),
            wood(bar),
            remark(bar),
        ]);
    }
    text.push_str(&format!("{table}\n"));
    text.push_str(&doubt_lines(plan));
    text.push_str(
        "\nClamp the bar, back it with a block, wear eye protection, clear the chips; follow the drill's manual. \
         A hole cannot be moved: read a doubtful bar again first. Drilling may lower a bar by a few cents; strike it again afterwards.\n",
    );
    text
}

fn wood(bar: &DrilledBar) -> String {
    let under = bar.holes.iter().filter_map(|h| h.under_m).reduce(f64::min);
    let over = plain(bar.holes[0].over_m * 1e3, 1);
    under.map_or_else(|| format!("{over} mm, not known"), |under| format!("{over}, {} mm", plain(under * 1e3, 1)))
}

fn remark(bar: &DrilledBar) -> String {
    let mut words = Vec::new();
    if bar.interpolated {
        words.push("do not drill: not read".to_owned());
    }
    if bar.misread {
        words.push("do not drill: read it again".to_owned());
    }
    if bar.holes.iter().any(Hole::is_weak) {
        words.push(format!("less than {} mm of wood at the hole", plain(LEAST_WOOD_M * 1e3, 0)));
    }
    if bar.holes.iter().any(Hole::is_steep) {
        words.push("steep".to_owned());
    }
    words.join("; ")
}

/// The frame from above.
///
/// # Errors
/// [`Refused`] if a value cannot be drawn.
pub fn picture(plan: &FramePlan, title: &str) -> Result<String, Refused> {
    let marked: Vec<String> = plan.rows.iter().flat_map(doubts).map(|d| d.name).collect();
    let mark = |fit: &RowFit, bar: &FittedBar| {
        let player_end = bar.ends_y_m()[0];
        let line = |line: [f64; 2]| line.map(|y| (player_end + y) * 1e3);
        FrameBarMark {
            name: bar.bar.name.clone(),
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
    let view = FrameView {
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
        sheet: WALL,
    };
    alone(frame_view(&view), "check the lengths and widths of the bars for a wrong unit")
}
