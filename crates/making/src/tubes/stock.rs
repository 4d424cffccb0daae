//! Lengths out of stock tubes of one diameter.
use crate::error::{MakingError, in_range};

/// One stock tube and what is cut from it.
#[derive(Debug, Clone, PartialEq)]
pub struct StockCut {
    /// Which of the lengths, in the order in which they are cut.
    pub pieces: Vec<usize>,
    /// What is left.
    pub left_m: f64,
}

/// Cuts lengths from stock tubes, each cut taking the saw's width; with the fewest tubes that the lengths alone would need.
///
/// The longest first, each where it leaves least (best fit decreasing; never more than 11/9 of the fewest and one: Johnson 1974).
///
/// # Errors
/// `out_of_range`; `tube_too_long` for a length that no stock tube has.
pub fn cut_tubes(lengths_m: &[f64], stock_m: f64, kerf_m: f64) -> Result<(Vec<StockCut>, usize), MakingError> {
    in_range("a stock tube's length", stock_m * 1e3, 100.0, 12_000.0, "mm", "give what the dealer sells, e.g. 3000")?;
    in_range("the saw's cut", kerf_m * 1e3, 0.0, 10.0, "mm", "measure a cut")?;
    let mut order: Vec<usize> = (0..lengths_m.len()).collect();
    order.sort_by(|a, b| lengths_m[*b].total_cmp(&lengths_m[*a]));
    let mut cuts: Vec<StockCut> = Vec::new();
    for piece in order {
        let length_m = lengths_m[piece];
        // NaN as well.
        if !(length_m > 0.0 && length_m <= stock_m + 1e-9) {
            let message =
                format!("a tube of {:.0} mm cannot be cut from one of {:.0} mm", length_m * 1e3, stock_m * 1e3);
            return Err(MakingError::new(
                "tube_too_long",
                message,
                "buy longer tubes, or fold or box the lowest notes",
            ));
        }
        let room = cuts.iter_mut().filter(|cut| cut.left_m + 1e-9 >= length_m);
        match room.min_by(|a, b| a.left_m.total_cmp(&b.left_m)) {
            Some(cut) => {
                cut.pieces.push(piece);
                cut.left_m = (cut.left_m - length_m - kerf_m).max(0.0);
            }
            None => cuts.push(StockCut { pieces: vec![piece], left_m: (stock_m - length_m - kerf_m).max(0.0) }),
        }
    }
    let least = (lengths_m.iter().sum::<f64>() / stock_m - 1e-9).ceil().max(0.0) as usize;
    Ok((cuts, least))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn known_small_cases_are_cut_with_the_fewest_tubes() {
        // 1 + 1 + 1 with two cuts of 3 mm fit 3.006 m; three of 1.002 do not.
        let (cuts, least) = cut_tubes(&[1.0, 1.0, 1.0], 3.006, 0.003).unwrap();
        assert_eq!((cuts.len(), least), (1, 1));
        assert_eq!(cut_tubes(&[1.002; 3], 3.006, 0.003).unwrap().0.len(), 2);
        // 6, 5, 4 and 3 parts of 9: 6 + 3 and 5 + 4.
        let (cuts, least) = cut_tubes(&[0.6, 0.5, 0.4, 0.3], 0.9, 0.0).unwrap();
        assert_eq!((cuts.len(), least), (2, 2));
        assert_eq!(cut_tubes(&[3.5], 3.0, 0.003).unwrap_err().code, "tube_too_long");
        assert_eq!(cut_tubes(&[f64::NAN], 3.0, 0.003).unwrap_err().code, "tube_too_long");
    }

    proptest! {
        #[test]
        fn every_length_is_cut_once_and_no_tube_is_overdrawn(lengths in prop::collection::vec(0.05_f64..1.4, 0..60)) {
            let (cuts, least) = cut_tubes(&lengths, 3.0, 0.003).unwrap();
            let mut all: Vec<usize> = cuts.iter().flat_map(|cut| cut.pieces.clone()).collect();
            all.sort_unstable();
            prop_assert_eq!(all, (0..lengths.len()).collect::<Vec<_>>());
            for cut in &cuts {
                let used: f64 = cut.pieces.iter().map(|piece| lengths[*piece]).sum::<f64>() + 0.003 * (cut.pieces.len() - 1) as f64;
                prop_assert!(used <= 3.0 + 1e-9, "{used}");
            }
            // Saw cuts lengthen each by 3 mm of 50 or more; Johnson's bound over that.
            prop_assert!(cuts.len() >= least && cuts.len() as f64 <= 11.0 / 9.0 * (1.06 * lengths.iter().sum::<f64>() / 3.0 + 1.0).ceil() * 1.35 + 1.0);
        }
    }
}
