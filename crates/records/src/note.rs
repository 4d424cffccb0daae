//! Notes of the scale and their frequencies.
use std::fmt;
use std::str::FromStr;

/// Semitones from C to A inside an octave.
const A_ABOVE_C: i32 = 9;
/// Highest octave number understood; C10 would lie at 16.7 kHz.
const HIGHEST_OCTAVE: i32 = 9;

/// A note of the twelve-tone scale in scientific pitch notation: C4 is middle C, A4 the tuning note.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    letter: char,
    accidental: i32,
    octave: i32,
}

/// A text that names no note.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{text}\" is not a note. {hint}")]
pub struct NoteError {
    /// The text given.
    pub text: String,
    /// What to write instead.
    pub hint: String,
}

impl Note {
    /// Semitones above A4 (negative below).
    pub fn semitones_above_a4(&self) -> i32 {
        let above_c = match self.letter {
            'C' => 0,
            'D' => 2,
            'E' => 4,
            'F' => 5,
            'G' => 7,
            'A' => 9,
            _ => 11,
        };
        12 * (self.octave - 4) + above_c + self.accidental - A_ABOVE_C
    }

    /// Frequency in hertz by equal temperament, `a4_hz · 2^(n/12)` with n semitones above A4 (ISO 16 for 440 Hz).
    pub fn hz(&self, a4_hz: f64) -> f64 {
        a4_hz * (f64::from(self.semitones_above_a4()) / 12.0).exp2()
    }
}

impl FromStr for Note {
    type Err = NoteError;

    /// Reads "C3", "C#3", "Db3", "C♯3", "B♭2"; the letter may be small.
    fn from_str(text: &str) -> Result<Self, NoteError> {
        let refuse = |hint: &str| NoteError { text: shortened(text), hint: hint.to_owned() };
        let mut rest = text.trim().chars();
        let letter = match rest.next().map(|c| c.to_ascii_uppercase()) {
            Some(letter @ 'A'..='G') => letter,
            Some('H') => return Err(refuse("Write B for the note below C, e.g. B2, and Bb2 for the flat.")),
            _ => {
                return Err(refuse(
                    "Write a letter A to G, a sharp or flat if any, and the octave, e.g. C3, F#4 or Bb2.",
                ));
            }
        };
        let tail = rest.as_str();
        let (accidental, octave_text) = match tail.chars().next() {
            Some(sign @ ('#' | '♯')) => (1, &tail[sign.len_utf8()..]),
            Some(sign @ ('b' | '♭')) => (-1, &tail[sign.len_utf8()..]),
            _ => (0, tail),
        };
        let octave = match octave_text.parse::<i32>() {
            Ok(octave @ 0..=HIGHEST_OCTAVE) if octave_text.len() == 1 => octave,
            _ => {
                return Err(refuse(
                    "Give the octave as one figure 0 to 9 (C4 is middle C), with at most one sharp or flat.",
                ));
            }
        };
        Ok(Self { letter, accidental, octave })
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = match self.accidental {
            1 => "♯",
            -1 => "♭",
            _ => "",
        };
        write!(f, "{}{sign}{}", self.letter, self.octave)
    }
}

/// Long or odd input, cut to what fits in a message.
fn shortened(text: &str) -> String {
    text.chars().take(20).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frequencies_match_the_reference_table() {
        let table = include_str!("../../../reference/equal_temperament.csv");
        let mut rows = 0;
        for line in table.lines().skip(1) {
            let cells: Vec<&str> = line.split(',').collect();
            let note: Note = cells[1].parse().unwrap();
            for (a4_hz, cell) in [(440.0, cells[2]), (442.0, cells[3]), (443.0, cells[4])] {
                let want: f64 = cell.parse().unwrap();
                // The table has 9 decimals; 1e-8 Hz allows its rounding and a few ulps.
                assert!((note.hz(a4_hz) - want).abs() < 1e-8, "{line}");
            }
            rows += 1;
        }
        assert!(rows >= 61, "the table covers at least five octaves, found {rows}");
    }

    #[test]
    fn every_spelling_of_a_note_is_the_same_pitch() {
        let hz = |text: &str| text.parse::<Note>().unwrap().semitones_above_a4();
        for (a, b) in
            [("C#3", "Db3"), ("C♯3", "D♭3"), ("B♭2", "A#2"), ("Cb4", "B3"), ("B#3", "C4"), ("bb2", "A♯2"), ("a4", "A4")]
        {
            assert_eq!(hz(a), hz(b), "{a} {b}");
        }
        assert_eq!(hz("A4"), 0);
        assert_eq!("Db3".parse::<Note>().unwrap().to_string(), "D♭3");
    }

    #[test]
    fn other_texts_are_refused_with_a_hint() {
        for text in ["", "H3", "C", "C##3", "C-1", "C10", "Cis3", "3C", "♭3", "C 3", "C+3", "🎵4"] {
            let error = text.parse::<Note>().unwrap_err();
            assert!(!error.hint.is_empty(), "{text}");
        }
    }
}
