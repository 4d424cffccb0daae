//! From the last strokes to a retuning years later, on an invented instrument.
use crate::common::invented_instrument::tuned;
use making::fine::Class;
use making::retune::Work;

#[test]
fn five_years_of_an_invented_instrument_are_mended() {
    let (_folder, mut set) = tuned(false);
    set.years_later(5).unwrap();
    let mended = set.mend(Class::Working).unwrap();
    println!("{:#?}", mended.first.bars.iter().map(|b| (&b.work, &b.drift_cents)).collect::<Vec<_>>());
    println!("{:#?}", mended.last.bars.iter().map(|b| (&b.work, &b.drift_cents)).collect::<Vec<_>>());
    println!("{} {} {}", mended.cuts, mended.trims, mended.dried);
    let left = mended.last.bars.iter().filter(|bar| bar.work == Work::Leave).count();
    assert_eq!(left, 12);
}
