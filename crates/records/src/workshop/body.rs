//! What can happen in a workshop: a long list of plain records. The words here are the file format: they are never renamed.
use super::event::{Climate, Kind, Uid};
use super::frame::{FrameBuiltRecord, FramePlanRecord};
use super::photo::PhotoRecord;
use crate::record::{
    BarRecord, CaliperRecord, CutRecord, HeardRecord, LimitsRecord, LogEntry, ShapedRecord, TargetsRecord, TrimRecord,
    WeighedRecord,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Body {
    /// The workshop was set up, or its settings changed; the last one holds.
    Workshop(WorkshopRecord),
    /// The air was measured.
    Climate(Climate),
    /// An instrument was ordered, or its order changed; the last one holds.
    Order(OrderRecord),
    /// An instrument left the workshop.
    Delivered(DeliveredRecord),
    /// An instrument came back for retuning or repair.
    Returned(RemarkRecord),
    /// A certificate was given for an instrument as it is.
    Certified(Box<CertificateRecord>),
    /// It was said how an instrument's frame is to be; the last one holds.
    FramePlanned(Box<FramePlanRecord>),
    /// The rails of the standing frame were measured; the last one holds.
    FrameBuilt(FrameBuiltRecord),
    /// A board was bought, or measured anew; the last one holds.
    Board(BoardRecord),
    /// Somebody works here.
    Person(PersonRecord),
    /// A belt, drum or tool is in use.
    Tool(ToolRecord),
    /// The clock of a recorder was measured against a reference tone; the last one holds.
    Calibrated(ClockRecord),
    /// A bar was entered: its blank and what it is for.
    Entered(Box<EnteredRecord>),
    /// A bar was given a note in an instrument.
    Given(GivenRecord),
    /// A bar was taken off its note again.
    Withdrawn(RemarkRecord),
    /// What the bar is tuned to was changed.
    Targets(TargetsRecord),
    /// What must not be passed was changed.
    Limits(LimitsRecord),
    /// The bar was struck and heard.
    Heard(ReadingRecord),
    /// The bar was sawn or measured to this whole profile.
    Shaped(ShapedRecord),
    /// Bands were removed.
    Cut(CutRecord),
    /// The thickness was measured at some places.
    Caliper(CaliperRecord),
    /// The ends were sawn off.
    Trim(TrimRecord),
    /// The bar was weighed.
    Weighed(WeighedRecord),
    /// Its node lines were read from salt.
    Salt(SaltRecord),
    /// It was decided which face is the top.
    TopFace(TopFaceRecord),
    /// The cord holes were drilled.
    Drilled(DrilledRecord),
    /// A finish was put on.
    Finish(FinishRecord),
    /// A stage of the work was declared done.
    Stage(StageRecord),
    /// The bar is given up; its record stays.
    Discarded(RemarkRecord),
    /// Something worth knowing.
    Remark(RemarkRecord),
    /// The last event still standing was taken back.
    Undone(EventName),
    /// What was taken back last stands again.
    Redone(EventName),
    /// An earlier event was entered wrongly.
    Corrected(Box<CorrectedRecord>),
}

/// The workshop's name and settings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WorkshopRecord {
    /// Its name.
    pub name: String,
    /// Smallest step of the maker's tools, e.g. `1/32 in`, as written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool_step: Option<String>,
}

/// What was ordered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OrderRecord {
    /// Name of the instrument.
    pub name: String,
    /// Who ordered it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    /// Frequency of A4, in hertz.
    pub a4_hz: f64,
    /// The air at which that pitch is wanted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<Climate>,
    /// Lowest note of the compass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest: Option<String>,
    /// Highest note of the compass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub highest: Option<String>,
}

/// To whom an instrument went.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DeliveredRecord {
    /// To whom; the customer if missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
}

/// A certificate as it was given.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CertificateRecord {
    /// The whole certificate, sealed, as its file has it.
    pub text: String,
    /// SHA-256 of what it says, as its seal names it.
    pub sha256: String,
}

/// A board of wood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoardRecord {
    /// Name or number on the board.
    pub name: String,
    /// Botanical or trade name of the wood, as on its papers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wood: Option<String>,
    /// Length, in millimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_mm: Option<f64>,
    /// Width, in millimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_mm: Option<f64>,
    /// Thickness, in millimetres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness_mm: Option<f64>,
    /// Mass, in grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<f64>,
    /// Moisture content, in percent of the dry mass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moisture_pct: Option<f64>,
    /// What is to be cut around.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub defects: Vec<BoardDefectRecord>,
    /// Papers of origin, price, other defects: in the maker's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

