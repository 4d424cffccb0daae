//! The code with which a new device is let in: short, for ten minutes, once.
//!
//! Time and randomness come in as values.
use crate::error::Refused;
use jiff::{SignedDuration, Timestamp};
use subtle::ConstantTimeEq;

/// Figures and letters that are not taken for one another when read or said: Crockford's base 32, without I, L, O, U.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const LENGTH: usize = 8;
/// How long a code lives, in minutes: time to walk to the sander and back.
pub const LIVES_MIN: i64 = 10;
/// Wrong tries until it dies: of 32⁸ = 10¹² codes, five guesses hit with a chance of 5 in 10¹².
pub const TRIES: u8 = 5;

/// A code.
#[derive(Clone, PartialEq, Eq)]
pub struct Code([u8; LENGTH]);

impl std::fmt::Debug for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Code(…)")
    }
}

impl Code {
    /// The code of five random bytes: eight letters of five bits each.
    pub fn from_random(bytes: [u8; 5]) -> Self {
        let bits = bytes.iter().fold(0_u64, |bits, byte| bits << 8 | u64::from(*byte));
        // Five bits are an index below 32.
        let letter = |place: usize| LETTERS[(bits >> (5 * (LENGTH - 1 - place)) & 31) as usize];
        Self(std::array::from_fn(letter))
    }

    /// As typed: in any case, with blanks and hyphens; O is 0, I and L are 1. `None` if it cannot be a code.
    fn typed(text: &str) -> Option<Self> {
        let plain = text.chars().filter(|c| !c.is_whitespace() && *c != '-').map(|c| match c.to_ascii_uppercase() {
            'O' => '0',
            'I' | 'L' => '1',
            other => other,
        });
        // One more than fits is enough to know that it is too long.
        let letters: Vec<u8> = plain.take(LENGTH + 1).map(|c| u8::try_from(c).unwrap_or(b'?')).collect();
        let letters: [u8; LENGTH] = letters.try_into().ok()?;
        letters.iter().all(|letter| LETTERS.contains(letter)).then_some(Self(letters))
    }

    /// Without a break, as it stands in an address.
    pub fn plain(&self) -> String {
        self.0.iter().map(|letter| char::from(*letter)).collect()
    }
}

/// In two halves, as people read it.
impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let plain = self.plain();
        write!(f, "{}-{}", &plain[..LENGTH / 2], &plain[LENGTH / 2..])
    }
}

/// A code that is open.
#[derive(Debug, Clone)]
struct Open {
    code: Code,
    made_at: Timestamp,
    tries_left: u8,
}

impl Open {
    fn ends_at(&self) -> Timestamp {
        self.made_at.saturating_add(SignedDuration::from_mins(LIVES_MIN)).unwrap_or(self.made_at)
    }

    /// A clock that was set back ends it too.
    fn lives(&self, now: Timestamp) -> bool {
        self.made_at <= now && now < self.ends_at()
    }
}

/// How the last code ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// A device was paired with it.
    Used,
    /// It was too old.
    TooOld,
    /// It was guessed at.
    TooManyTries,
}

/// The one code there may be.
#[derive(Debug, Default)]
pub struct Pairing {
    open: Option<Open>,
    ended: Option<Ended>,
}

impl Pairing {
    /// Opens a new code; one that was open is void from now on.
    pub fn begin(&mut self, code: Code, now: Timestamp) {
        *self = Self { open: Some(Open { code, made_at: now, tries_left: TRIES }), ended: None };
    }

    /// The open code and when it ends.
    pub fn open(&mut self, now: Timestamp) -> Option<(Code, Timestamp)> {
        self.expire(now);
        self.open.as_ref().map(|open| (open.code.clone(), open.ends_at()))
    }

    /// How the last code ended, if none is open.
    pub fn ended(&self) -> Option<Ended> {
        self.ended
    }

    /// Tries a code; the right one is used up by it.
    ///
    /// # Errors
    /// [`Refused`] `no_code_open`, `code_closed` (it died of this try), `wrong_code`.
    pub fn attempt(&mut self, typed: &str, now: Timestamp) -> Result<(), Refused> {
        self.expire(now);
        let Some(open) = &mut self.open else {
            return Err(Refused::new("no_code_open", "no code is open now, or it has ended", ASK_FOR_NEW));
        };
        let right = Code::typed(typed).is_some_and(|code| bool::from(code.0.ct_eq(&open.code.0)));
        if right {
            *self = Self { open: None, ended: Some(Ended::Used) };
            return Ok(());
        }
        open.tries_left -= 1;
        match open.tries_left {
            0 => {
                *self = Self { open: None, ended: Some(Ended::TooManyTries) };
                Err(Refused::new("code_closed", format!("{TRIES} wrong tries have closed the code"), ASK_FOR_NEW))
            }
            left => Err(Refused::new(
                "wrong_code",
                "this is not the code",
                format!("read it again on the workshop's computer; it closes after {left} more wrong {}", tries(left)),
            )),
        }
    }

