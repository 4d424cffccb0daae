//! What a bar's salt tests say, held against the model and against each other.
use super::{bar, mm};
use crate::error::Refused;
use bar_physics::{Wanted, solid};
use making::frame::{
    BenchNodes, Doubt, Expected, FaceAdvice, RailSlopes, Row, SaltMean, SaltMove, SaltSpread, SaltTest, choose_face,
    row_of,
};
use records::workshop::{BarFilter, BarState, Body, Face, History, NodeLine, SaltRecord, Stage, Uid, Workshop};
use records::{BarFile, BarRecord, LogEntry, Note};

/// Nodes of bending 1 of an even bar from either end, as a share of its length (`reference/eb_uniform_nodes.csv`).
const EVEN_SHARE: f64 = 0.224_157_6;
/// Semitones from C up to A: rows are counted from C.
const A_ABOVE_C: i32 = 9;
/// Gap between bars where the frame is not laid yet: half an inch (common practice, no source).
const USUAL_GAP_M: f64 = 12.7e-3;
/// With fewer bars of the row than this their lengths do not tell how the rails will close in.
const LEAST_BARS: usize = 5;

/// One salt test, turned so that the same face is up in all of them.
#[derive(Debug, Clone)]
pub struct Salted {
    /// Number of its entry in the bar's history.
    pub number: usize,
    /// When it was entered.
    pub at: jiff::Timestamp,
    /// The face that was up.
    pub face_up: Face,
    /// The lines, with [`SaltedBar::face`] up.
    pub test: SaltTest,
    /// How often wood had been taken off before it.
    pub works: usize,
}

/// A bar's salt tests and what they are held against.
#[derive(Debug, Clone)]
pub struct SaltedBar {
    /// The face that all lines are shown with: the top face, or A while it is not decided.
    pub face: Face,
    /// Whether the top face is decided.
    pub decided: bool,
    /// Length now, and width.
    pub length_m: f64,
    /// Width.
    pub width_m: f64,
    /// All tests since an end was sawn off last, oldest first.
    pub tests: Vec<Salted>,
    /// The model's lines of the bar as it is now; `None` if it cannot be computed.
    pub model: Option<BenchNodes>,
    /// The model's lines of the bar as it was at the oldest of the tests, where wood was taken off since.
    pub model_at_first: Option<BenchNodes>,
    /// How often wood was taken off until now.
    pub works: usize,
    /// The bar's row, by its note.
    pub row: Row,
}

/// Lines as the record has them, with the face up with which they were read.
pub fn as_read(salt: &SaltRecord) -> SaltTest {
    let line = |line: &NodeLine| [mm(line.near_mm), mm(line.far_mm)];
    SaltTest {
        nodes: BenchNodes { left_m: line(&salt.left), right_m: line(&salt.right) },
        centres_m: [salt.left.centre_mm.map(mm), salt.right.centre_mm.map(mm)],
    }
}

/// Where a bar's nodes are by its salt tests, as it would look with the top face up: the mean of all tests of the bar as it
/// was at the last one. `None` without one since the bar was arched, or since an end was sawn off.
pub fn salted_nodes(state: &BarState, history: &History) -> Option<BenchNodes> {
    let counting = of_one_state(history);
    // Nodes move outwards as the arch deepens: a salt test of the blank says nothing about the rails.
    let tests = state.salt.iter().rev().take(counting).take_while(|(_, arched)| *arched);
    let nodes: Vec<BenchNodes> = tests.map(|(salt, _)| on_top(salt, state)).collect();
    Some(SaltMean::of(&nodes)?.nodes)
}

/// How many of the last salt tests are of one and the same state: none before wood was taken off between them, for that moves
/// the nodes, and none at all before an end was sawn off, for that moves the end they are measured from as well.
fn of_one_state(history: &History) -> usize {
    let mut tests = 0;
    for standing in history.standing().iter().rev() {
        match standing.body {
            Body::Trim(_) => break,
            Body::Cut(_) | Body::Shaped(_) if tests > 0 => break,
            Body::Salt(_) => tests += 1,
            _ => {}
        }
    }
    tests
}

fn on_top(salt: &SaltRecord, state: &BarState) -> BenchNodes {
    let read = as_read(salt).nodes;
    if state.top.is_some_and(|top| top != salt.face_up) { read.rolled() } else { read }
}

