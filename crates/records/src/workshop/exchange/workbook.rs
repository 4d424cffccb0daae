//! The first sheet of a workbook (Office Open XML, ISO/IEC 29500), read within bounds: whatever a file says of itself, it fills neither memory nor disk.
use crate::workshop::error::RecordError;
use calamine::{DataRef, Reader, Xlsx};
use std::fs::File;
use std::io::{BufReader, Read};
use std::panic::catch_unwind;
use std::path::Path;
use zip::ZipArchive;

/// What a workbook may hold. A maker's largest table, 20 000 lines of thirty columns, unpacks to some 40 MB.
#[derive(Debug, Clone, Copy)]
pub(super) struct WorkbookLimits {
    /// All parts unpacked, in bytes.
    pub(super) unpacked: u64,
    /// Parts in the file.
    pub(super) parts: usize,
    /// Columns; a cell beyond is refused.
    pub(super) columns: usize,
    /// Lines; what stands below is not read, but for one more by which it shows.
    pub(super) lines: usize,
}

/// The cells of its first sheet as text, line by line; empty lines between are kept.
///
/// # Errors
/// `not_a_sheet` for what is no workbook or passes a limit, naming it.
pub(super) fn read(path: &Path, limits: &WorkbookLimits) -> Result<Vec<Vec<String>>, RecordError> {
    // The reader overflows on names of cells that are none; found by fuzzing. What a panic leaves is dropped with the file.
    catch_unwind(|| cells_of(path, limits))
        .unwrap_or_else(|_| Err(not_a_sheet(path, &"it is damaged: the reader gave up on it")))
}

fn cells_of(path: &Path, limits: &WorkbookLimits) -> Result<Vec<Vec<String>>, RecordError> {
    let open = || File::open(path).map(BufReader::new).map_err(|error| RecordError::io(path, "read", &error));
    unpacks(path, open()?, limits)?;
    let mut book: Xlsx<_> = Xlsx::new(open()?).map_err(|error| not_a_sheet(path, &error))?;
    let name = book.sheet_names().first().cloned().ok_or_else(|| not_a_sheet(path, &"it has no sheet"))?;
    let mut cells = book.worksheet_cells_reader(&name).map_err(|error| not_a_sheet(path, &error))?;
    let mut rows: Vec<Vec<String>> = Vec::new();
    // Cell by cell: two cells far apart would make a table of all that lies between them.
    while let Some(cell) = cells.next_cell().map_err(|error| not_a_sheet(path, &error))? {
        let (row, column) = cell.get_position();
        let (row, column) = (row as usize, column as usize);
        let text = text(cell.get_value());
        if text.is_empty() {
            continue;
        }
        if column >= limits.columns {
            let why = format!("a cell in column {} of at most {}", column + 1, limits.columns);
            return Err(not_a_sheet(path, &why));
        }
        if row > limits.lines {
            // One line too many is enough to be told.
            rows.resize(limits.lines + 1, Vec::new());
            break;
        }
        if rows.len() <= row {
            rows.resize(row + 1, Vec::new());
        }
        let line = &mut rows[row];
        if line.len() <= column {
            line.resize(column + 1, String::new());
        }
        line[column] = text;
    }
    let width = rows.iter().map(Vec::len).max().unwrap_or(0);
    rows.iter_mut().for_each(|line| line.resize(width, String::new()));
    Ok(rows)
}

/// A cell as a person reads it.
fn text(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Empty => String::new(),
        other => calamine::Data::from(other.clone()).to_string().trim().to_owned(),
    }
}

/// Unpacks every part into nothing, counting: the sizes that a file claims are not believed.
fn unpacks(path: &Path, source: BufReader<File>, limits: &WorkbookLimits) -> Result<(), RecordError> {
    let mut archive = ZipArchive::new(source).map_err(|error| not_a_sheet(path, &error))?;
    if archive.len() > limits.parts {
        let why = format!("{} parts of at most {}", archive.len(), limits.parts);
        return Err(not_a_sheet(path, &why));
    }
    let mut left = limits.unpacked;
    for index in 0..archive.len() {
        let part = archive.by_index(index).map_err(|error| not_a_sheet(path, &error))?;
        let size =
            std::io::copy(&mut part.take(left + 1), &mut std::io::sink()).map_err(|error| not_a_sheet(path, &error))?;
        left = left.checked_sub(size).ok_or_else(|| {
            not_a_sheet(path, &format!("unpacked it is larger than {} MB", limits.unpacked / 1_000_000))
        })?;
    }
    Ok(())
}

