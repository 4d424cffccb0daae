//! Which bars were cut, by whom and on what.
use super::error::RecordError;
use super::event::Uid;
use super::open::Workshop;
use rusqlite::{OptionalExtension, Row, params};

/// No more cuts than this are looked through for different bars: some forty bars at eight bouts each.
const MOST_CUTS: i64 = 400;

/// A bar that was cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CutBar {
    /// Its name.
    pub bar: Uid,
    /// Number of the cut.
    pub event: i64,
    /// Who cut it, if entered.
    pub by: Option<Uid>,
    /// The belt or tool it was cut with, if entered.
    pub with: Option<Uid>,
}

impl Workshop {
    /// The first cut of a bar, whether it still stands or not; `None` if it was never cut.
    ///
    /// # Errors
    /// `damaged`.
    pub fn first_cut(&self, bar: Uid) -> Result<Option<CutBar>, RecordError> {
        let sql = "SELECT thing.uid, event.id, json_extract(body, '$.by'), json_extract(body, '$.with')
            FROM event JOIN thing ON thing.id = event.thing
            WHERE thing.uid = ?1 AND event.kind = 'cut' ORDER BY event.id LIMIT 1";
        let mut query = self.connection.prepare_cached(sql)?;
        query.query_row(params![bar.to_string()], |row| Ok(cut_bar(row))).optional()?.transpose()
    }

    /// The bars that were cut before event `before`, the latest first, each with its last cut until then.
    ///
    /// # Errors
    /// `damaged`.
    pub fn bars_cut_before(&self, before: i64) -> Result<Vec<CutBar>, RecordError> {
        let sql = "SELECT thing.uid, event.id, json_extract(body, '$.by'), json_extract(body, '$.with')
            FROM event JOIN thing ON thing.id = event.thing
            WHERE event.kind = 'cut' AND event.id < ?1 ORDER BY event.id DESC LIMIT ?2";
        let mut query = self.connection.prepare_cached(sql)?;
        let mut rows = query.query(params![before, MOST_CUTS])?;
        let mut bars: Vec<CutBar> = Vec::new();
        while let Some(row) = rows.next()? {
            let cut = cut_bar(row)?;
            if bars.iter().all(|bar| bar.bar != cut.bar) {
                bars.push(cut);
            }
        }
        Ok(bars)
    }
}

fn cut_bar(row: &Row<'_>) -> Result<CutBar, RecordError> {
    let (bar, by, with): (String, Option<String>, Option<String>) = (row.get(0)?, row.get(2)?, row.get(3)?);
    let named = |uid: Option<String>| uid.map(|uid| uid.parse()).transpose();
    Ok(CutBar { bar: bar.parse()?, event: row.get(1)?, by: named(by)?, with: named(with)? })
}