    fn expire(&mut self, now: Timestamp) {
        if self.open.as_ref().is_some_and(|open| !open.lives(now)) {
            *self = Self { open: None, ended: Some(Ended::TooOld) };
        }
    }
}

const ASK_FOR_NEW: &str = "open a new one on the workshop's computer: Workshop, Devices, \"New code\"";

fn tries(left: u8) -> &'static str {
    if left == 1 { "try" } else { "tries" }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: Timestamp = Timestamp::UNIX_EPOCH;

    fn later(minutes: i64, seconds: i64) -> Timestamp {
        NOW + SignedDuration::from_secs(60 * minutes + seconds)
    }

    fn opened() -> (Pairing, String) {
        let code = Code::from_random([0x12, 0x34, 0x56, 0x78, 0x9a]);
        let mut pairing = Pairing::default();
        pairing.begin(code.clone(), NOW);
        (pairing, code.to_string())
    }

    #[test]
    fn forty_bits_become_eight_letters() {
        // 0x123456789a = 00010 01000 11010 00101 01100 11110 00100 11010, by hand.
        assert_eq!(Code::from_random([0x12, 0x34, 0x56, 0x78, 0x9a]).to_string(), "28T5-CY4T");
        assert_eq!(Code::from_random([0; 5]).to_string(), "0000-0000");
        assert_eq!(Code::from_random([255; 5]).to_string(), "ZZZZ-ZZZZ");
    }

    #[test]
    fn the_right_code_lets_in_once() {
        let (mut pairing, code) = opened();
        pairing.attempt(&code, later(9, 59)).unwrap();
        assert_eq!(pairing.ended(), Some(Ended::Used));
        assert_eq!(pairing.attempt(&code, later(9, 59)).unwrap_err().code, "no_code_open");
    }

    #[test]
    fn it_is_taken_as_people_type_it() {
        for typed in ["28T5CY4T", "28t5-cy4t", " 28t5 cy4t "] {
            opened().0.attempt(typed, NOW).unwrap();
        }
        let mut pairing = Pairing::default();
        pairing.begin(Code::from_random([0, 0, 0, 0, 1]), NOW);
        pairing.attempt("OOOO-OOOl", NOW).unwrap();
        for odd in ["", "28T5CY4", "28T5CY4T2", "28T5-CY4U", "ÄÄÄÄÄÄÄÄ", &"2".repeat(100_000)] {
            assert_eq!(opened().0.attempt(odd, NOW).unwrap_err().code, "wrong_code", "{odd:.20}");
        }
    }

    #[test]
    fn it_ends_after_ten_minutes_and_when_the_clock_is_set_back() {
        for at in [later(10, 0), later(600, 0), later(0, -1)] {
            let (mut pairing, code) = opened();
            assert_eq!(pairing.attempt(&code, at).unwrap_err().code, "no_code_open");
            assert_eq!(pairing.ended(), Some(Ended::TooOld));
        }
    }

    #[test]
    fn five_wrong_tries_kill_it() {
        let (mut pairing, code) = opened();
        for left in [4, 3, 2, 1] {
            let refused = pairing.attempt("00000000", NOW).unwrap_err();
            assert!(refused.code == "wrong_code" && refused.hint.contains(&format!("{left} more")), "{refused}");
        }
        assert_eq!(pairing.attempt("00000000", NOW).unwrap_err().code, "code_closed");
        assert_eq!(pairing.attempt(&code, NOW).unwrap_err().code, "no_code_open");
        assert_eq!(pairing.ended(), Some(Ended::TooManyTries));
    }

    #[test]
    fn a_new_code_makes_the_old_one_void() {
        let (mut pairing, old) = opened();
        pairing.begin(Code::from_random([1; 5]), NOW);
        assert_eq!(pairing.attempt(&old, NOW).unwrap_err().code, "wrong_code");
        assert!(!format!("{pairing:?}").contains("040G"), "a code must not come into a log by way of Debug");
    }
}
