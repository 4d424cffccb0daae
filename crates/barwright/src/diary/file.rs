//! The files of the diary: the newest is written to; when it is full it is put aside and the oldest goes.
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The folder beside the record.
pub const FOLDER: &str = "notes-of-the-program";
/// As large as one file grows: some four thousand lines.
pub const MOST_BYTES: u64 = 256 * 1024;
/// Files kept, the newest among them: a megabyte together.
pub const MOST_FILES: usize = 4;

fn path(workshop: &Path, age: usize) -> PathBuf {
    let name = if age == 0 { "barwright.log".to_owned() } else { format!("barwright.{age}.log") };
    workshop.join(FOLDER).join(name)
}

/// Adds a line, putting a full file aside first. Two programs may do so at once: a line is written in one piece.
pub(super) fn append(workshop: &Path, line: &str) -> io::Result<()> {
    let newest = path(workshop, 0);
    fs::create_dir_all(workshop.join(FOLDER))?;
    if fs::metadata(&newest).is_ok_and(|file| file.len() + line.len() as u64 > MOST_BYTES) {
        put_aside(workshop)?;
    }
    OpenOptions::new().create(true).append(true).open(newest)?.write_all(line.as_bytes())
}

fn put_aside(workshop: &Path) -> io::Result<()> {
    for age in (0..MOST_FILES - 1).rev() {
        match fs::rename(path(workshop, age), path(workshop, age + 1)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    Ok(())
}

/// The files there are, the newest first.
pub fn files(workshop: &Path) -> Vec<PathBuf> {
    (0..MOST_FILES).map(|age| path(workshop, age)).filter(|path| path.is_file()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_file_is_put_aside_and_the_oldest_goes() {
        let folder = tempfile::tempdir().unwrap();
        let line = format!("{}\n", "x".repeat(1023));
        // Six files full: only the last four are kept, none larger than the limit.
        for _ in 0..6 * 256 {
            append(folder.path(), &line).unwrap();
        }
        let files = files(folder.path());
        assert_eq!(files.len(), MOST_FILES);
        for file in &files {
            assert!(fs::metadata(file).unwrap().len() <= MOST_BYTES);
        }
        append(folder.path(), "the last\n").unwrap();
        assert!(fs::read_to_string(&files[0]).unwrap().ends_with("the last\n"));
        let there = fs::read_dir(folder.path().join(FOLDER)).unwrap().count();
        assert_eq!(there, MOST_FILES);
    }
}
