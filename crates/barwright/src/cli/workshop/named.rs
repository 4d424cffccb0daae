//! What the name of a recording says: which bar, and where it was struck.
use crate::cli::args::Struck;
use crate::error::Refused;
use records::Note;
use std::ops::RangeInclusive;

/// What a name says beside the bar.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Said {
    pub(super) struck: Option<Struck>,
    /// Words that were not understood.
    pub(super) unused: Vec<String>,
}

/// Words that say nothing of which bar it is.
const FILLING: [&str; 14] = [
    "bar",
    "note",
    "nr",
    "no",
    "number",
    "label",
    "take",
    "blow",
    "strike",
    "hit",
    "recording",
    "memo",
    "audio",
    "sound",
];

const EXAMPLE: &str = "name it after its bar, such as \"C#4 quarter 2.wav\" or 117.wav";

/// Finds bars by label or note.
type Find<'a, B> = &'a dyn Fn(&str) -> Result<Vec<B>, Refused>;

/// The one bar that a file's name means, and what else it says.
///
/// The longest beginning of the name that is a label or a note counts; failing that, one note anywhere in it. A further note
/// must be of the same bar.
pub(super) fn bar_of<B: PartialEq>(stem: &str, known: Find<'_, B>) -> Result<(B, Said), Refused> {
    let words = words(stem);
    let (bar, used) = named_bar(stem, &words, known)?;
    let rest: Vec<&str> = words.iter().enumerate().filter(|(i, _)| !used.contains(i)).map(|(_, (_, w))| *w).collect();
    let (notes, rest): (Vec<&str>, Vec<&str>) = rest.into_iter().partition(|word| looks_like_note(word));
    for word in notes {
        if !known(&note(word)?.to_string())?.contains(&bar) {
            return Err(Refused::new("ambiguous", format!("its name also says {word}, which is another bar"), EXAMPLE));
        }
    }
    Ok((bar, said(&rest)?))
}

/// The bar, and which words name it.
fn named_bar<B>(
    stem: &str,
    words: &[(usize, &str)],
    known: Find<'_, B>,
) -> Result<(B, RangeInclusive<usize>), Refused> {
    let first = words.iter().position(|(_, word)| !filling(word)).unwrap_or(0);
    for last in (first..words.len()).rev() {
        let (from, (at, word)) = (words[first].0, words[last]);
        let text = &stem[from..at + word.len()];
        // A label may look like anything, so it is tried before a note.
        let found = known(text)?;
        if !found.is_empty() {
            return Ok((one(found, text)?, first..=last));
        }
    }
    let place = words.iter().position(|(_, word)| looks_like_note(word)).ok_or_else(|| {
        Refused::new("no_bar_named", "its name holds neither a note nor a label of this workshop", EXAMPLE)
    })?;
    let note = note(words[place].1)?;
    let found = known(&note.to_string())?;
    if found.is_empty() {
        let hint = "give a bar that note, or name the file after the label of its bar";
        return Err(Refused::new("not_found", format!("no bar serves {note}"), hint));
    }
    Ok((one(found, &note.to_string())?, place..=place))
}

fn one<B>(mut found: Vec<B>, text: &str) -> Result<B, Refused> {
    match found.len() {
        1 => Ok(found.remove(0)),
        count => {
            let hint = "say which instrument with --to, or name the file after the label";
            Err(Refused::new("ambiguous", format!("{count} bars are \"{text}\""), hint))
        }
    }
}

/// The words of a name with where they begin.
fn words(stem: &str) -> Vec<(usize, &str)> {
    let parts = |c: char| c.is_whitespace() || "_-,;.()[]+".contains(c);
    let mut words = Vec::new();
    let mut at = 0;
    for word in stem.split(parts) {
        if !word.is_empty() {
            words.push((at, word));
        }
        // Every mark that parts words has one byte, but for odd spaces.
        at += word.len() + stem[at + word.len()..].chars().next().map_or(0, char::len_utf8);
    }
    words
}

fn filling(word: &str) -> bool {
    FILLING.contains(&word.to_lowercase().as_str())
}

/// A letter, at most one accidental, one figure: "C3", "c#4", "Fs5", "Bb2"; "H3" too, to be told why it is none.
fn looks_like_note(word: &str) -> bool {
    let letters: Vec<char> = word.chars().collect();
    match letters[..] {
        [letter, octave] => {
            letter.is_ascii_alphabetic() && octave.is_ascii_digit() && "abcdefghABCDEFGH".contains(letter)
        }
        [letter, sign, octave] => {
            "abcdefghABCDEFGH".contains(letter) && "#♯sb♭".contains(sign) && octave.is_ascii_digit()
        }
        _ => false,
    }
}

