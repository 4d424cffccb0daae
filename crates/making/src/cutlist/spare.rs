//! How many blanks more, in case one is lost.
use super::Piece;

/// Bars of an octave.
const OCTAVE: usize = 12;
/// One more for so many in the bass octave, and elsewhere (from memory).
const ONE_IN: [usize; 2] = [6, 10];

/// Spares for bars from bass to treble: one in six in the lowest octave, one in ten elsewhere (from memory). Each is as large as the
/// largest bar of its group, so that it may serve any of them.
pub fn spares(bars: &[Piece]) -> Vec<Piece> {
    let (bass, rest) = bars.split_at(OCTAVE.min(bars.len()));
    bass.chunks(ONE_IN[0]).chain(rest.chunks(ONE_IN[1])).filter_map(spare).collect()
}

fn spare(group: &[Piece]) -> Option<Piece> {
    let (first, last) = (group.first()?, group.last()?);
    let most = |size: fn(&Piece) -> f64| group.iter().map(size).fold(0.0, f64::max);
    let name =
        if group.len() > 1 { format!("spare {}–{}", first.name, last.name) } else { format!("spare {}", first.name) };
    Some(Piece {
        name,
        length_m: most(|piece| piece.length_m),
        width_m: most(|piece| piece.width_m),
        thickness_m: most(|piece| piece.thickness_m),
        spare: true,
    })
}
