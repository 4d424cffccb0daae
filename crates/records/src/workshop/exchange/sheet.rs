//! A maker's own spreadsheet: columns are matched to what barwright knows, rows become bars, nothing happens unseen.
use super::workbook::{self, WorkbookLimits, not_a_sheet};
use crate::file::BarFile;
use crate::length::{Length, LengthUnit};
use crate::note::Note;
use crate::workshop::body::{Body, EnteredRecord, GivenRecord, ReadingRecord, RemarkRecord};
use crate::workshop::error::RecordError;
use crate::workshop::event::{Entry, Kind, Uid};
use crate::workshop::open::Workshop;
use jiff::Timestamp;
use std::collections::BTreeMap;
use std::path::Path;

/// More rows or columns than this are not a list of bars.
const MOST_ROWS: usize = 20_000;
const MOST_COLUMNS: usize = 200;
/// A workbook of that many rows has a few megabytes; more is refused before it is unpacked.
const MOST_BYTES: u64 = 50 << 20;
/// Likeness (Jaro–Winkler) from which a heading is taken for a word; below, short words are alike by chance.
const ALIKE: f64 = 0.9;

/// What a column can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Column {
    /// Label of the bar.
    Label,
    /// The note it is for.
    Note,
    /// Length.
    Length,
    /// Width.
    Width,
    /// Thickness.
    Thickness,
    /// Mass, in grams.
    Mass,
    /// Frequency of bending 1, in hertz.
    Bending1,
    /// Frequency of bending 2, in hertz.
    Bending2,
    /// Frequency of bending 3, in hertz.
    Bending3,
    /// Temperature at the reading, in degrees Celsius.
    Temperature,
    /// Words.
    Remark,
}

/// Words makers put above such columns; the first is the one used in messages.
const WORDS: [(Column, &[&str]); 11] = [
    (Column::Label, &["label", "bar", "number", "nr", "no", "id", "blank"]),
    (Column::Note, &["note", "pitch", "tone"]),
    (Column::Length, &["length", "l", "len"]),
    (Column::Width, &["width", "w", "b"]),
    (Column::Thickness, &["thickness", "t", "h", "height", "thick"]),
    (Column::Mass, &["mass", "weight", "grams", "g", "mass g", "weight g"]),
    (Column::Bending1, &["mode 1", "f1", "bending 1", "fundamental", "hz"]),
    (Column::Bending2, &["mode 2", "f2", "bending 2"]),
    (Column::Bending3, &["mode 3", "f3", "bending 3"]),
    (Column::Temperature, &["temperature", "temp", "celsius"]),
    (Column::Remark, &["remark", "remarks", "comment", "notes", "wood"]),
];

impl Column {
    /// The word for it in messages and on the command line.
    pub fn word(self) -> &'static str {
        WORDS.iter().find(|(column, _)| *column == self).map_or("", |(_, words)| words[0])
    }

    /// The column of that word.
    pub fn named(word: &str) -> Option<Self> {
        WORDS.iter().find(|(_, words)| words[0] == word.trim().to_lowercase()).map(|(column, _)| *column)
    }
}

/// A spreadsheet's first sheet as texts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// Headings, from the first row.
    pub headings: Vec<String>,
    /// The other rows.
    pub rows: Vec<Vec<String>>,
}

/// Which column of the sheet holds what.
pub type Matching = BTreeMap<Column, usize>;

/// A bar that a row describes.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedBar {
    /// Its label.
    pub label: String,
    /// The note it is for, if the sheet says.
    pub note: Option<String>,
    events: Vec<Entry>,
}

impl Sheet {
    /// Reads a CSV file (comma, semicolon or tab) or the first sheet of a workbook (XLSX).
    ///
    /// # Errors
    /// `not_found`, `not_a_sheet`, `too_large`, `empty`.
    pub fn read(path: &Path) -> Result<Self, RecordError> {
        not_too_large(path)?;
        let rows = if is_workbook(path) { workbook(path) } else { csv(path) }?;
        let mut rows = rows.into_iter().filter(|row| row.iter().any(|cell| !cell.is_empty()));
        let Some(headings) = rows.next() else {
            return Err(RecordError::new(
                "empty",
                format!("{} is empty.", path.display()),
                "Give a list with headings.",
            ));
        };
        let sheet = Self { headings, rows: rows.collect() };
        if sheet.rows.len() > MOST_ROWS || sheet.headings.len() > MOST_COLUMNS {
            let message =
                format!("{} rows and {} columns are no list of bars.", sheet.rows.len(), sheet.headings.len());
            return Err(RecordError::new("too_large", message, "Keep only the list of bars in it."));
        }
        Ok(sheet)
    }