/// A place of a board that no blank may hold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoardDefectRecord {
    /// Where it begins, from the board's left end, in millimetres.
    pub from_mm: f64,
    /// Where it ends.
    pub to_mm: f64,
    /// Where it begins, from the board's near edge, in millimetres.
    pub near_mm: f64,
    /// Where it ends.
    pub far_mm: f64,
    /// What it is.
    pub what: String,
}

/// Somebody who works here.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonRecord {
    /// Name.
    pub name: String,
}

/// A belt, drum or tool.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ToolRecord {
    /// Name, e.g. "belt sander, 80 grit".
    pub name: String,
    /// Grit of the belt, if it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grit: Option<u32>,
}

/// How far a recorder's clock is off.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClockRecord {
    /// Parts per million by which it runs fast.
    pub offset_ppm: f64,
    /// Standard uncertainty, in parts per million.
    pub sigma_ppm: f64,
    /// Frequency of the reference tone, in hertz.
    pub reference_hz: f64,
}

/// A bar as it came into the record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EnteredRecord {
    /// Label on the bar's end grain.
    pub label: String,
    /// The board it was cut from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board: Option<Uid>,
    /// True for a bar that is kept unaltered to watch the climate.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub reference: bool,
    /// The bar before anything else happened to it; its log is empty.
    pub bar: BarRecord,
}

/// The note a bar serves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GivenRecord {
    /// The instrument.
    pub instrument: Uid,
    /// The note, e.g. C3.
    pub note: String,
    /// Frequency of A4 of the instrument when the note was given, in hertz.
    pub a4_hz: f64,
}

/// A reading with the sound it came from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingRecord {
    /// What was heard.
    pub heard: HeardRecord,
    /// The takes it was heard in, by the SHA-256 of their files.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub takes: Vec<String>,
    /// Where the bar was struck: centre, quarter, corner or end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub struck: Option<String>,
    /// Version of the program that listened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub listener: Option<String>,
}

/// A face of the blank, as labelled on its end grain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Face {
    /// Face A.
    A,
    /// Face B.
    B,
}

/// Node lines of bending 1 as salt showed them, with this face up, in millimetres from the left end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SaltRecord {
    /// The face that was up.
    pub face_up: Face,
    /// The line near the left end.
    pub left: NodeLine,
    /// The line near the right end.
    pub right: NodeLine,
    /// The photograph they were read from, if they were.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo: Option<Box<PhotoRecord>>,
}

/// Where a node line crosses the bar, in millimetres from the left end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NodeLine {
    /// At the near edge.
    pub near_mm: f64,
    /// In the middle of the width, if it was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub centre_mm: Option<f64>,
    /// At the far edge.
    pub far_mm: f64,
}

/// Which face is the top.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TopFaceRecord {
    /// The face that is up on the instrument.
    pub top: Face,
    /// Why it was decided, or changed, after wood had been taken off the underside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// Cord holes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DrilledRecord {
    /// Diameter of the drill, in millimetres.
    pub diameter_mm: f64,
    /// The holes: where they enter and leave.
    pub holes: Vec<HoleRecord>,
    /// Why it was drilled before the rails of the standing frame were measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// One cord hole, in millimetres from the left end; its height from the top face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HoleRecord {
    /// At the near edge.
    pub near_mm: f64,
    /// At the far edge.
    pub far_mm: f64,
    /// Of the hole's axis below the top face.
    pub below_top_mm: f64,
}

/// A finish.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FinishRecord {
    /// What it is, in the maker's words.
    pub what: String,
    /// Coats put on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coats: Option<u32>,
}

/// A stage of the work that can be declared done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum DoneStage {
    /// All tuned modes about a semitone sharp.
    RoughTuned,
    /// All tuned modes within tolerance.
    FineTuned,
}

/// A stage declared done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StageRecord {
    /// The stage.
    pub done: DoneStage,
}

/// Words of the maker.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RemarkRecord {
    /// The words.
    pub text: String,
}

/// The name of an event.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EventName {
    /// The event.
    pub event: Uid,
}

/// What an earlier event should have said; the old words stay in the record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CorrectedRecord {
    /// The event.
    pub event: Uid,
    /// What it should have said; nothing if it should not have been entered at all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Body>,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

