//! Writing what was asked for into a new file.
use crate::error::Refused;
use std::path::Path;

/// A file that must not be there yet, written whole.
pub(super) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Refused> {
    let refused = |error: std::io::Error| {
        Refused::new(
            "cannot_write",
            format!("{} cannot be written: {error}", path.display()),
            "name a file that does not exist yet, in a folder that does",
        )
    };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Written beside it first: a full disk must not leave half a file under the asked name.
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(refused)?;
    std::io::Write::write_all(&mut file, bytes).map_err(refused)?;
    file.persist_noclobber(path).map_err(|error| refused(error.error))?;
    Ok(())
}

/// Lines of cells as CSV (RFC 4180), the head first.
pub(super) fn to_csv(lines: impl Iterator<Item = Vec<String>>) -> Result<Vec<u8>, Refused> {
    let failed =
        |error: String| Refused::new("cannot_write", format!("the table cannot be written: {error}"), "try again");
    let mut writer = csv::Writer::from_writer(Vec::new());
    for line in lines {
        writer.write_record(line).map_err(|error| failed(error.to_string()))?;
    }
    writer.into_inner().map_err(|error| failed(error.to_string()))
}

/// A table, the head first, into a new file: a workbook where the name ends in .xlsx, else CSV.
pub(super) fn write_table(path: &Path, lines: &[Vec<String>]) -> Result<(), Refused> {
    if path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx")) {
        return write_new(path, &to_xlsx(lines)?);
    }
    write_new(path, &to_csv(lines.iter().cloned())?)
}

/// A table that is CSV already, in the same way.
pub(super) fn write_csv(path: &Path, csv: &[u8]) -> Result<(), Refused> {
    let failed =
        |error: csv::Error| Refused::new("cannot_write", format!("the table is damaged: {error}"), "try again");
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(csv);
    let line = |record: csv::StringRecord| record.iter().map(str::to_owned).collect();
    let lines =
        reader.records().map(|record| record.map(line)).collect::<Result<Vec<Vec<String>>, _>>().map_err(failed)?;
    write_table(path, &lines)
}

/// Lines of cells as a workbook of one sheet: figures as figures, words as words (never as formulas), the head bold and kept in sight.
fn to_xlsx(lines: &[Vec<String>]) -> Result<Vec<u8>, Refused> {
    let failed = |error: rust_xlsxwriter::XlsxError| {
        Refused::new("cannot_write", format!("the workbook cannot be written: {error}"), "write it as CSV instead")
    };
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    let bold = rust_xlsxwriter::Format::new().set_bold();
    for (row, line) in (0_u32..).zip(lines) {
        for (column, cell) in (0_u16..).zip(line) {
            match cell.parse::<f64>() {
                _ if row == 0 => sheet.write_string_with_format(row, column, cell, &bold),
                // What is a figure but stands for a name (a label "007") stays as it is written.
                Ok(value) if value.is_finite() && value.to_string() == *cell => sheet.write_number(row, column, value),
                _ => sheet.write_string(row, column, cell),
            }
            .map_err(failed)?;
        }
    }
    sheet.set_freeze_panes(1, 0).map_err(failed)?;
    sheet.autofit();
    book.save_to_buffer().map_err(failed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use calamine::{Data, Reader};

    #[test]
    fn a_workbook_has_figures_as_figures_and_no_formulas() {
        let line = |cells: [&str; 3]| cells.map(str::to_owned).to_vec();
        let lines = [line(["note", "label", "length_mm"]), line(["C♯3", "007", "470.5"]), line(["D3", "=1+1", "-12"])];
        let bytes = to_xlsx(&lines).unwrap();
        let mut book: calamine::Xlsx<_> = calamine::Xlsx::new(std::io::Cursor::new(bytes)).unwrap();
        let sheet = book.worksheet_range_at(0).unwrap().unwrap();
        let cell = |row: u32, column: u32| sheet.get_value((row, column)).unwrap().clone();
        assert_eq!(cell(0, 2), Data::String("length_mm".to_owned()));
        assert_eq!((cell(1, 0), cell(1, 1)), (Data::String("C♯3".to_owned()), Data::String("007".to_owned())));
        assert_eq!((cell(1, 2), cell(2, 2)), (Data::Float(470.5), Data::Float(-12.0)));
        assert_eq!(cell(2, 1), Data::String("=1+1".to_owned()));
    }
}
