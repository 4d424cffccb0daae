//! What only the fuzz targets reach (`fuzz/`, compiled with `--cfg fuzzing`): doors to the outside that the library keeps
//! to itself.
use crate::error::Refused;
use making::schedule::Specification;

pub use crate::page::doors::{Line, OpenLine};

/// A specification from its text.
///
/// # Errors
/// As the program's own reading of one.
pub fn specification(text: &str) -> Result<Specification, Refused> {
    crate::planning::SpecFile::read(text)?.specification()
}
