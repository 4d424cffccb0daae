//! A tube folded once, so that it fits under the bars.
use crate::error::MakingError;
use std::f64::consts::PI;

/// Two straight legs and a half circle between them, measured along the middle of the tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fold {
    /// From the mouth down to where the bend begins.
    pub down_m: f64,
    /// Along the middle of the bend.
    pub bend_m: f64,
    /// From the bend up to the end.
    pub up_m: f64,
    /// Between the middles of both legs.
    pub apart_m: f64,
}

/// Folds a tube of that length so that it hangs as low as the room allows.
///
/// The legs stand their own outer diameter and 10 mm apart (room for a hand's saw and glue; common practice, no source). How much a bend
/// itself moves the pitch depends on how it is made: folded tubes are cut long and tuned by ear.
///
/// # Errors
/// `tube_too_long` where one fold is not enough.
pub(super) fn fold(length_m: f64, outer_m: f64, room_m: f64) -> Result<Fold, MakingError> {
    let apart_m = outer_m + 0.010;
    let bend_m = 0.5 * PI * apart_m;
    // The bend's lowest point is half the legs' distance and half the tube below its beginning.
    let down_m = room_m - 0.5 * (apart_m + outer_m);
    let up_m = length_m - bend_m - down_m;
    if !(down_m > outer_m && up_m <= down_m) {
        let message = format!(
            "a tube of {:.0} mm does not fit into {:.0} mm of height, folded once",
            length_m * 1e3,
            room_m * 1e3
        );
        return Err(MakingError::new("tube_too_long", message, "raise the frame, or build a box for this note"));
    }
    // A tube little longer than the room: shorter legs rather than a negative one.
    let short_m = (-up_m).max(0.0);
    Ok(Fold { down_m: down_m - short_m, bend_m, up_m: up_m + short_m, apart_m })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_folded_tube_is_as_long_as_it_was_and_fits(length in 0.76_f64..1.35, outer in 0.04_f64..0.09) {
            let folded = fold(length, outer, 0.75).unwrap();
            prop_assert!((folded.down_m + folded.bend_m + folded.up_m - length).abs() < 1e-12, "{folded:?}");
            prop_assert!(folded.down_m + 0.5 * (folded.apart_m + outer) <= 0.75 + 1e-12 && folded.up_m >= 0.0 && folded.down_m > 0.0);
        }
    }

    #[test]
    fn what_one_fold_cannot_do_is_refused() {
        assert_eq!(fold(2.5, 0.08, 0.75).unwrap_err().code, "tube_too_long");
        assert_eq!(fold(1.3, 0.08, 0.10).unwrap_err().code, "tube_too_long");
    }
}
