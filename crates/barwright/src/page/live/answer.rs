//! What a blow is answered with: a word, a shape, a reason.
use serde_json::{Value, json};
use strike::{Heard, HeardMode, Kind, Refusal, StrikePlace};

/// A mode counts as heard when it is named at least this surely; what is less sure is not entered either.
const LEAST_SURE: f64 = 0.8;

/// How a blow went; each has its shape and its ground on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Every tuned mode was heard.
    Heard,
    /// A tuned mode is missing: it sounds at another place.
    Place,
    /// Something else sounds louder.
    Noisy,
    /// The microphone was driven beyond its range.
    Loud,
    /// Nothing can be made of it.
    Again,
}

impl Verdict {
    fn code(self) -> &'static str {
        match self {
            Self::Heard => "heard",
            Self::Place => "place",
            Self::Noisy => "noisy",
            Self::Loud => "loud",
            Self::Again => "again",
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Heard => "Heard",
            Self::Place => "Another place",
            Self::Noisy => "Too noisy",
            Self::Loud => "Too loud",
            Self::Again => "Again",
        }
    }
}

/// The verdict on what was heard of `tuned` bending modes, and why.
pub fn of_heard(heard: &Heard, tuned: usize, struck: Option<StrikePlace>) -> (Verdict, String) {
    let missing: Vec<usize> = (1..=tuned).filter(|number| !is_sure(heard, *number)).collect();
    let doubt = |code: &str| heard.warnings.iter().find(|warning| warning.code == code);
    if let Some(clipped) = doubt("clipped") {
        return (Verdict::Loud, clipped.hint.clone());
    }
    if missing.is_empty() {
        return (Verdict::Heard, modes("mode", &(1..=tuned).collect::<Vec<_>>()));
    }
    if let Some(noise) = doubt("loud_noise").or_else(|| doubt("hum")) {
        return (Verdict::Noisy, noise.hint.clone());
    }
    (Verdict::Place, format!("no {} yet: strike {}", modes("mode", &missing), where_to(&missing, struck)))
}

/// The verdict on a blow that was refused.
pub fn of_refusal(refusal: &Refusal) -> (Verdict, String) {
    let verdict = match refusal.code {
        "noise" | "hum" => Verdict::Noisy,
        _ => Verdict::Again,
    };
    (verdict, refusal.hint.clone())
}

/// A blow that was refused, as the page takes it; `knock` for something that does not ring, which may be meant as one.
pub fn refusal_json(refusal: &Refusal, at: u64) -> Value {
    let mut answer = to_json(of_refusal(refusal), at, true, &[]);
    answer["knock"] = json!(refusal.code == "no_ring");
    answer
}

/// Whether a tuned mode was named surely.
pub fn is_sure(heard: &Heard, number: usize) -> bool {
    let right = |mode: &HeardMode| mode.kind == Kind::Bending && mode.number == number && mode.sure >= LEAST_SURE;
    heard.modes.iter().any(right)
}

/// Where the missing modes sound: mode 2 is still in the middle, modes 1 and 3 are not; near the end all move.
fn where_to(missing: &[usize], struck: Option<StrikePlace>) -> &'static str {
    let (odd, even) = (missing.iter().any(|n| n % 2 == 1), missing.contains(&2));
    match (odd, even) {
        (true, false) if struck != Some(StrikePlace::Centre) => "the middle",
        (false, true) if struck != Some(StrikePlace::Quarter) => "a quarter from the end",
        _ => "near the end",
    }
}

/// "modes 1, 2 and 3".
fn modes(word: &str, numbers: &[usize]) -> String {
    let numbers: Vec<String> = numbers.iter().map(usize::to_string).collect();
    match numbers.as_slice() {
        [] => String::new(),
        [one] => format!("{word} {one}"),
        [first @ .., last] => format!("{word}s {} and {last}", first.join(", ")),
    }
}

/// The answer as the page takes it; `cents` of each tuned mode above its target where heard.
pub fn to_json((verdict, why): (Verdict, String), at: u64, last: bool, cents: &[Option<f64>]) -> Value {
    json!({
        "type": "answer", "verdict": verdict.code(), "word": verdict.word(), "why": why,
        "at": at, "last": last, "cents": cents,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(numbers: &[(usize, f64)]) -> Heard {
        let mode = |&(number, sure): &(usize, f64)| HeardMode {
            kind: Kind::Bending,
            number,
            hz: 100.0,
            sigma_cents: 0.1,
            early_hz: None,
            late_hz: None,
            decay_s: 0.3,
            level_db: 0.0,
            late_decay_s: None,
            sure,
            runner_up: None,
            blows: 1,
            repeat_cents: None,
        };
        Heard { modes: numbers.iter().map(mode).collect(), other: Vec::new(), blows: Vec::new(), warnings: Vec::new() }
    }

    #[test]
    fn a_missing_mode_is_sought_where_it_sounds() {
        let told = |numbers: &[(usize, f64)], struck| of_heard(&heard(numbers), 3, struck);
        assert_eq!(told(&[(1, 1.0), (2, 0.9), (3, 0.95)], None), (Verdict::Heard, "modes 1, 2 and 3".to_owned()));
        let (verdict, why) = told(&[(1, 1.0), (3, 0.95)], Some(StrikePlace::Centre));
        assert_eq!((verdict, why.as_str()), (Verdict::Place, "no mode 2 yet: strike a quarter from the end"));
        let (_, why) = told(&[(2, 1.0), (3, 0.5)], Some(StrikePlace::Quarter));
        assert_eq!(why, "no modes 1 and 3 yet: strike the middle");
        let (_, why) = told(&[(1, 1.0)], None);
        assert_eq!(why, "no modes 2 and 3 yet: strike near the end");
    }
}
