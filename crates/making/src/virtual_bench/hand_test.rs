//! What a bar teaches of the hand that cut it, against the hand that did.
use super::VirtualBar;
use crate::{Decision, Hand};

/// Readings until no cut is advised or `most` cuts are made.
fn cut_some(bar: &mut VirtualBar, most: usize) {
    let mut cuts = 0;
    while cuts < most {
        let advice = bar.advise().expect("a virtual bar can be advised");
        if advice.decision == Decision::Cut {
            bar.cut(&advice.bands, None).expect("a cut that was advised");
            cuts += 1;
        } else if advice.decision != Decision::Wait {
            return;
        }
        bar.hear().expect("a virtual bar can be struck");
    }
}

#[test]
fn the_hand_learnt_on_one_bar_is_nearer_the_true_one_than_common_practice() {
    let (mut of_usual, mut of_learnt, seeds) = (0.0, 0.0, 1..=6_u64);
    for seed in seeds {
        let mut bar = VirtualBar::new(seed, 262.0).expect("C4 is in the table");
        cut_some(&mut bar, 4);
        let hand = Hand::expected_after(&[bar.belief.hand_learnt()]);
        let miss = (hand.gain / bar.maker.hand()).ln();
        // Three sigmas: one bar in 370 may be beyond, and these six are fixed.
        assert!(miss.abs() < 3.0 * hand.gain_ln_sigma, "seed {seed}: {hand:?}, true {}", bar.maker.hand());
        assert!(hand.gain_ln_sigma < 0.7 * Hand::default().gain_ln_sigma, "seed {seed}: {hand:?}");
        of_usual += bar.maker.hand().ln().powi(2);
        of_learnt += miss.powi(2);
    }
    // Mean squares over six makers.
    println!("rms of ln(hand): usual {:.3}, learnt {:.3}", (of_usual / 6.0_f64).sqrt(), (of_learnt / 6.0_f64).sqrt());
    assert!(of_learnt < of_usual, "{of_learnt} {of_usual}");
}
