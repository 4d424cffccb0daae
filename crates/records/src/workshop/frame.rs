//! The frame of an instrument: what it is laid to, and where its rails were found to stand.
use super::body::Body;
use super::error::RecordError;
use super::event::Uid;
use super::history::History;
use super::open::Workshop;
use crate::note::Note;
use jiff::Timestamp;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Longest frame, in millimetres.
const LONGEST_MM: f64 = 10_000.0;
/// Most points along one measured rail.
const MOST_POINTS: usize = 200;

/// How the frame is to be: lengths in millimetres, seen from above, player at the bottom, treble to the right.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct FramePlanRecord {
    /// Space between bars.
    pub gap_mm: f64,
    /// All bars in one row.
    pub one_row: bool,
    /// How far the accidentals' ends lie over the naturals' ends, on average.
    pub overlap_mm: f64,
    /// Least and most of the convergence that the outer rails take.
    pub outer_share: [f64; 2],
    /// Both outer rails lean alike, and so do both inner ones.
    pub symmetric: bool,
    /// What unfair ends cost, as a share of the same miss at a node.
    pub fairness: f64,
    /// Notes after which their row's rails bend.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub bend_after: Vec<String>,
    /// Doubt of each node number.
    pub sigma_mm: f64,
    /// Axis of the holes below the top face.
    pub below_top_mm: f64,
    /// Diameter of the drill.
    pub diameter_mm: f64,
    /// Thickness of the rails' wood, seen from above.
    pub rail_thickness_mm: f64,
    /// Height of the rails' wood.
    pub rail_height_mm: f64,
    /// Thickness of the end boards.
    pub end_board_mm: f64,
    /// Diameter of the posts, felt included.
    pub post_mm: f64,
    /// How much higher the accidentals' rails lie.
    pub raise_mm: f64,
    /// Rails set by hand instead of fitted; none if they are fitted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_hand: Vec<RailRecord>,
}

impl Default for FramePlanRecord {
    fn default() -> Self {
        Self {
            gap_mm: 12.7,
            one_row: false,
            overlap_mm: 10.0,
            outer_share: [0.5, 1.0],
            symmetric: false,
            fairness: 0.0,
            bend_after: Vec::new(),
            sigma_mm: 1.0,
            below_top_mm: 10.0,
            diameter_mm: 6.0,
            rail_thickness_mm: 20.0,
            rail_height_mm: 60.0,
            end_board_mm: 22.0,
            post_mm: 8.0,
            raise_mm: 35.0,
            by_hand: Vec::new(),
        }
    }
}

/// Where the rails of the standing frame were found to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FrameBuiltRecord {
    /// Every rail, two a row.
    pub rails: Vec<RailRecord>,
    /// Standard uncertainty of each measured point, in millimetres.
    pub sigma_mm: f64,
}

/// The cord line of one rail, in millimetres.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RailRecord {
    /// Its row.
    pub row: RowWord,
    /// Which of the row's two rails.
    pub rail: RailWord,
    /// Points (x from the lowest natural's bass side, y from its outer cord away from the player), bass to treble.
    pub points: Vec<[f64; 2]>,
}

/// A row of bars.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RowWord {
    /// The naturals, or all bars of an instrument with one row.
    Natural,
    /// The accidentals.
    Accidental,
}

/// One of a row's rails.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RailWord {
    /// The one nearer the player.
    Player,
    /// The other.
    Far,
}

/// What the record says of an instrument's frame.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FrameState {
    /// What it is to be, if that was ever said.
    pub plan: Option<FramePlanRecord>,
    /// What stands, and since when.
    pub built: Option<(FrameBuiltRecord, Timestamp)>,
}

impl FrameState {
    /// From the events that stand.
    pub fn of(history: &History) -> Self {
        let mut state = Self::default();
        for standing in history.standing() {
            match standing.body {
                Body::FramePlanned(plan) => state.plan = Some((**plan).clone()),
                Body::FrameBuilt(built) => state.built = Some((built.clone(), standing.event.at)),
                _ => {}
            }
        }
        state
    }

    /// Refuses values that no frame can have.
    ///
    /// # Errors
    /// `out_of_range`, `wrong_rail`, or of a note that is none.
    pub(crate) fn checked(self) -> Result<Self, RecordError> {
        if let Some(plan) = &self.plan {
            plan.check()?;
        }
        if let Some((built, _)) = &self.built {
            within("the doubt of the measured rails", built.sigma_mm, 0.01, 20.0)?;
            if built.rails.is_empty() {
                return Err(wrong("No rail was measured.".to_owned(), FROM_ONE_DATUM));
            }
            check_rails(&built.rails)?;
        }
        Ok(self)
    }
}

