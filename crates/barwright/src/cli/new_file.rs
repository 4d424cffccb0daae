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

/// Lines of cells as CSV (RFC 4180), the head first; words that a spreadsheet would take for a formula are made plain.
pub(super) fn to_csv(lines: impl Iterator<Item = Vec<String>>) -> Result<Vec<u8>, Refused> {
    let failed =
        |error: String| Refused::new("cannot_write", format!("the table cannot be written: {error}"), "try again");
    let mut writer = csv::Writer::from_writer(Vec::new());
    for line in lines {
        let plain = |cell: String| if cell.parse::<f64>().is_ok() { cell } else { records::plain_text(&cell) };
        writer.write_record(line.into_iter().map(plain)).map_err(|error| failed(error.to_string()))?;
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

/// Where a table holds the three sizes of pieces of wood: a volume is reckoned beside them, and a sum below.
struct Sizes([u16; 3]);

impl Sizes {
    fn of(lines: &[Vec<String>]) -> Option<Self> {
        let head = lines.first()?;
        let column = |name: &str| head.iter().position(|cell| cell == name).and_then(|at| u16::try_from(at).ok());
        Some(Self([column("length_mm")?, column("width_mm")?, column("thickness_mm")?]))
    }

    /// Formulas, so that they follow what the maker changes; their results stand beside them for programs that do not reckon.
    fn formulas(
        &self,
        sheet: &mut rust_xlsxwriter::Worksheet,
        lines: &[Vec<String>],
        bold: &rust_xlsxwriter::Format,
    ) -> Result<(), rust_xlsxwriter::XlsxError> {
        use rust_xlsxwriter::utility::row_col_to_cell;
        let to = u16::try_from(lines[0].len()).unwrap_or(u16::MAX);
        let named = |result: f64, text: String| rust_xlsxwriter::Formula::new(text).set_result(result.to_string());
        sheet.write_string_with_format(0, to, "volume_m3", bold)?;
        let mut sum = 0.0;
        for (row, line) in (0_u32..).zip(lines).skip(1) {
            let sizes = self.0.map(|column| line[usize::from(column)].parse::<f64>().unwrap_or(0.0));
            let volume = sizes.iter().product::<f64>() * 1e-9;
            sum += volume;
            let [length, width, thickness] = self.0.map(|column| row_col_to_cell(row, column));
            sheet.write_formula(row, to, named(volume, format!("={length}*{width}*{thickness}/1000000000")))?;
        }
        let last = u32::try_from(lines.len()).unwrap_or(u32::MAX);
        if last > 1 {
            let cells = format!("{}:{}", row_col_to_cell(1, to), row_col_to_cell(last - 1, to));
            sheet.write_formula_with_format(last, to, named(sum, format!("=SUM({cells})")), bold)?;
        }
        Ok(())
    }
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
    if let Some(sizes) = Sizes::of(lines) {
        sizes.formulas(sheet, lines, &bold).map_err(failed)?;
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
    fn csv_holds_no_formula_and_keeps_its_figures() {
        let line = ["=1+1", "@x", "-12.5", "+3", "-side", "C3"].map(str::to_owned).to_vec();
        let csv = String::from_utf8(to_csv(std::iter::once(line)).unwrap()).unwrap();
        assert_eq!(csv, "'=1+1,'@x,-12.5,+3,'-side,C3\n");
    }

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

    #[test]
    fn volumes_are_formulas_that_follow_the_sizes() {
        let line = |cells: [&str; 4]| cells.map(str::to_owned).to_vec();
        let lines = [
            line(["note", "length_mm", "width_mm", "thickness_mm"]),
            line(["C3", "470", "60", "23"]),
            line(["D3", "400", "50", "20"]),
        ];
        let mut book: calamine::Xlsx<_> = calamine::Xlsx::new(std::io::Cursor::new(to_xlsx(&lines).unwrap())).unwrap();
        let formulas = book.worksheet_formula("Sheet1").unwrap();
        assert_eq!(formulas.get_value((1, 4)).unwrap(), "B2*C2*D2/1000000000");
        assert_eq!(formulas.get_value((3, 4)).unwrap(), "SUM(E2:E3)");
        let sheet = book.worksheet_range_at(0).unwrap().unwrap();
        let Some(Data::Float(sum)) = sheet.get_value((3, 4)) else { panic!("a figure stands in it") };
        // 470·60·23 + 400·50·20 cubic millimetres.
        assert!((sum - 1_048_600.0e-9).abs() < 1e-12, "{sum}");
    }
}