/// It is none, and what helps.
pub(super) fn not_a_sheet(path: &Path, error: &dyn std::fmt::Display) -> RecordError {
    let message = format!("{} cannot be read as a spreadsheet ({error}).", path.display());
    RecordError::new("not_a_sheet", message, "Save it as CSV or XLSX, with the headings in the first row.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;
    use zip::write::{SimpleFileOptions, ZipWriter};

    const LIMITS: WorkbookLimits = WorkbookLimits { unpacked: 1_000_000, parts: 20, columns: 10, lines: 5 };

    /// A workbook of one sheet with these rows of XML.
    fn workbook(sheet: &str, more: &[(&str, Vec<u8>)]) -> tempfile::NamedTempFile {
        let file = tempfile::Builder::new().suffix(".xlsx").tempfile().unwrap();
        let mut zip = ZipWriter::new(file.reopen().unwrap());
        let main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
        let relations = "http://schemas.openxmlformats.org/package/2006/relationships";
        let office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
        let parts = [
            (
                "_rels/.rels",
                format!(
                    r#"<Relationships xmlns="{relations}"><Relationship Id="r1" Type="{office}/officeDocument" Target="xl/workbook.xml"/></Relationships>"#
                ),
            ),
            (
                "xl/workbook.xml",
                format!(
                    r#"<workbook xmlns="{main}" xmlns:r="{office}"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>"#
                ),
            ),
            (
                "xl/_rels/workbook.xml.rels",
                format!(
                    r#"<Relationships xmlns="{relations}"><Relationship Id="r1" Type="{office}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#
                ),
            ),
            (
                "xl/worksheets/sheet1.xml",
                format!(r#"<worksheet xmlns="{main}"><sheetData>{sheet}</sheetData></worksheet>"#),
            ),
        ];
        let all = parts.into_iter().map(|(name, text)| (name, text.into_bytes())).chain(more.iter().cloned());
        for (name, bytes) in all {
            zip.start_file(name, SimpleFileOptions::default()).unwrap();
            zip.write_all(&bytes).unwrap();
        }
        zip.finish().unwrap();
        file
    }

    fn cell(place: &str, value: u32) -> String {
        let row: String = place.chars().filter(char::is_ascii_digit).collect();
        format!(r#"<row r="{row}"><c r="{place}"><v>{value}</v></c></row>"#)
    }

    #[test]
    fn cells_stand_where_they_stand() {
        let file = workbook(&(cell("B1", 7) + &cell("A3", 470)), &[]);
        let rows = read(file.path(), &LIMITS).unwrap();
        assert_eq!(rows, [vec!["", "7"], vec!["", ""], vec!["470", ""]]);
    }

    #[test]
    fn what_would_fill_the_memory_is_refused_by_its_limit() {
        let refused = |file: tempfile::NamedTempFile| read(file.path(), &LIMITS).unwrap_err().to_string();
        // Two cells at opposite corners: 17 thousand million cells between them.
        let far = refused(workbook(&(cell("A1", 1) + &cell("XFD2", 2)), &[]));
        assert!(far.contains("column 16384 of at most 10"), "{far}");
        let deep = read(workbook(&(cell("A1", 1) + &cell("A1048576", 2)), &[]).path(), &LIMITS).unwrap();
        assert_eq!(deep.len(), 6, "one line more than is taken, by which the caller tells");
        let bomb = refused(workbook(&cell("A1", 1), &[("xl/media/x.bin", vec![0; 2_000_000])]));
        assert!(bomb.contains("larger than 1 MB"), "{bomb}");
        let crowd: Vec<(String, Vec<u8>)> = (0..30).map(|i| (format!("x{i}"), Vec::new())).collect();
        let crowd: Vec<(&str, Vec<u8>)> = crowd.iter().map(|(name, bytes)| (name.as_str(), bytes.clone())).collect();
        assert!(refused(workbook(&cell("A1", 1), &crowd)).contains("34 parts of at most 20"));
        let mut noise = tempfile::NamedTempFile::new().unwrap();
        noise.write_all(b"PK\x03\x04 no archive").unwrap();
        assert!(refused(noise).contains("cannot be read as a spreadsheet"));
    }

    #[test]
    fn where_the_reader_gives_up_the_file_is_refused() {
        // A row named by more letters than a figure of 32 bits holds; found by fuzzing.
        let odd = workbook(r#"<row r="inlineStr"><c r="A1"><v>1</v></c></row>"#, &[]);
        assert!(read(odd.path(), &LIMITS).unwrap_err().to_string().contains("cannot be read as a spreadsheet"));
    }

    proptest::proptest! {
        /// A workbook damaged anywhere is read or refused; nothing panics.
        #[test]
        fn damage_is_no_panic(at in 0.0_f64..1.0, byte in proptest::prelude::any::<u8>(), cut in 0.0_f64..1.0) {
            let whole = workbook(&(cell("B1", 7) + &cell("A3", 470)), &[]);
            let mut bytes = std::fs::read(whole.path()).unwrap();
            let place = (at * bytes.len() as f64) as usize;
            bytes[place] = byte;
            if cut > 0.7 {
                bytes.truncate((cut * bytes.len() as f64) as usize);
            }
            let mut damaged = tempfile::NamedTempFile::new().unwrap();
            damaged.write_all(&bytes).unwrap();
            let _ = read(damaged.path(), &LIMITS);
        }
    }
}
