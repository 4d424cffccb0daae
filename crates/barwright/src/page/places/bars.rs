//! All bars of an instrument: what the table and the picture along the compass show.
use super::{House, UnitsShown, record};
use crate::bench::{Desk, hold};
use crate::convert::salted_nodes;
use crate::error::Refused;
use crate::page::html::bars_page;
use crate::page::queue::{Waits, waits};
use crate::page::routes::refusal_page;
use crate::page::state::{PageState, held};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::response::{Html, IntoResponse, Response};
use jiff::Timestamp;
use records::workshop::{BarFilter, BarRow, Kind, Stage, Stale};
use serde::Deserialize;

/// Most bars in one table: each is read from its history, and nobody reads further.
const MOST_LINES: usize = 200;
/// The name of the instrument of bars that have none.
pub const NO_INSTRUMENT: &str = "none";

/// What may stand behind the address.
#[derive(Debug, Default, Deserialize)]
pub struct BarsQuery {
    instrument: Option<String>,
    state: Option<String>,
    sort: Option<String>,
    /// "all" to work out the node lines that are not known.
    nodes: Option<String>,
}

/// Which bars of the instrument are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Show {
    /// Every one.
    All,
    /// Blanks that were never struck.
    ToMeasure,
    /// Cooled, not heard since they were worked on.
    ToStrike,
    /// Heard, with wood to come off.
    ToCut,
    /// Worked on a short while ago.
    Cooling,
    /// To be read for their nodes again.
    SecondSalt,
    /// Waiting for a note, a saw, a drill, a finish.
    Elsewhere,
    /// Tuned, or kept, or given up.
    Done,
    /// With a reading that no longer tells how they stand.
    Stale,
}

impl Show {
    /// Every choice, in the order of the work.
    pub const ALL: [Self; 9] = [
        Self::All,
        Self::ToMeasure,
        Self::ToStrike,
        Self::ToCut,
        Self::Cooling,
        Self::SecondSalt,
        Self::Elsewhere,
        Self::Done,
        Self::Stale,
    ];

    /// The word in the address.
    pub fn word(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::ToMeasure => "measure",
            Self::ToStrike => "strike",
            Self::ToCut => "cut",
            Self::Cooling => "cooling",
            Self::SecondSalt => "salt",
            Self::Elsewhere => "elsewhere",
            Self::Done => "done",
            Self::Stale => "stale",
        }
    }

    /// In workshop words.
    pub fn words(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::ToMeasure => "to measure",
            Self::ToStrike => "to strike",
            Self::ToCut => "to cut",
            Self::Cooling => "cooling",
            Self::SecondSalt => "second salt test",
            Self::Elsewhere => "away from the bench",
            Self::Done => "done",
            Self::Stale => "stale reading",
        }
    }

    fn holds(self, row: &BarRow, now: Timestamp) -> bool {
        let waits = waits(row, now);
        match self {
            Self::All => true,
            Self::ToMeasure => waits == Waits::ToMeasure,
            Self::ToStrike => waits == Waits::ToStrike,
            Self::ToCut => waits == Waits::ToCut,
            Self::Cooling => matches!(waits, Waits::Cooling(_)),
            Self::SecondSalt => waits == Waits::SecondSalt,
            Self::Elsewhere => matches!(waits, Waits::Elsewhere(_)),
            Self::Done => matches!(waits, Waits::Done(_)),
            Self::Stale => row.stale().is_some(),
        }
    }
}

/// What the table is sorted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// Pitch, lowest first.
    Note,
    /// Label.
    Label,
    /// Cents of mode 1, 2 or 3 (0, 1, 2), furthest from the target first.
    Cents(usize),
    /// Wood left at the thinnest place, least first.
    Thinnest,
}