impl FramePlanRecord {
    /// One line a value: what it is, and its range.
    fn check(&self) -> Result<(), RecordError> {
        within("the gap between bars", self.gap_mm, 1.0, 100.0)?;
        within("the overlap of the rows", self.overlap_mm, -100.0, 100.0)?;
        let [least, most] = self.outer_share;
        within("the greatest share of the outer rails", most, 0.0, 2.0)?;
        within("the least share of the outer rails", least, 0.0, most)?;
        within("the weight of fair ends", self.fairness, 0.0, 100.0)?;
        within("the doubt of the node lines", self.sigma_mm, 0.01, 20.0)?;
        within("the hole's axis below the top face", self.below_top_mm, 1.0, 40.0)?;
        within("the drill's diameter", self.diameter_mm, 1.0, 15.0)?;
        within("the thickness of the rails", self.rail_thickness_mm, 5.0, 100.0)?;
        within("the height of the rails", self.rail_height_mm, 10.0, 300.0)?;
        within("the thickness of the end boards", self.end_board_mm, 5.0, 100.0)?;
        within("the diameter of the posts", self.post_mm, 1.0, 40.0)?;
        within("the raise of the accidentals' rails", self.raise_mm, 0.0, 150.0)?;
        for note in &self.bend_after {
            note.parse::<Note>().map_err(|error| {
                RecordError::new(
                    "wrong_note",
                    format!("The rails bend after \"{note}\": {error}."),
                    "Name a bar, e.g. F4.",
                )
            })?;
        }
        check_rails(&self.by_hand)
    }
}

fn within(what: &str, value: f64, least: f64, most: f64) -> Result<(), RecordError> {
    if (least..=most).contains(&value) {
        return Ok(());
    }
    Err(RecordError::new(
        "out_of_range",
        format!("{what} is {value}; it must lie between {least} and {most}."),
        "Check the number and its unit.",
    ))
}

const FROM_ONE_DATUM: &str = "Measure both rails of each row from one datum.";

fn wrong(what: String, hint: &str) -> RecordError {
    RecordError::new("wrong_rail", what, hint)
}

/// No rail twice or without its fellow, enough points in order.
fn check_rails(rails: &[RailRecord]) -> Result<(), RecordError> {
    for (index, rail) in rails.iter().enumerate() {
        let name = rail.name();
        if rails[..index].iter().any(|other| (other.row, other.rail) == (rail.row, rail.rail)) {
            return Err(wrong(format!("{name} is named twice."), "Give all points of a rail together."));
        }
        if !(2..=MOST_POINTS).contains(&rail.points.len()) {
            let count = rail.points.len();
            return Err(wrong(
                format!("{name} has {count} points; it must have 2 to {MOST_POINTS}."),
                "Measure both ends, and bows where there are any.",
            ));
        }
        for value in rail.points.iter().flatten() {
            within(&format!("a place on {name}"), *value, -LONGEST_MM, LONGEST_MM)?;
        }
        if rail.points.windows(2).any(|pair| pair[1][0] <= pair[0][0]) {
            return Err(wrong(
                format!("The points of {name} are not in order."),
                "List them from the bass to the treble, each at a place of its own.",
            ));
        }
        if !rails.iter().any(|other| other.row == rail.row && other.rail != rail.rail) {
            return Err(wrong(format!("{name} has no fellow."), FROM_ONE_DATUM));
        }
    }
    Ok(())
}

impl RailRecord {
    /// How people call it.
    pub fn name(&self) -> String {
        let row = match self.row {
            RowWord::Natural => "naturals",
            RowWord::Accidental => "accidentals",
        };
        let rail = match self.rail {
            RailWord::Player => "player's",
            RailWord::Far => "far",
        };
        format!("the {row}' {rail} rail")
    }
}

impl Workshop {
    /// What the record says of an instrument's frame.
    ///
    /// # Errors
    /// `not_found`, `damaged`.
    pub fn frame(&self, instrument: Uid) -> Result<FrameState, RecordError> {
        Ok(FrameState::of(&self.history(instrument)?))
    }
}
