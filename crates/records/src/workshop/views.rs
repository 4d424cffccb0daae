//! Lists and searches, answered from the present state.
use super::bar::Stage;
use super::body::{Body, ClockRecord, OrderRecord};
use super::error::RecordError;
use super::event::{Kind, Uid};
use super::open::Workshop;
use super::read;
use crate::note::Note;
use jiff::Timestamp;
use rusqlite::{Row, ToSql};

/// Beginning of the text in a bar's QR code; the bar's name follows.
pub const QR_PREFIX: &str = "barwright:bar:";

/// A reading this far from the temperature its pitch is wanted at is stale: 3 °C move common woods by 3 to 6 cents.
pub const FAR_FROM_REFERENCE_C: f64 = 3.0;

/// A bar as lists show it.
#[derive(Debug, Clone, PartialEq)]
pub struct BarRow {
    /// Its name in the record.
    pub uid: Uid,
    /// Label on its end grain.
    pub label: String,
    /// The instrument it serves, by name in the record and for people.
    pub instrument: Option<(Uid, String)>,
    /// The note it serves.
    pub note: Option<String>,
    /// Where it stands in the order of the work.
    pub stage: Stage,
    /// When it was last heard.
    pub heard_at: Option<Timestamp>,
    /// When wood was last taken off.
    pub worked_at: Option<Timestamp>,
    /// True if the last reading is younger than the last cut.
    pub heard_after_work: bool,
    /// Temperature at the last reading, in degrees Celsius.
    pub heard_c: Option<f64>,
    /// Cents of bending 1–3 above their targets at the last reading.
    pub cents: [Option<f64>; 3],
    /// Standard uncertainty of the last reading, in cents.
    pub sigma_cents: Option<f64>,
    /// Wood left in the centre as intended, in millimetres.
    pub centre_mm: f64,
    /// Temperature at which its instrument's pitch is wanted, in degrees Celsius.
    pub reference_c: Option<f64>,
}

/// Why a reading no longer tells how the bar stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stale {
    /// Wood was taken off since.
    BeforeLastCut,
    /// It was taken at another temperature than the one the pitch is wanted at.
    OtherTemperature,
}

impl BarRow {
    /// Why its last reading no longer tells how it stands, if it does not.
    pub fn stale(&self) -> Option<Stale> {
        let away_c = self.heard_c.zip(self.reference_c).map_or(0.0, |(heard, wanted)| (heard - wanted).abs());
        match self {
            _ if self.worked_at.is_some() && !self.heard_after_work => Some(Stale::BeforeLastCut),
            _ if away_c > FAR_FROM_REFERENCE_C => Some(Stale::OtherTemperature),
            _ => None,
        }
    }
}

/// Which bars to list.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BarFilter {
    /// Only of this instrument.
    pub instrument: Option<Uid>,
    /// Only at this stage.
    pub stage: Option<Stage>,
    /// Only with wood taken off after that time: what may still be warm.
    pub worked_after: Option<Timestamp>,
    /// Only with a reading that is older than the last cut, or that was taken far from the temperature at which the
    /// instrument's pitch is wanted.
    pub stale: bool,
    /// Only with a reading further than this from a temperature, both in degrees Celsius: (temperature, allowed).
    pub read_away_from_c: Option<(f64, f64)>,
    /// At most so many; 0 for all.
    pub limit: usize,
}

/// Anything but a bar, as lists show it.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// Its name in the record.
    pub uid: Uid,
    /// Its name for people.
    pub name: String,
    /// What was last said of it.
    pub body: Body,
    /// True for an instrument that was delivered.
    pub gone: bool,
}

/// The instruments are gathered once, with the temperatures their orders name: looked up for each bar again, that alone
/// would take as long as the rest of a list of 12 000.
const HOMES: &str = "WITH home AS MATERIALIZED (
        SELECT thing.id, thing.uid, name, gone, json_extract(body, '$.order.reference.temperature_c') AS reference_c
        FROM thing_now JOIN thing ON thing.id = thing_now.thing WHERE kind = 'instrument')";
const BAR_COLUMNS: &str = "SELECT thing.uid, label, home.uid, home.name, note, stage, heard_at_ms, worked_at_ms,
        heard_after_work, heard_c, cents_1, cents_2, cents_3, sigma_cents, centre_mm, reference_c";
const BARS: &str = "FROM bar_now JOIN thing ON thing.id = bar_now.bar LEFT JOIN home ON home.id = bar_now.instrument";