impl Body {
    /// The word for this kind of event in the record.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Workshop(_) => "workshop",
            Self::Climate(_) => "climate",
            Self::Order(_) => "order",
            Self::Delivered(_) => "delivered",
            Self::Returned(_) => "returned",
            Self::Certified(_) => "certified",
            Self::FramePlanned(_) => "frame_planned",
            Self::FrameBuilt(_) => "frame_built",
            Self::Board(_) => "board",
            Self::Person(_) => "person",
            Self::Tool(_) => "tool",
            Self::Calibrated(_) => "calibrated",
            Self::Entered(_) => "entered",
            Self::Given(_) => "given",
            Self::Withdrawn(_) => "withdrawn",
            Self::Targets(_) => "targets",
            Self::Limits(_) => "limits",
            Self::Heard(_) => "heard",
            Self::Shaped(_) => "shaped",
            Self::Cut(_) => "cut",
            Self::Caliper(_) => "caliper",
            Self::Trim(_) => "trim",
            Self::Weighed(_) => "weighed",
            Self::Salt(_) => "salt",
            Self::TopFace(_) => "top_face",
            Self::Drilled(_) => "drilled",
            Self::Finish(_) => "finish",
            Self::Stage(_) => "stage",
            Self::Discarded(_) => "discarded",
            Self::Remark(_) => "remark",
            Self::Undone(_) => "undone",
            Self::Redone(_) => "redone",
            Self::Corrected(_) => "corrected",
        }
    }

    /// What it can happen to.
    pub fn belongs_to(&self, kind: Kind) -> bool {
        match self {
            Self::Workshop(_) | Self::Climate(_) => kind == Kind::Workshop,
            Self::Order(_)
            | Self::Delivered(_)
            | Self::Returned(_)
            | Self::Certified(_)
            | Self::FramePlanned(_)
            | Self::FrameBuilt(_) => kind == Kind::Instrument,
            Self::Board(_) => kind == Kind::Board,
            Self::Person(_) => kind == Kind::Person,
            Self::Tool(_) | Self::Calibrated(_) => kind == Kind::Tool,
            Self::Remark(_) | Self::Undone(_) | Self::Redone(_) | Self::Corrected(_) => true,
            _ => kind == Kind::Bar,
        }
    }

    /// True for what begins a thing: it cannot be taken back, only corrected.
    pub fn begins(&self) -> bool {
        matches!(
            self,
            Self::Workshop(_) | Self::Order(_) | Self::Board(_) | Self::Person(_) | Self::Tool(_) | Self::Entered(_)
        )
    }

    /// The entry of a bar file's log that says the same, if there is one.
    pub fn log_entry(&self) -> Option<LogEntry> {
        Some(match self {
            Self::Heard(reading) => LogEntry::Heard(reading.heard.clone()),
            Self::Shaped(shaped) => LogEntry::Shaped(shaped.clone()),
            Self::Cut(cut) => LogEntry::Cut(cut.clone()),
            Self::Caliper(caliper) => LogEntry::Caliper(caliper.clone()),
            Self::Trim(trim) => LogEntry::Trim(*trim),
            Self::Weighed(weighed) => LogEntry::Weighed(*weighed),
            _ => return None,
        })
    }

    /// The photograph that a salt test was read from.
    pub fn photo(&self) -> Option<&PhotoRecord> {
        match self {
            Self::Salt(salt) => salt.photo.as_deref(),
            Self::Corrected(corrected) => corrected.to.as_ref()?.photo(),
            _ => None,
        }
    }

    /// The takes a reading was heard in.
    pub fn takes(&self) -> &[String] {
        match self {
            Self::Heard(reading) => &reading.takes,
            Self::Corrected(corrected) => corrected.to.as_ref().map_or(&[], |to| to.takes()),
            _ => &[],
        }
    }
}

impl From<LogEntry> for Body {
    fn from(entry: LogEntry) -> Self {
        match entry {
            LogEntry::Heard(heard) => {
                Self::Heard(ReadingRecord { heard, takes: Vec::new(), struck: None, listener: None })
            }
            LogEntry::Shaped(shaped) => Self::Shaped(shaped),
            LogEntry::Cut(cut) => Self::Cut(cut),
            LogEntry::Caliper(caliper) => Self::Caliper(caliper),
            LogEntry::Trim(trim) => Self::Trim(trim),
            LogEntry::Weighed(weighed) => Self::Weighed(weighed),
        }
    }
}