/// The note of a word; many systems allow no # in a file's name, so that an s may stand for it.
fn note(word: &str) -> Result<Note, Refused> {
    let mut letters = word.chars();
    let letter = letters.next().map(|c| c.to_ascii_uppercase());
    let sharp = letters.next() == Some('s');
    if sharp && matches!(letter, Some('A' | 'E')) {
        let message = format!("\"{word}\" is a sharp to some and a flat to others");
        return Err(Refused::new("wrong_note", message, "write # or sharp signs as in A#3, flats as in Ab3"));
    }
    let text = if sharp { word.replacen('s', "#", 1) } else { word.to_owned() };
    text.parse::<Note>().map_err(|error| Refused::new("wrong_note", format!("\"{word}\" is no note"), error.hint))
}

fn said(words: &[&str]) -> Result<Said, Refused> {
    let mut said = Said::default();
    for word in words {
        let small = word.to_lowercase();
        let place = match small.as_str() {
            "centre" | "center" | "middle" | "mid" => Some(Struck::Centre),
            "quarter" => Some(Struck::Quarter),
            "corner" => Some(Struck::Corner),
            "end" => Some(Struck::End),
            _ => None,
        };
        match (place, said.struck) {
            (Some(new), Some(old)) if new != old => {
                let hint = "one recording holds blows at one place; part it, or listen to it with `listen`";
                return Err(Refused::new("wrong_places", "its name holds two places", hint));
            }
            (Some(new), _) => said.struck = Some(new),
            // A bare number counts the takes.
            (None, _) if filling(word) || small.chars().all(|c| c.is_ascii_digit()) => {}
            (None, _) => said.unused.push((*word).to_owned()),
        }
    }
    Ok(said)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A shop with the labels 17, B-2, 117 and bars serving C3, C♯4 and F♯5, and two that serve D3.
    fn shop(text: &str) -> Result<Vec<String>, Refused> {
        let label = text.trim_start_matches('#').to_lowercase();
        if ["17", "b-2", "117"].contains(&label.as_str()) {
            return Ok(vec![label]);
        }
        let served = ["C3", "C♯4", "F♯5", "D3", "D3"];
        let Ok(note) = text.parse::<Note>() else { return Ok(Vec::new()) };
        let same =
            |name: &&&str| name.parse::<Note>().is_ok_and(|n| n.semitones_above_a4() == note.semitones_above_a4());
        Ok(served.iter().filter(same).map(|name| (*name).to_owned()).collect())
    }

    #[test]
    fn names_are_read_as_makers_write_them() {
        for (name, bar, struck, unused) in [
            ("C3", "C3", None, ""),
            ("c#4 quarter", "C♯4", Some(Struck::Quarter), ""),
            ("Db4_center_3", "C♯4", Some(Struck::Centre), ""),
            ("Fs5_2", "F♯5", None, ""),
            ("17", "17", None, ""),
            ("bar 17 take 2", "17", None, ""),
            ("#117 corner", "117", Some(Struck::Corner), ""),
            ("B-2 end", "b-2", Some(Struck::End), ""),
            ("2026-11-25 C3 (4)", "C3", None, ""),
            ("C3 oiled", "C3", None, "oiled"),
            ("Recording C3", "C3", None, ""),
            ("C♯4 end Db4", "C♯4", Some(Struck::End), ""),
        ] {
            let (found, said) = bar_of(name, &shop).unwrap();
            assert_eq!((found.as_str(), said.struck, said.unused.join(" ").as_str()), (bar, struck, unused), "{name}");
        }
    }

    #[test]
    fn what_is_not_understood_says_why() {
        for (name, code) in [
            ("blow 3", "no_bar_named"),
            ("", "no_bar_named"),
            ("G4", "not_found"),
            ("D3", "ambiguous"),
            ("memo C3 and F#5", "ambiguous"),
            ("H3", "wrong_note"),
            ("As3", "wrong_note"),
            ("C3 centre end", "wrong_places"),
            ("ünïcödé ♯♭", "no_bar_named"),
        ] {
            let refused = bar_of(name, &shop).unwrap_err();
            assert_eq!(refused.code, code, "{name}: {refused}");
            assert!(!refused.hint.is_empty());
        }
    }
}
