//! A bar as its history leaves it.
use super::body::{Body, DoneStage, DrilledRecord, Face, ReadingRecord, SaltRecord};
use super::error::RecordError;
use super::event::Uid;
use super::history::{History, Standing};
use crate::file::BarFile;
use crate::note::Note;
use crate::record::{BarRecord, HeardRecord};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// Where a bar stands in the order of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// A blank that was not struck yet.
    MeasureBlank,
    /// A measured blank without a note.
    GiveNote,
    /// It has a note; the arch is to be drawn and sawn.
    Saw,
    /// Wood is coming off, toward a semitone sharp.
    RoughTune,
    /// Rough-tuned; its nodes are to be read again.
    SecondSalt,
    /// Its nodes are known; the holes wait for the frame.
    Drill,
    /// Drilled; a finish is to be put on.
    Finish,
    /// Finished; the last cents are to come off.
    FineTune,
    /// Tuned.
    Done,
    /// Kept unaltered to watch the climate.
    Reference,
    /// Given up.
    Discarded,
}

impl Stage {
    /// Every stage, in the order of the work.
    pub const ALL: [Self; 11] = [
        Self::MeasureBlank,
        Self::GiveNote,
        Self::Saw,
        Self::RoughTune,
        Self::SecondSalt,
        Self::Drill,
        Self::Finish,
        Self::FineTune,
        Self::Done,
        Self::Reference,
        Self::Discarded,
    ];

    /// The word in the record.
    pub fn word(self) -> &'static str {
        match self {
            Self::MeasureBlank => "measure_blank",
            Self::GiveNote => "give_note",
            Self::Saw => "saw",
            Self::RoughTune => "rough_tune",
            Self::SecondSalt => "second_salt",
            Self::Drill => "drill",
            Self::Finish => "finish",
            Self::FineTune => "fine_tune",
            Self::Done => "done",
            Self::Reference => "reference",
            Self::Discarded => "discarded",
        }
    }

    /// What to do with the bar, in workshop words.
    pub fn to_do(self) -> &'static str {
        match self {
            Self::MeasureBlank => "strike the blank",
            Self::GiveNote => "give it a note",
            Self::Saw => "draw and saw the arch",
            Self::RoughTune => "rough-tune",
            Self::SecondSalt => "second salt test",
            Self::Drill => "drill, once the frame stands",
            Self::Finish => "put the finish on",
            Self::FineTune => "fine-tune",
            Self::Done => "done",
            Self::Reference => "reference bar",
            Self::Discarded => "given up",
        }
    }

    /// The stage of that word.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|stage| stage.word() == word)
    }

    pub(crate) fn from_word(word: &str) -> Result<Self, RecordError> {
        Self::named(word).ok_or_else(|| RecordError::damaged(format!("a stage \"{word}\"")))
    }
}

/// The last reading that stands.
#[derive(Debug, Clone, PartialEq)]
pub struct LastReading {
    /// When it was entered.
    pub at: Timestamp,
    /// What was heard.
    pub heard: HeardRecord,
    /// Temperature of the bar, or else of the air, in degrees Celsius, if known.
    pub temperature_c: Option<f64>,
    /// Cents of bending 1, 2, 3 above their targets; `None` without a note, a target or a reading of that mode.
    pub cents: [Option<f64>; 3],
}

/// A bar as its history leaves it.
#[derive(Debug, Clone)]
pub struct BarState {
    /// Label on its end grain.
    pub label: String,
    /// The board it was cut from.
    pub board: Option<Uid>,
    /// The instrument it serves.
    pub instrument: Option<Uid>,
    /// Where it stands in the order of the work.
    pub stage: Stage,
    /// The bar file that says the same, its log the standing events.
    pub file: BarFile,
    /// The last reading.
    pub reading: Option<LastReading>,
    /// When wood was last taken off.
    pub worked_at: Option<Timestamp>,
    /// True if the last reading is younger than the last cut.
    pub heard_after_work: bool,
    /// The face that is the top, if decided.
    pub top: Option<Face>,
    /// Salt tests, oldest first, each with whether wood had been taken off before it.
    pub salt: Vec<(SaltRecord, bool)>,
    /// Its holes, if drilled.
    pub drilled: Option<DrilledRecord>,
}

/// What is collected on the way.
struct Walk {
    record: BarRecord,
    instrument: Option<Uid>,
    reading: Option<(Timestamp, ReadingRecord, Option<f64>)>,
    worked_at: Option<Timestamp>,
    heard_after_work: bool,
    top: Option<Face>,
    salt: Vec<(SaltRecord, bool)>,
    drilled: Option<DrilledRecord>,
    finished: bool,
    discarded: bool,
    rough: bool,
    fine: bool,
}