impl Workshop {
    /// The bars that pass the filter, by instrument and pitch, then by label.
    ///
    /// # Errors
    /// `damaged`.
    pub fn bars(&self, filter: &BarFilter) -> Result<Vec<BarRow>, RecordError> {
        let limit = if filter.limit == 0 { -1 } else { i64::try_from(filter.limit).unwrap_or(i64::MAX) };
        self.list_bars(terms_of(filter), "ORDER BY bar_now.instrument, semitone, label COLLATE NOCASE", limit)
    }

    /// How many bars pass the filter, whatever its limit.
    ///
    /// # Errors
    /// `damaged`.
    pub fn count_bars(&self, filter: &BarFilter) -> Result<usize, RecordError> {
        let terms = terms_of(filter);
        let mut query = self.connection.prepare_cached(&format!("{HOMES} SELECT count(*) {BARS} {}", terms.sql()))?;
        let count: i64 = query.query_row(terms.values(), |row| row.get(0))?;
        Ok(usize::try_from(count).unwrap_or(0))
    }

    /// The bars that `text` can mean: a note ("C3"), a label ("#117", "117"), the text of a QR code, or a name in the
    /// record; `instrument` tells equal notes apart. Bars given up are found by label only.
    ///
    /// # Errors
    /// `damaged`.
    pub fn find_bars(&self, text: &str, instrument: Option<Uid>) -> Result<Vec<BarRow>, RecordError> {
        let text = text.trim();
        let name = text.strip_prefix(QR_PREFIX).unwrap_or(text);
        let mut terms = Terms::default();
        if let Ok(uid) = name.parse::<Uid>() {
            terms.add("thing.uid = ?", uid.to_string());
            return self.list_bars(terms, "", -1);
        }
        let label = text.strip_prefix('#').unwrap_or(text);
        terms.add("label = ? COLLATE NOCASE", label.to_owned());
        let by_label = self.list_bars(terms, "", -1)?;
        match text.parse::<Note>() {
            Ok(note) if by_label.is_empty() => {
                let mut terms = Terms::default();
                terms.add("stage <> 'discarded' AND home.gone = 0 AND semitone = ?", note.semitones_above_a4());
                if let Some(instrument) = instrument {
                    terms.add("home.uid = ?", instrument.to_string());
                }
                self.list_bars(terms, "ORDER BY bar_now.instrument", -1)
            }
            _ => Ok(by_label),
        }
    }

    /// How many bars stand at each stage, of one instrument or of all.
    ///
    /// # Errors
    /// `damaged`.
    pub fn count_by_stage(&self, instrument: Option<Uid>) -> Result<Vec<(Stage, usize)>, RecordError> {
        let row = instrument.map(|uid| read::row_of(&self.connection, uid)).transpose()?.flatten();
        let sql = "SELECT stage, count(*) FROM bar_now WHERE ?1 IS NULL OR instrument = ?1 GROUP BY stage";
        let mut query = self.connection.prepare_cached(sql)?;
        let mut rows = query.query([row])?;
        let mut counts = Vec::new();
        while let Some(row) = rows.next()? {
            let (word, count): (String, i64) = (row.get(0)?, row.get(1)?);
            counts.push((Stage::from_word(&word)?, usize::try_from(count).unwrap_or(0)));
        }
        counts.sort();
        Ok(counts)
    }

    /// Everything of a kind but bars, by name.
    ///
    /// # Errors
    /// `damaged`.
    pub fn list(&self, kind: Kind) -> Result<Vec<Named>, RecordError> {
        let sql = "SELECT uid, name, body, gone FROM thing_now JOIN thing ON thing.id = thing_now.thing
            WHERE kind = ?1 ORDER BY gone, name COLLATE NOCASE";
        let mut query = self.connection.prepare_cached(sql)?;
        let mut rows = query.query([kind.word()])?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            let (uid, name, body): (String, String, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
            let body =
                serde_json::from_str(&body).map_err(|error| RecordError::damaged(format!("{name} ({error})")))?;
            found.push(Named { uid: uid.parse()?, name, body, gone: row.get(3)? });
        }
        Ok(found)
    }

    /// The instrument, board, person or tool of that name, whatever its capitals.
    ///
    /// # Errors
    /// `not_found` if there is none, `ambiguous` if there are several.
    pub fn find(&self, kind: Kind, name: &str) -> Result<Named, RecordError> {
        let wanted = name.trim().to_lowercase();
        let list = self.list(kind)?;
        let names: Vec<&str> = list.iter().map(|named| named.name.as_str()).collect();
        let known = if names.is_empty() { "none yet".to_owned() } else { names.join(", ") };
        let fits = |named: &&Named| named.name.to_lowercase() == wanted || named.uid.to_string() == wanted;
        let found: Vec<&Named> = list.iter().filter(fits).collect();
        match found[..] {
            [one] => Ok(one.clone()),
            [] => Err(RecordError::new(
                "not_found",
                format!("There is no {} named \"{name}\".", kind.word()),
                format!("Known: {known}."),
            )),
            _ => Err(RecordError::new(
                "ambiguous",
                format!("{} of kind {} are named \"{name}\".", found.len(), kind.word()),
                "Name it by its name in the record.",
            )),
        }
    }

