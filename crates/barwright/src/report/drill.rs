//! The drill chart as text and JSON.
use super::frame::doubt_lines;
use super::table;
use super::units::{Units, plain, signed};
use crate::convert::rounded;
use making::frame::{DrilledBar, FramePlan, Hole, LEAST_WOOD_M};
use serde_json::{Value, json};
use words::tell;

/// What a drill chart tells.
#[derive(Debug, Clone, Copy)]
pub struct Chart<'a> {
    /// The bars on their rails.
    pub plan: &'a FramePlan,
    /// Their holes, bass to treble.
    pub bars: &'a [DrilledBar],
    /// Diameter of the drill, in millimetres.
    pub diameter_mm: f64,
    /// Whether the rails are those that stand.
    pub built: bool,
    /// Cents by which drilling changes bending 1 to 3, by the bar's name, where that is known.
    pub pitch: &'a [(String, Vec<f64>)],
    /// How far the standing rails are off those planned at most, in millimetres, if both are known.
    pub moved_mm: Option<f64>,
    /// Bars drilled by marks made on the frame, and how far these lie off the rails' cords, in millimetres.
    pub marked: &'a [(String, f64)],
}

/// A mark farther off the rails' cord than this is told: a rail is measured to ±1 mm and a mark made to ±0.5 (common
/// practice, no source), so this is some three doubts of both.
pub const MARK_OFF_MM: f64 = 3.0;

impl Chart<'_> {
    /// The public JSON of `drill`; see docs/frame.md.
    pub fn to_json(&self) -> Value {
        let (bars, built) = (self.bars, self.built);
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
                "marked_off_rails_mm": self.marked.iter().find(|(name, _)| *name == bar.name).map(|(_, mm)| rounded(*mm, 2)),
                "may_be_drilled": built && !bar.interpolated && !bar.misread,
                "drilling_cents": self.cents(&bar.name).map(|cents| cents.iter().map(|c| rounded(*c, 2)).collect::<Vec<_>>()),
            })
        })
        .collect();
        json!({ "on_the_built_frame": built, "most_off_plan_mm": self.moved_mm.map(|mm| rounded(mm, 2)), "bars": bars })
    }

    fn cents(&self, name: &str) -> Option<&[f64]> {
        self.pitch.iter().find(|(of, _)| of == name).map(|(_, cents)| cents.as_slice())
    }

    /// The drill chart.
    pub fn to_text(&self, units: Units) -> String {
        let Self { plan, bars, diameter_mm, built, .. } = *self;
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
            "drilling, cents",
            "",
        ]);
        for bar in bars {
            let [player, far] = &bar.holes;
            let side = |hole: &Hole, side: usize| units.place(hole.from_player_end_m[side] * 1e3);
            let angle =
                |hole: &Hole| format!("{}° {}", plain(hole.angle_rad.to_degrees().abs(), 1), hole.slant().sign());
            table.add_row([
                bar.name.clone(),
                side(player, 0),
                side(player, 1),
                angle(player),
                side(far, 0),
                side(far, 1),
                angle(far),
                wood(bar),
                self.cents(&bar.name)
                    .map_or_else(|| "–".to_owned(), |c| c.iter().map(|c| signed(*c, 1)).collect::<Vec<_>>().join(" ")),
                remark(bar),
            ]);
        }
        text.push_str(&format!("{table}\n"));
        text.push_str(&doubt_lines(plan));
        if let Some(moved) = self.moved_mm {
            text.push_str(&format!("The rails stand up to {} mm off the plan.\n", plain(moved, 1)));
        }
        for (name, off_mm) in self.marked.iter().filter(|(_, off_mm)| *off_mm > MARK_OFF_MM) {
            text.push_str(&format!(
                "! {name}: its marks lie up to {} mm off the rails as measured.\n  Lay it on the frame again: is it centred in its gap, in its place, the right end to the player? Then measure the rails there.\n",
                plain(*off_mm, 1)
            ));
        }
        if !self.marked.is_empty() {
            text.push_str(&format!(
                "{} bars by their marks, the others by the rails as measured.\n",
                self.marked.len()
            ));
        }
        text.push_str(&self.pitch_lines());
        text.push_str(
            "\nClamp the bar, back it with a block, wear eye protection, clear the chips; follow the drill's manual. \
         A hole cannot be moved: read a doubtful bar again first. Strike every bar again after drilling.\n",
        );
        text
    }

    /// What drilling does to the pitch: the bars it changes most.
    fn pitch_lines(&self) -> String {
        let largest = |cents: &[f64]| cents.iter().fold(0.0_f64, |most, c| most.max(c.abs()));
        let Some((name, cents)) = self.pitch.iter().max_by(|a, b| largest(&a.1).total_cmp(&largest(&b.1))) else {
            return "Drilling may lower a bar by a few cents.\n".to_owned();
        };
        let each = cents.iter().map(|c| signed(*c, 1)).collect::<Vec<_>>().join(", ");
        format!(
            "Drilling changes {name} most: {each} cents in modes 1 to {} by a model that is right to about half.\n",
            cents.len()
        )
    }
}

/// Wood left over and under the holes of a bar.
pub fn wood(bar: &DrilledBar) -> String {
    let under = bar.holes.iter().filter_map(|h| h.under_m).reduce(f64::min);
    let over = plain(bar.holes[0].over_m * 1e3, 1);
    under.map_or_else(
        || tell!("wood-under-unknown", over = over.as_str()),
        |under| format!("{over} / {} mm", plain(under * 1e3, 1)),
    )
}

/// Why a bar must not be drilled yet, and what to mind.
pub fn remark(bar: &DrilledBar) -> String {
    let mut words = Vec::new();
    if bar.interpolated {
        words.push(tell!("do-not-drill-unread"));
    }
    if bar.misread {
        words.push(tell!("do-not-drill-misread"));
    }
    if bar.holes.iter().any(Hole::is_weak) {
        words.push(tell!("little-wood-at-hole", mm = plain(LEAST_WOOD_M * 1e3, 0)));
    }
    if bar.holes.iter().any(Hole::is_steep) {
        words.push(tell!("steep"));
    }
    words.join("; ")
}