impl BarState {
    /// Follows a bar's history.
    ///
    /// # Errors
    /// [`RecordError`] if it is not a bar's history, or tells of a bar that cannot be (as [`BarFile::from_record`]).
    pub fn of(history: &History) -> Result<Self, RecordError> {
        let standing = history.standing();
        let Some(Body::Entered(entered)) = standing.first().map(|first| first.body) else {
            return Err(RecordError::damaged("a bar that was never entered"));
        };
        let mut walk = Walk::begin(entered.bar.clone());
        for event in &standing[1..] {
            walk.step(event)?;
        }
        let file = BarFile::from_record(&walk.record)?;
        let stage = walk.stage(entered.reference);
        let reading = walk.reading.as_ref().map(|(at, reading, temperature_c)| LastReading {
            at: *at,
            heard: reading.heard.clone(),
            temperature_c: *temperature_c,
            cents: cents(&file, &reading.heard),
        });
        Ok(Self {
            label: entered.label.clone(),
            board: entered.board,
            instrument: walk.instrument,
            stage,
            file,
            reading,
            worked_at: walk.worked_at,
            heard_after_work: walk.heard_after_work,
            top: walk.top,
            salt: walk.salt,
            drilled: walk.drilled,
        })
    }
}

impl Walk {
    fn begin(record: BarRecord) -> Self {
        // A bar that comes with an underside was worked on before it came into the record.
        let heard_after_work = record.underside.is_none();
        Self {
            record,
            instrument: None,
            reading: None,
            worked_at: None,
            heard_after_work,
            top: None,
            salt: Vec::new(),
            drilled: None,
            finished: false,
            discarded: false,
            rough: false,
            fine: false,
        }
    }

    fn arched(&self) -> bool {
        self.record.underside.is_some() || self.worked_at.is_some()
    }

    fn step(&mut self, standing: &Standing<'_>) -> Result<(), RecordError> {
        if let Some(entry) = standing.body.log_entry() {
            self.record.log.get_or_insert_default().push(entry);
        }
        match standing.body {
            Body::Given(given) => {
                self.instrument = Some(given.instrument);
                self.record.note = Some(given.note.clone());
                self.record.a4_hz = Some(given.a4_hz);
            }
            Body::Withdrawn(_) => {
                self.instrument = None;
                self.record.note = None;
            }
            Body::Targets(targets) => self.record.targets = Some(targets.clone()),
            Body::Limits(limits) => self.record.limits = Some(*limits),
            Body::Heard(reading) => {
                let air_c = standing.event.entry.climate.and_then(|climate| climate.temperature_c);
                let temperature_c = reading.heard.temperature_c.or(air_c);
                self.reading = Some((standing.event.at, reading.clone(), temperature_c));
                self.heard_after_work = true;
            }
            Body::Shaped(_) | Body::Cut(_) | Body::Trim(_) => {
                self.worked_at = Some(standing.event.at);
                self.heard_after_work = false;
            }
            Body::Salt(salt) => self.salt.push((salt.clone(), self.arched())),
            Body::TopFace(face) => self.top_face(face.top, face.why.as_deref())?,
            Body::Drilled(drilled) => self.drilled = Some(drilled.clone()),
            Body::Finish(_) => self.finished = true,
            Body::Stage(stage) => match stage.done {
                DoneStage::RoughTuned => self.rough = true,
                DoneStage::FineTuned => self.fine = true,
            },
            Body::Discarded(_) => self.discarded = true,
            _ => {}
        }
        Ok(())
    }

    /// From the arch on the top face is fixed; changing it then needs a reason.
    fn top_face(&mut self, top: Face, why: Option<&str>) -> Result<(), RecordError> {
        if self.arched() && why.is_none_or(|why| why.trim().is_empty()) {
            return Err(RecordError::new(
                "too_late",
                "Wood has been taken off the underside; the top face is fixed from then on.",
                "If it must be noted or changed all the same, say why.",
            ));
        }
        self.top = Some(top);
        Ok(())
    }

    fn stage(&self, reference: bool) -> Stage {
        let salt_after_arch = self.salt.iter().any(|(_, arched)| *arched);
        match self {
            _ if self.discarded => Stage::Discarded,
            _ if reference => Stage::Reference,
            _ if self.fine => Stage::Done,
            _ if self.drilled.is_some() && self.finished => Stage::FineTune,
            _ if self.drilled.is_some() => Stage::Finish,
            _ if self.rough && salt_after_arch => Stage::Drill,
            _ if self.rough => Stage::SecondSalt,
            _ if self.arched() => Stage::RoughTune,
            _ if self.record.note.is_some() && self.reading.is_some() => Stage::Saw,
            _ if self.reading.is_some() => Stage::GiveNote,
            _ => Stage::MeasureBlank,
        }
    }
}

/// Cents of bending 1–3 above note × ratio, of those that are tuned and were heard.
fn cents(file: &BarFile, heard: &HeardRecord) -> [Option<f64>; 3] {
    let Some(note_hz) = file.note().map(|note: Note| note.hz(file.a4_hz())) else { return [None; 3] };
    let ratios = file.record().targets.as_ref().and_then(|targets| targets.ratios.as_deref()).unwrap_or(&[]);
    let hz = heard.hz.bending.as_deref().unwrap_or(&[]);
    std::array::from_fn(|mode| {
        let target_hz = note_hz * ratios.get(mode).copied().or((mode == 0).then_some(1.0))?;
        Some(1200.0 * (hz.get(mode).copied().flatten()? / target_hz).log2())
    })
}