impl SaltedBar {
    /// Of a bar of the record.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read.
    pub fn of(workshop: &Workshop, uid: Uid) -> Result<Self, Refused> {
        let (state, history) = (workshop.bar(uid)?, workshop.history(uid)?);
        let face = state.top.unwrap_or(Face::A);
        let (tests, works) = tests(&history, face);
        let note = state.file.note();
        let oldest = tests.first().map(|test| test.works).filter(|oldest| *oldest < works);
        Ok(Self {
            face,
            decided: state.top.is_some(),
            length_m: mm(state.file.outline().length_mm()),
            width_m: mm(state.file.record().width_mm),
            tests,
            model: model(&state.file),
            model_at_first: oldest.and_then(|oldest| model(&as_it_was(&state.file, oldest)?)),
            works,
            row: note.map_or(Row::Natural, |note| row_of(note.semitones_above_a4() + A_ABOVE_C)),
        })
    }

    /// What a test of the bar as it is now is held against, the tests before number `before` included.
    pub fn expected(&self, before: usize) -> Expected {
        let model = if self.works == 0 { Some(self.even()) } else { self.model };
        // Of all earlier tests together: where they contradict each other nothing is known.
        let earlier: Vec<BenchNodes> =
            self.tests.iter().filter(|test| test.number < before).map(|test| test.test.nodes).collect();
        let tilt_m = |nodes| SaltTest { nodes, centres_m: [None; 2] }.tilt_m();
        let known = SaltMean::of(&earlier).map(|mean| tilt_m(mean.nodes));
        // A tilt that the model has comes from the grain as it was entered; none is no knowledge.
        let from_grain = self.model.map(tilt_m);
        Expected { model, tilt_m: known.or(from_grain) }
    }

    /// An even bar's lines.
    fn even(&self) -> BenchNodes {
        let x_m = EVEN_SHARE * self.length_m;
        self.model.unwrap_or(BenchNodes { left_m: [x_m; 2], right_m: [self.length_m - x_m; 2] })
    }

    /// What is doubtful about the last test, if it was made of the bar as it is now.
    pub fn doubts(&self, name: &str) -> Vec<Doubt> {
        match self.tests.last() {
            Some(last) if last.works == self.works => {
                last.test.doubts(name, self.length_m, &self.expected(last.number))
            }
            _ => Vec::new(),
        }
    }

    /// What is doubtful about a test that is not entered yet.
    ///
    /// # Errors
    /// [`Refused`] as [`SaltTest::checked`].
    pub fn doubts_about(&self, salt: &SaltRecord, name: &str) -> Result<Vec<Doubt>, Refused> {
        let read = as_read(salt).checked(self.length_m)?;
        let shown = if salt.face_up == self.face { read } else { read.rolled() };
        Ok(shown.doubts(name, self.length_m, &self.expected(usize::MAX)))
    }

    /// Told at the first wood taken off a bar whose top face was not decided.
    pub fn face_too_late(&self, name: &str) -> Option<Doubt> {
        (self.works == 1 && !self.decided).then(|| Doubt {
            name: name.to_owned(),
            code: "top_not_decided",
            message: "wood is taken off before the top face was decided".to_owned(),
            hint: "if it may still be the other one, salt the bar and ask `barwright bar LABEL face`; then enter the top: \
                   barwright bar LABEL top A --why …"
                .to_owned(),
        })
    }

    /// Means of the tests of one state, oldest first, each with how often wood had been taken off.
    pub fn means(&self) -> Vec<(usize, SaltMean)> {
        let mut states: Vec<usize> = self.tests.iter().map(|test| test.works).collect();
        states.dedup();
        let of = |works: usize| -> Vec<BenchNodes> {
            self.tests.iter().filter(|test| test.works == works).map(|test| test.test.nodes).collect()
        };
        states.into_iter().filter_map(|works| Some((works, SaltMean::of(&of(works))?))).collect()
    }

    /// From the oldest state with a test to the newest one; `None` if all tests are of one state. With what the model
    /// expects for the left and the right line's middle, where it can tell both states.
    pub fn moved(&self) -> Option<(SaltMove, Option<[f64; 2]>)> {
        let means: Vec<SaltMean> = self.means().into_iter().map(|(_, mean)| mean).collect();
        let [first, .., last] = means.as_slice() else { return None };
        let expected = match (self.model_at_first, self.model) {
            (Some(then), Some(now)) if self.tests.last()?.works == self.works => {
                Some(SaltMove::between(&SaltMean::of(&[then])?, &SaltMean::of(&[now])?, None).middles_m())
            }
            _ => None,
        };
        Some((SaltMove::between(first, last, SaltSpread::pooled(&means)), expected))
    }