impl Sort {
    /// The word in the address.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Label => "label",
            Self::Cents(0) => "mode1",
            Self::Cents(1) => "mode2",
            Self::Cents(_) => "mode3",
            Self::Thinnest => "thinnest",
        }
    }

    fn named(word: &str) -> Option<Self> {
        let all = [Self::Note, Self::Label, Self::Cents(0), Self::Cents(1), Self::Cents(2), Self::Thinnest];
        all.into_iter().find(|sort| sort.word() == word)
    }

    fn sort(self, lines: &mut [BarLine]) {
        // Bars without a reading stand last; what ties keeps the order of the compass.
        let off = |line: &BarLine, mode: usize| line.cents[mode].map_or(f64::NEG_INFINITY, f64::abs);
        match self {
            Self::Note => {}
            Self::Label => lines
                .sort_by_cached_key(|line| (line.label.parse::<u64>().unwrap_or(u64::MAX), line.label.to_lowercase())),
            Self::Cents(mode) => lines.sort_by(|a, b| off(b, mode).total_cmp(&off(a, mode))),
            Self::Thinnest => lines.sort_by(|a, b| a.thinnest_mm.1.total_cmp(&b.thinnest_mm.1)),
        }
    }
}

/// Where node lines are known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NodesFrom {
    /// Read from salt on the bar itself.
    Salt,
    /// Worked out for the bar as it is believed to be.
    Belief,
}

/// A bar of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct BarLine {
    /// How it is addressed.
    pub id: String,
    /// Its note, if it has one.
    pub note: Option<String>,
    /// Label on its end grain.
    pub label: String,
    /// Where it stands in the order of the work.
    pub stage: Stage,
    /// What it waits for.
    pub waits: Waits,
    /// Why its last reading no longer tells how it stands, if it does not.
    pub stale: Option<Stale>,
    /// Cents of modes 1–3 above their targets at the last reading.
    pub cents: [Option<f64>; 3],
    /// Standard uncertainty of that reading, in cents.
    pub sigma_cents: f64,
    /// Length, in millimetres.
    pub length_mm: f64,
    /// Thinnest place as intended: from the left end, and the wood left there, in millimetres.
    pub thinnest_mm: (f64, f64),
    /// Wood at the thickest place as intended, in millimetres.
    pub thickest_mm: f64,
    /// Node lines of mode 1 in the middle of the width, in millimetres from the left end, if they are known.
    pub nodes: Option<(NodesFrom, [f64; 2])>,
}

/// An instrument to choose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Its name in the record, or [`NO_INSTRUMENT`].
    pub id: String,
    /// Its name for people.
    pub name: String,
}

/// What the page shows.
#[derive(Debug, Clone, PartialEq)]
pub struct BarsView {
    /// The workshop.
    pub house: House,
    /// The instruments, and the bars that serve none.
    pub instruments: Vec<Choice>,
    /// The one shown.
    pub instrument: Choice,
    /// How many bars there are of each kind.
    pub counts: Vec<(Show, usize)>,
    /// Which of them are listed.
    pub show: Show,
    /// What they are sorted by.
    pub sort: Sort,
    /// The bars listed, for the table.
    pub lines: Vec<BarLine>,
    /// Bars that pass the filter but are too many for one table.
    pub left_out: usize,
}

impl BarsView {
    /// The bars as asked for.
    ///
    /// # Errors
    /// [`Refused`] `not_found` without a record or without that instrument; if the record cannot be read.
    pub fn of(desk: &Desk, asked: &BarsQuery) -> Result<Self, Refused> {
        let house = House::of(desk)?;
        let all = hold(record(desk)?).bars(&BarFilter::default())?;
        let instruments = instruments(desk, &all)?;
        let instrument = chosen(&instruments, &all, asked.instrument.as_deref())?;
        let here = |row: &&BarRow| home(row) == instrument.id;
        let rows: Vec<&BarRow> = all.iter().filter(here).collect();
        let now = Timestamp::now();
        let counts = Show::ALL.map(|show| (show, rows.iter().filter(|row| show.holds(row, now)).count()));
        let show = Show::ALL.into_iter().find(|show| Some(show.word()) == asked.state.as_deref()).unwrap_or(Show::All);
        let sort = asked.sort.as_deref().and_then(Sort::named).unwrap_or(Sort::Note);
        let work_out = asked.nodes.as_deref() == Some("all");
        let wanted: Vec<&BarRow> = rows.into_iter().filter(|row| show.holds(row, now)).collect();
        let line = |row: &&BarRow| line(desk, row, now, work_out);
        let mut lines = wanted.iter().take(MOST_LINES).map(line).collect::<Result<Vec<_>, Refused>>()?;
        let left_out = wanted.len() - lines.len();
        sort.sort(&mut lines);
        Ok(Self { house, instruments, instrument, counts: counts.to_vec(), show, sort, lines, left_out })
    }
}

