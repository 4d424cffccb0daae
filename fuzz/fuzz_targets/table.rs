//! Any bytes as a maker's table: rows of bars, or a refusal with a next step, in bounded memory.
//!
//! The first byte chooses: CSV; a workbook; or the sheet of a workbook that is otherwise whole, so that what is tried
//! gets past the container's checksums.
#![no_main]
#[path = "shared/forgive.rs"]
mod forgive;

use libfuzzer_sys::fuzz_target;
use records::LengthUnit;
use records::workshop::Sheet;
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;

/// The other parts of a workbook of one sheet (ECMA-376, part 1, annex L.1.2 gives the least there can be).
const PARTS: [(&str, &str); 4] = [
    (
        "[Content_Types].xml",
        r#"<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>"#,
    ),
    (
        "_rels/.rels",
        r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#,
    ),
    (
        "xl/workbook.xml",
        r#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="bars" sheetId="1" r:id="rId1"/></sheets></workbook>"#,
    ),
    (
        "xl/_rels/workbook.xml.rels",
        r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#,
    ),
];

fn workbook_with(sheet: &[u8]) -> Vec<u8> {
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let parts = PARTS.iter().map(|(name, text)| (*name, text.as_bytes())).chain([("xl/worksheets/sheet1.xml", sheet)]);
    for (name, bytes) in parts {
        out.start_file(name, stored).unwrap();
        out.write_all(bytes).unwrap();
    }
    out.finish().unwrap().into_inner()
}

fuzz_target!(|bytes: &[u8]| {
    forgive::panics_in("/calamine-");
    let Some((choice, rest)) = bytes.split_first() else { return };
    let folder = std::env::temp_dir();
    let (ending, content) = match choice % 3 {
        0 => (".csv", rest.to_vec()),
        1 => (".xlsx", rest.to_vec()),
        _ => (".xlsx", workbook_with(rest)),
    };
    let file = tempfile::Builder::new().suffix(ending).tempfile_in(folder).unwrap();
    std::fs::write(file.path(), content).unwrap();
    match Sheet::read(file.path()) {
        Ok(sheet) => match sheet.plan(&sheet.guess(), LengthUnit::Mm) {
            Ok(rows) => assert_eq!(rows.len(), sheet.rows.len()),
            Err(refused) => assert!(!refused.hint.is_empty()),
        },
        Err(refused) => assert!(!refused.hint.is_empty(), "{refused:?}"),
    }
});