    /// The ways of laying the bar by its last tests; `None` without any.
    pub fn faces(&self, rails: RailSlopes) -> Option<FaceAdvice> {
        let (_, mean) = self.means().pop()?;
        Some(choose_face(mean.nodes, self.length_m, self.width_m, rails))
    }
}

/// The tests that still count, with how often wood had been taken off before each, and until now.
fn tests(history: &History, face: Face) -> (Vec<Salted>, usize) {
    let (mut tests, mut works) = (Vec::new(), 0);
    let numbers: Vec<_> = history.events().iter().map(|event| event.uid).collect();
    for standing in history.standing() {
        match standing.body {
            Body::Cut(_) | Body::Shaped(_) => works += 1,
            // Sawing an end off moves the nodes and the end they are measured from.
            Body::Trim(_) => {
                works += 1;
                tests.clear();
            }
            Body::Salt(salt) => {
                let read = as_read(salt);
                tests.push(Salted {
                    number: 1 + numbers.iter().position(|uid| *uid == standing.event.uid).unwrap_or(0),
                    at: standing.event.at,
                    face_up: salt.face_up,
                    test: if salt.face_up == face { read } else { read.rolled() },
                    works,
                });
            }
            _ => {}
        }
    }
    (tests, works)
}

/// The bar before the rest of its cuts, shapes and trims.
fn as_it_was(file: &BarFile, works: usize) -> Option<BarFile> {
    let is_work = |entry: &LogEntry| matches!(entry, LogEntry::Cut(_) | LogEntry::Shaped(_) | LogEntry::Trim(_));
    let mut left = works;
    let before = file.log().iter().take_while(|entry| {
        let stands = !is_work(entry) || left > 0;
        left -= usize::from(is_work(entry) && stands);
        stands
    });
    let log: Vec<LogEntry> = before.cloned().collect();
    BarFile::from_record(&BarRecord { log: Some(log), ..file.record().clone() }).ok()
}

fn model(file: &BarFile) -> Option<BenchNodes> {
    let given = bar(file).ok()?;
    let modes = solid::modes(&given.bar, Wanted::bending(1)).ok()?;
    let lines = &modes.bending.first()?.node_lines;
    let line = |line: &solid::NodeLine| [line.near_m, line.far_m];
    Some(BenchNodes { left_m: line(lines.first()?), right_m: line(lines.last()?) })
}

/// The slopes that the rails of a bar's row will have: from the lengths of its bars in the record if there are enough,
/// else the usual ones. True if they come from the bars.
///
/// # Errors
/// [`Refused`] if the record cannot be read.
pub fn slopes(workshop: &Workshop, uid: Uid, row: Row) -> Result<(RailSlopes, bool), Refused> {
    let instrument = workshop.bar(uid)?.instrument;
    let filter = BarFilter { instrument, ..BarFilter::default() };
    let mut found: Vec<(i32, f64, f64)> = Vec::new();
    for other in workshop.bars(&filter)?.iter().filter(|_| instrument.is_some()) {
        let note = other.note.as_ref().and_then(|note| note.parse::<Note>().ok());
        let Some(semitone) = note.map(|note| note.semitones_above_a4()) else { continue };
        if row_of(semitone + A_ABOVE_C) == row && other.stage != Stage::Discarded {
            let state = workshop.bar(other.uid)?;
            found.push((semitone, mm(state.file.record().width_mm), mm(state.file.outline().length_mm())));
        }
    }
    found.sort_by_key(|(semitone, ..)| *semitone);
    let mut at_m = 0.0;
    let places: Vec<(f64, f64)> = found
        .iter()
        .map(|(_, width_m, length_m)| {
            let middle_m = at_m + 0.5 * width_m;
            at_m += width_m + USUAL_GAP_M;
            (middle_m, *length_m)
        })
        .collect();
    let from_bars = (places.len() >= LEAST_BARS).then(|| RailSlopes::from_lengths(row, &places)).flatten();
    Ok(from_bars.map_or((RailSlopes::usual(row), false), |slopes| (slopes, true)))
}