fn home(row: &BarRow) -> String {
    row.instrument.as_ref().map_or_else(|| NO_INSTRUMENT.to_owned(), |(uid, _)| uid.to_string())
}

/// Every instrument, those delivered last, then the bars without one if there are any.
fn instruments(desk: &Desk, bars: &[BarRow]) -> Result<Vec<Choice>, Refused> {
    let known = hold(record(desk)?).list(Kind::Instrument)?;
    let mut all: Vec<Choice> = known
        .into_iter()
        .map(|named| Choice {
            id: named.uid.to_string(),
            name: if named.gone { format!("{} (delivered)", named.name) } else { named.name },
        })
        .collect();
    if all.is_empty() || bars.iter().any(|row| row.instrument.is_none()) {
        all.push(Choice { id: NO_INSTRUMENT.to_owned(), name: "bars without an instrument".to_owned() });
    }
    Ok(all)
}

/// The instrument asked for, or the first one that has bars.
fn chosen(instruments: &[Choice], bars: &[BarRow], asked: Option<&str>) -> Result<Choice, Refused> {
    let found = match asked {
        Some(id) => instruments.iter().find(|choice| choice.id == id),
        None => {
            let has_bars = |choice: &&Choice| bars.iter().any(|row| home(row) == choice.id);
            instruments.iter().find(has_bars).or(instruments.first())
        }
    };
    found.cloned().ok_or_else(|| {
        let asked: String = asked.unwrap_or_default().chars().take(60).collect();
        Refused::new(
            "not_found",
            format!("there is no instrument \"{asked}\" here"),
            "choose one from the list of bars",
        )
    })
}

fn line(desk: &Desk, row: &BarRow, now: Timestamp, work_out: bool) -> Result<BarLine, Refused> {
    let (state, salted) = {
        let workshop = hold(record(desk)?);
        let state = workshop.bar(row.uid)?;
        // Only a bar with a salt test needs its history.
        let salted = match state.salt.is_empty() {
            true => None,
            false => salted_nodes(&state, &workshop.history(row.uid)?),
        };
        (state, salted)
    };
    let outline = state.file.outline();
    let middle_mm = |line: [f64; 2]| 500.0 * (line[0] + line[1]);
    let salted = salted.map(|nodes| (NodesFrom::Salt, [middle_mm(nodes.left_m), middle_mm(nodes.right_m)]));
    Ok(BarLine {
        id: row.uid.to_string(),
        note: row.note.clone(),
        label: row.label.clone(),
        stage: row.stage,
        waits: waits(row, now),
        stale: row.stale(),
        cents: row.cents,
        sigma_cents: row.sigma_cents.unwrap_or(1.0),
        length_mm: outline.length_mm(),
        thinnest_mm: outline.thinnest(),
        thickest_mm: outline.thickness_mm.iter().copied().fold(0.0, f64::max),
        nodes: salted.or_else(|| believed(desk, row, work_out).map(|nodes| (NodesFrom::Belief, nodes))),
    })
}

/// Node lines of the bar as it is believed to be: what its bench knows already, or worked out now.
fn believed(desk: &Desk, row: &BarRow, work_out: bool) -> Option<[f64; 2]> {
    let modes = if work_out {
        let bench = desk.bench(&row.uid.to_string()).ok()?;
        let mut bench = held(&bench);
        bench.refresh().ok()?;
        bench.modes().ok()?
    } else {
        desk.idle(row.uid, |bench| bench.refresh().ok().and_then(|_| bench.known_modes())).flatten()?
    };
    let lines = &modes.bending.first()?.node_lines;
    Some([lines.first()?.centre_m * 1e3, lines.last()?.centre_m * 1e3])
}

/// The table of all bars of an instrument with their picture along the compass.
pub async fn page(
    State(state): State<PageState>,
    UnitsShown(units): UnitsShown,
    query: Result<Query<BarsQuery>, QueryRejection>,
) -> Response {
    let asked = query.map(|query| query.0).unwrap_or_default();
    match state.with_desk(move |state| BarsView::of(state.desk(), &asked)).await {
        Ok(view) => Html(bars_page(&view, units).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}