    /// What the headings most likely mean; each column is used once.
    pub fn guess(&self) -> Matching {
        let mut matching = Matching::new();
        let mut candidates: Vec<(f64, Column, usize)> = Vec::new();
        for (place, heading) in self.headings.iter().enumerate() {
            let heading = tidy(heading);
            for (column, words) in WORDS {
                let best = words.iter().map(|word| strsim::jaro_winkler(word, &heading)).fold(0.0, f64::max);
                candidates.push((best, column, place));
            }
        }
        candidates.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (likeness, column, place) in candidates {
            let free = !matching.contains_key(&column) && matching.values().all(|used| *used != place);
            if likeness >= ALIKE && free {
                matching.insert(column, place);
            }
        }
        matching
    }

    /// The column of that heading.
    ///
    /// # Errors
    /// `not_found` with the headings there are.
    pub fn column_of(&self, heading: &str) -> Result<usize, RecordError> {
        let wanted = tidy(heading);
        self.headings.iter().position(|known| tidy(known) == wanted).ok_or_else(|| {
            let message = format!("The sheet has no column \"{heading}\".");
            RecordError::new("not_found", message, format!("Its columns: {}.", self.headings.join(", ")))
        })
    }

    /// What each row would become, or why it cannot.
    ///
    /// # Errors
    /// `missing_column` if label, length, width or thickness are matched to no column.
    pub fn plan(
        &self,
        matching: &Matching,
        bare: LengthUnit,
    ) -> Result<Vec<Result<PlannedBar, RecordError>>, RecordError> {
        for column in [Column::Label, Column::Length, Column::Width, Column::Thickness] {
            if !matching.contains_key(&column) {
                let message = format!("No column is matched to the {}.", column.word());
                let hint =
                    format!("Say which: --column {}=HEADING. Columns: {}.", column.word(), self.headings.join(", "));
                return Err(RecordError::new("missing_column", message, hint));
            }
        }
        Ok(self.rows.iter().map(|row| RowReader { row, matching, bare, entered: BTreeMap::new() }.bar()).collect())
    }
}

impl Workshop {
    /// Enters planned bars, all of them or none; with an instrument they are given their notes in it.
    ///
    /// # Errors
    /// As [`super::super::Writer::add`]; nothing is kept then.
    pub fn enter_planned(
        &mut self,
        bars: &[PlannedBar],
        instrument: Option<Uid>,
        at: Timestamp,
    ) -> Result<(), RecordError> {
        let a4_hz = instrument.map(|uid| self.order(uid)).transpose()?.map(|order| order.a4_hz);
        self.write(|step| {
            for planned in bars {
                let about = |error: RecordError| RecordError {
                    message: format!("Bar {}: {}", planned.label, error.message),
                    ..error
                };
                let mut events = planned.events.iter().cloned();
                let Some(first) = events.next() else { continue };
                let bar = step.begin(Kind::Bar, first, at).map_err(about)?;
                step.add_all(bar, events, at).map_err(about)?;
                if let (Some(instrument), Some(a4_hz), Some(note)) = (instrument, a4_hz, &planned.note) {
                    let given = GivenRecord { instrument, note: note.clone(), a4_hz };
                    step.add(bar, Body::Given(given).into(), at).map_err(about)?;
                }
            }
            Ok(())
        })
    }
}

/// Reads one row.
struct RowReader<'a> {
    row: &'a [String],
    matching: &'a Matching,
    bare: LengthUnit,
    entered: BTreeMap<String, String>,
}

impl RowReader<'_> {
    fn cell(&self, column: Column) -> Option<&str> {
        let text = self.row.get(*self.matching.get(&column)?)?.trim();
        (!text.is_empty()).then_some(text)
    }

    fn length_mm(&mut self, column: Column) -> Result<f64, RecordError> {
        let text = self.cell(column).unwrap_or("").to_owned();
        let length = Length::parse(&text, self.bare)
            .map_err(|error| RecordError::new("wrong_length", format!("{}: {error}", column.word()), ""))?;
        self.entered.insert(format!("{}_mm", column.word()), length.entered);
        Ok(length.mm)
    }

    fn number(&self, column: Column) -> Result<Option<f64>, RecordError> {
        let Some(text) = self.cell(column) else { return Ok(None) };
        let number = text.replace(',', ".").parse::<f64>().ok().filter(|value| value.is_finite());
        number.map(Some).ok_or_else(|| {
            let message = format!("{} is \"{text}\", which is no number.", column.word());
            RecordError::new("wrong_number", message, "Write it in figures, without a unit.")
        })
    }

    fn bar(mut self) -> Result<PlannedBar, RecordError> {
        let Some(label) = self.cell(Column::Label).map(str::to_owned) else {
            return Err(RecordError::new("missing_label", "The row has no label.", "Write the number on the bar."));
        };
        let note = self.cell(Column::Note).map(str::to_owned);
        if let Some(note) = &note {
            let wrong = |error: crate::note::NoteError| RecordError::new("wrong_note", error.to_string(), "");
            note.parse::<Note>().map_err(wrong)?;
        }
        let sizes_mm =
            [self.length_mm(Column::Length)?, self.length_mm(Column::Width)?, self.length_mm(Column::Thickness)?];
        let bar = BarFile::blank(sizes_mm, self.number(Column::Mass)?)?.record().clone();
        let entered = EnteredRecord { label: label.clone(), board: None, reference: false, bar };
        let mut events =
            vec![Entry { entered: std::mem::take(&mut self.entered), ..Body::Entered(Box::new(entered)).into() }];
        events.extend(self.reading()?.map(Entry::from));
        if let Some(text) = self.cell(Column::Remark) {
            events.push(Body::Remark(RemarkRecord { text: text.to_owned() }).into());
        }
        Ok(PlannedBar { label, note, events })
    }

    fn reading(&self) -> Result<Option<Body>, RecordError> {
        let mut bending = Vec::new();
        for column in [Column::Bending1, Column::Bending2, Column::Bending3] {
            bending.push(self.number(column)?);
        }
        if bending.iter().all(Option::is_none) {
            return Ok(None);
        }
        let hz = crate::record::HeardHz { bending: Some(bending), ..Default::default() };
        let heard =
            crate::record::HeardRecord { hz, sigma_cents: None, temperature_c: self.number(Column::Temperature)? };
        Ok(Some(Body::Heard(ReadingRecord { heard, takes: Vec::new(), struck: None, listener: None })))
    }
}

