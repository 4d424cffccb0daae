//! Notes as MIDI numbers: A4 is 69, C4 is 60.

/// MIDI number of A4, the tuning note.
pub const A4: i32 = 69;

/// Name of a note in scientific pitch notation, e.g. "C♯3" for 49.
pub fn note_name(midi: i32) -> String {
    let letter = match midi.rem_euclid(12) {
        0 => "C",
        1 => "C♯",
        2 => "D",
        3 => "D♯",
        4 => "E",
        5 => "F",
        6 => "F♯",
        7 => "G",
        8 => "G♯",
        9 => "A",
        10 => "A♯",
        _ => "B",
    };
    format!("{letter}{}", midi.div_euclid(12) - 1)
}
