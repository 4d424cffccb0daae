//! Laws by which length, width and thickness go from the lowest bar to the highest.
use crate::virtual_bench::usual_size;

/// MIDI numbers of the table's ends, C2 and C7.
const TABLE: (i32, i32) = (36, 96);

/// How one size goes along the instrument.
#[derive(Debug, Clone, PartialEq)]
pub enum Law {
    /// The table of common sizes (from memory), linear between its notes; 1 gives it as it is, 1.1 a tenth more.
    Usual(f64),
    /// The same law, but equal over so many successive bars of a row: the size of the lowest of them.
    Stepped(f64, usize),
    /// A straight line over the places in the row, from the lowest bar's size to the highest's, in metres.
    Straight(f64, f64),
    /// One size for all, in metres.
    Constant(f64),
    /// (MIDI number, metres), rising; linear between, the nearest end's beyond.
    Listed(Vec<(i32, f64)>),
}

/// Which size a law is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Size {
    /// Length.
    Length,
    /// Width.
    Width,
    /// Thickness.
    Thickness,
}

impl Law {
    /// The size, in metres, of bar `midi`, which stands at `share` of the row from its lowest bar (0) to its highest (1);
    /// `row_midi` are the notes by which steps are counted.
    pub(super) fn at(&self, size: Size, midi: i32, share: f64, row_midi: &[i32]) -> f64 {
        match self {
            Self::Usual(factor) => factor * usual(size, midi),
            Self::Stepped(factor, every) => {
                let place = row_midi.iter().position(|note| *note == midi).unwrap_or(0);
                let first = row_midi.get(place - place % (*every).max(1)).copied().unwrap_or(midi);
                factor * usual(size, first)
            }
            Self::Straight(lowest_m, highest_m) => lowest_m + share * (highest_m - lowest_m),
            Self::Constant(size_m) => *size_m,
            Self::Listed(sizes) => between(sizes, midi),
        }
    }
}

/// Linear between (note, value), the nearest end's beyond; zero without any.
pub(super) fn between(values: &[(i32, f64)], midi: i32) -> f64 {
    let (Some(first), Some(last)) = (values.first(), values.last()) else { return 0.0 };
    match values.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&midi)) {
        Some([low, high]) => low.1 + (high.1 - low.1) * f64::from(midi - low.0) / f64::from(high.0 - low.0),
        _ if midi < first.0 => first.1,
        _ => last.1,
    }
}

/// The table of common sizes; beyond its ends the length goes on by its last octave's ratio, width and thickness stay.
fn usual(size: Size, midi: i32) -> f64 {
    let hz = |midi: i32| 440.0 * (f64::from(midi - super::note::A4) / 12.0).exp2();
    let index = match size {
        Size::Length => 0,
        Size::Width => 1,
        Size::Thickness => 2,
    };
    let inside = midi.clamp(TABLE.0, TABLE.1);
    let at = |midi: i32| usual_size(hz(midi))[index];
    let beyond = if size == Size::Length && midi != inside {
        let (end, inner) = if midi < inside { (TABLE.0, TABLE.0 + 12) } else { (TABLE.1, TABLE.1 - 12) };
        (at(end) / at(inner)).powf(f64::from((midi - inside).abs()) / 12.0)
    } else {
        1.0
    };
    at(inside) * beyond
}