/// Small letters, without units in brackets: "Length (mm)" is "length".
fn tidy(heading: &str) -> String {
    let plain = heading.split(['(', '[']).next().unwrap_or("");
    plain.trim().to_lowercase().replace(['_', '.'], " ").trim().to_owned()
}

/// A table as CSV with commas: a workbook's first sheet (`.xlsx`), or a text file as it is.
///
/// # Errors
/// [`RecordError`] `io` if it cannot be read, `too_large`, `not_a_sheet` if it is none.
pub fn table_as_csv(path: &Path) -> Result<Vec<u8>, RecordError> {
    not_too_large(path)?;
    if !is_workbook(path) {
        return bytes_of(path);
    }
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    // A line without a word is no line.
    let rows = workbook(path)?;
    if rows.len() > MOST_ROWS {
        let message = format!("{} has more than {MOST_ROWS} lines.", path.display());
        return Err(RecordError::new("too_large", message, "Keep only the list in it, or save it as CSV."));
    }
    for row in rows.into_iter().filter(|row| row.iter().any(|cell| !cell.is_empty())) {
        writer.write_record(row).map_err(|error| not_a_sheet(path, &error))?;
    }
    writer.into_inner().map_err(|error| not_a_sheet(path, &error))
}

/// A text file without the mark of UTF-8 that some programs put before it.
fn bytes_of(path: &Path) -> Result<Vec<u8>, RecordError> {
    let mut bytes = std::fs::read(path).map_err(|error| RecordError::io(path, "read", &error))?;
    if bytes.starts_with(b"\xef\xbb\xbf") {
        bytes.drain(..3);
    }
    Ok(bytes)
}

fn csv(path: &Path) -> Result<Vec<Vec<String>>, RecordError> {
    let text = String::from_utf8_lossy(&bytes_of(path)?).into_owned();
    let first = text.lines().next().unwrap_or("");
    // The mark that stands most often in the headings parts the columns; in half the world that is the semicolon.
    let mark = [b';', b'\t', b','].into_iter().max_by_key(|mark| first.bytes().filter(|byte| byte == mark).count());
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(mark.unwrap_or(b','))
        .from_reader(text.as_bytes());
    let row = |record: Result<csv::StringRecord, csv::Error>| {
        let record = record.map_err(|error| not_a_sheet(path, &error))?;
        Ok(record.iter().map(|cell| cell.trim().to_owned()).collect())
    };
    reader.records().take(MOST_ROWS + 2).map(row).collect()
}

/// Refuses what is larger than any list of a workshop, before it is read.
fn not_too_large(path: &Path) -> Result<(), RecordError> {
    let size = std::fs::metadata(path).map_err(|error| RecordError::io(path, "read", &error))?.len();
    if size > MOST_BYTES {
        let message = format!("{} has {size} bytes; the limit is {MOST_BYTES}.", path.display());
        return Err(RecordError::new("too_large", message, "Keep only the list in it."));
    }
    Ok(())
}

/// The first sheet of a workbook; older formats can claim tables of any size in a few bytes, and are not read.
fn workbook(path: &Path) -> Result<Vec<Vec<String>>, RecordError> {
    let limits = WorkbookLimits { unpacked: 64_000_000, parts: 1000, columns: MOST_COLUMNS + 1, lines: MOST_ROWS + 1 };
    workbook::read(path, &limits)
}

/// Whether the name is a workbook's, in any format.
fn is_workbook(path: &Path) -> bool {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    ending.is_some_and(|ending| ["xlsx", "xlsm", "xlsb", "xls", "ods"].contains(&ending.as_str()))
}