    /// What was ordered.
    ///
    /// # Errors
    /// `not_found`, `damaged`.
    pub fn order(&self, instrument: Uid) -> Result<OrderRecord, RecordError> {
        let history = self.history(instrument)?;
        let standing = history.standing();
        let order = standing.iter().rev().find_map(|standing| match standing.body {
            Body::Order(order) => Some(order.clone()),
            _ => None,
        });
        order.ok_or_else(|| RecordError::damaged("an instrument without an order"))
    }

    /// How far the clock of a recorder is off, if it was ever measured.
    ///
    /// # Errors
    /// `not_found`, `damaged`.
    pub fn clock_of(&self, tool: Uid) -> Result<Option<ClockRecord>, RecordError> {
        let history = self.history(tool)?;
        let standing = history.standing();
        Ok(standing.iter().rev().find_map(|standing| match standing.body {
            Body::Calibrated(clock) => Some(*clock),
            _ => None,
        }))
    }

    fn list_bars(&self, terms: Terms, order: &str, limit: i64) -> Result<Vec<BarRow>, RecordError> {
        let sql = format!("{HOMES} {BAR_COLUMNS} {BARS} {} {order} LIMIT {limit}", terms.sql());
        let mut query = self.connection.prepare_cached(&sql)?;
        let mut rows = query.query(terms.values())?;
        let mut bars = Vec::new();
        while let Some(row) = rows.next()? {
            bars.push(bar_row(row)?);
        }
        Ok(bars)
    }
}

/// The conditions of a filter but its limit.
fn terms_of(filter: &BarFilter) -> Terms {
    let mut terms = Terms::default();
    if let Some(instrument) = filter.instrument {
        terms.add("home.uid = ?", instrument.to_string());
    }
    if let Some(stage) = filter.stage {
        terms.add("stage = ?", stage.word());
    }
    if let Some(after) = filter.worked_after {
        terms.add("worked_at_ms > ?", after.as_millisecond());
    }
    if filter.stale {
        terms.add("stage <> 'discarded' AND (worked_at_ms IS NOT NULL AND heard_after_work = ?", false);
        terms.also(" OR abs(heard_c - reference_c) > ?)", FAR_FROM_REFERENCE_C);
    }
    if let Some((temperature_c, allowed_c)) = filter.read_away_from_c {
        terms.add("abs(heard_c - ?", temperature_c);
        terms.also(") > ?", allowed_c);
    }
    terms
}

/// Conditions with their values, in order.
#[derive(Default)]
struct Terms {
    sql: String,
    values: Vec<Box<dyn ToSql>>,
}

impl Terms {
    fn add(&mut self, condition: &str, value: impl ToSql + 'static) {
        self.sql += if self.values.is_empty() { "WHERE " } else { " AND " };
        self.also(condition, value);
    }

    /// Goes on with the last condition.
    fn also(&mut self, rest: &str, value: impl ToSql + 'static) {
        self.sql += rest;
        self.values.push(Box::new(value));
    }

    fn sql(&self) -> &str {
        &self.sql
    }

    fn values(&self) -> impl rusqlite::Params {
        rusqlite::params_from_iter(self.values.iter().map(|value| &**value))
    }
}

fn bar_row(row: &Row<'_>) -> Result<BarRow, RecordError> {
    let uid: String = row.get(0)?;
    let home: Option<String> = row.get(2)?;
    let home_name: Option<String> = row.get(3)?;
    let stage: String = row.get(5)?;
    let heard_at: Option<i64> = row.get(6)?;
    let worked_at: Option<i64> = row.get(7)?;
    Ok(BarRow {
        uid: uid.parse()?,
        label: row.get(1)?,
        instrument: home.map(|uid| uid.parse()).transpose()?.zip(home_name),
        note: row.get(4)?,
        stage: Stage::from_word(&stage)?,
        heard_at: heard_at.map(read::time).transpose()?,
        worked_at: worked_at.map(read::time).transpose()?,
        heard_after_work: row.get(8)?,
        heard_c: row.get(9)?,
        cents: [row.get(10)?, row.get(11)?, row.get(12)?],
        sigma_cents: row.get(13)?,
        centre_mm: row.get(14)?,
        reference_c: row.get(15)?,
    })
}
