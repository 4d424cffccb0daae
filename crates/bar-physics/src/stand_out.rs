//! The modes that stand out, for bars too stubby to have all that are wanted.
use crate::Bar;
use crate::solid::{self, Modes, PhysicsError, Wanted};

/// Modes of `bar`: those wanted, or as many of each kind as stand out on a short, wide bar.
///
/// # Errors
/// [`PhysicsError`] if the bar cannot be computed or not even its first bending mode stands out.
pub fn modes_that_stand_out(bar: &Bar, mut wanted: Wanted) -> Result<Modes, PhysicsError> {
    loop {
        let (kind, found, length_mm, width_mm) = match solid::modes(bar, wanted) {
            Err(PhysicsError::NotABar { kind, found, length_mm, width_mm, .. }) => (kind, found, length_mm, width_mm),
            other => return other,
        };
        let count = match kind {
            "bending" => &mut wanted.bending,
            "torsion" => &mut wanted.torsion,
            _ => &mut wanted.sideways,
        };
        if found >= *count || (kind == "bending" && found == 0) {
            return Err(PhysicsError::NotABar { kind, found, wanted: *count, length_mm, width_mm });
        }
        *count = found;
    }
}
