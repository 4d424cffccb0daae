//! The report as one archive: what the doctor found and the program's own notes, to be read before it is sent.
use crate::diary;
use crate::error::Refused;
use std::io::{Cursor, Write};
use std::path::Path;
use zip::write::SimpleFileOptions;

const README: &str = "What a helper needs to know, and nothing more.

findings.txt     what `barwright doctor` found: versions, disk, folder, health of the record
barwright*.log   the program's own notes: a line for each start, refusal and failure, by its code

There are no names of people, customers, instruments or bars in here, no readings, no notes, no sounds and no pictures.
Read all of it before you send it.
";

/// The bytes of the archive.
pub(super) fn of(findings: &str, workshop: &Path) -> Result<Vec<u8>, Refused> {
    let failed = |error: std::io::Error| {
        Refused::new("cannot_write", format!("the report could not be packed: {error}"), "make room and try again")
    };
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let mut put = |name: &str, bytes: &[u8]| {
        archive.start_file(name, SimpleFileOptions::default()).map_err(|error| failed(error.into()))?;
        archive.write_all(bytes).map_err(failed)
    };
    put("README.txt", README.as_bytes())?;
    put("findings.txt", findings.as_bytes())?;
    for file in diary::files(workshop) {
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        put(&name, &std::fs::read(&file).map_err(failed)?)?;
    }
    Ok(archive.finish().map_err(|error| failed(error.into()))?.into_inner())
}
